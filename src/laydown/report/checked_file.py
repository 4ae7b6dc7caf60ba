"""What is in a measurement file and what is wrong with it, as text and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from laydown.report.text_page import TextPage
from laydown.usecases.check_file import CheckedFile, CheckedTable

_SHOWN_PROBLEMS = 40


def checked_text(files: Sequence[CheckedFile], *, width: int = 80) -> str:
    """Every file in turn: what it holds, how it was measured and where that was found, problems last."""
    page = TextPage(width=width, plain=True)
    for file in files:
        page.blank()
        page.title(file.file)
        if file.refused:
            page.text(file.refused, indent=0)
            continue
        for table in file.tables:
            _table(page, table, several=len(file.tables) > 1)
        _problems(page, file)
    return "\n".join(text for _, text in page.lines)


def checked_json(files: Sequence[CheckedFile]) -> dict[str, Any]:
    """The same as JSON."""
    return {"files": [asdict(file) for file in files]}


def _table(page: TextPage, table: CheckedTable, *, several: bool) -> None:
    measured = next((f.value for f in table.facts if f.name == "Measuring condition"), "")
    page.heading(f"What it holds, {measured}" if several else "What it holds")
    page.text(table.format, lead="Format     ")
    colours = f", {table.device_colours} different colours" if table.device_colours else ""
    page.text(f"{table.patches}{colours}", lead="Patches    ")
    page.text(table.device, lead="Device     ")
    page.text("; ".join(table.values), lead="Values     ")
    page.text(table.lightest, lead="Lightest   ")
    page.text(table.darkest, lead="Darkest    ")
    page.heading("How it was measured, and where that was found")
    for fact in table.facts:
        known = fact.where not in (fact.value, "not stated")
        page.text(f"{fact.value} ({fact.where})" if known else fact.value, lead=f"{fact.name:<22}")


def _problems(page: TextPage, file: CheckedFile) -> None:
    page.heading("Problems")
    if not file.problems:
        page.text("None found.")
    for problem in file.problems[:_SHOWN_PROBLEMS]:
        place = ", ".join(
            part
            for part in (
                f"line {problem.line}" if problem.line is not None else "",
                f"patch {problem.patch}" if problem.patch is not None else "",
            )
            if part
        )
        words = f"{place}: {problem.what}" if place else problem.what
        page.text(f"{words} {problem.todo}".strip(), lead=f"{problem.severity:<8}")
    more = len(file.problems) - _SHOWN_PROBLEMS
    if more > 0:
        page.text(f"and {more} more; --json FILE writes them all.")
