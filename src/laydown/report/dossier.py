"""The dossier: the whole comparison as a typeset PDF, from the same object as every other view."""

from __future__ import annotations

import json
import re
import tempfile
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Literal

from laydown.report.dossier_figures import dossier_figures
from laydown.report.dossier_view import dossier_view
from laydown.report.figures.figure import figure_svg
from laydown.report.typesetting import Standard, typeset
from laydown.usecases.comparison import Comparison
from laydown.usecases.measuring.gloss_comparison import GlossComparison

Paper = Literal["a4", "us-letter"]

FACE = "Libertinus Serif"
_SCALE = 0.72  # points on paper for one unit of a figure: its labels come out a little smaller than the text
_STANDARDS: tuple[Standard, ...] = ("a-2a", "ua-1")


def dossier_pdf(
    comparison: Comparison, *, paper: Paper = "a4", made_at: str, gloss: GlossComparison | None = None
) -> bytes:
    """The whole comparison as a PDF to be filed with the order it decides.

    Answer and conditions come first, then findings, calls and figures; problems are last. The file is
    PDF/A-2a and PDF/UA-1, its one typeface embedded. Names in scripts that typeface lacks are set in a
    typeface of the machine; where even that has no such sign, the file keeps no archive standard.

    Parameters
    ----------
    comparison
        The result.
    paper
        ``"a4"`` or ``"us-letter"``.
    made_at
        When it was made, printed at the head of each page. An ISO 8601 time, such as
        ``"2026-11-25T10:00:00+00:00"``, is written out and becomes the date of the file; other words are
        printed as they are, and the file is dated by the clock.
    gloss
        What gloss meters told of the same trial, in a part of its own.

    Returns
    -------
    bytes
        A PDF file; with an ISO 8601 time the same bytes for the same input on one machine.
    """
    with tempfile.TemporaryDirectory(prefix="laydown-") as made:
        folder = Path(made)
        moment = _moment(made_at)
        words = moment.strftime("%d %B %Y, %H:%M %Z").lstrip("0") if moment else made_at
        view = dossier_view(comparison, gloss=gloss) | {"paper": paper, "made_at": words}
        view["figures"] = _draw(comparison, folder)
        (folder / "view.json").write_text(json.dumps(view, ensure_ascii=False), encoding="utf-8")
        template = files("laydown.report").joinpath("dossier.typ").read_text(encoding="utf-8")
        (folder / "dossier.typ").write_text(template, encoding="utf-8")
        return typeset(folder / "dossier.typ", moment=moment, standards=_STANDARDS)


def _draw(comparison: Comparison, folder: Path) -> dict[str, list[dict[str, str | float]]]:
    """Every figure as an SVG file in the folder, with its words and its size on paper."""
    drawn: dict[str, list[dict[str, str | float]]] = {}
    for section, figures in dossier_figures(comparison).items():
        rows = drawn.setdefault(section, [])
        for figure in figures:
            name = f"{section}-{len(rows)}.svg"
            svg = figure_svg(figure, font=FACE)
            (folder / name).write_text(svg, encoding="utf-8")
            rows.append(
                {
                    "file": name,
                    "title": figure.title,
                    "caption": figure.caption,
                    "alt": figure.alt_text,
                    "width": _SCALE * _width(svg),
                }
            )
    return drawn


def _width(svg: str) -> float:
    found = re.search(r'<svg[^>]*?\bwidth="([0-9.]+)"', svg)
    return float(found[1]) if found else 640.0


def _moment(made_at: str) -> datetime | None:
    """The time in the words, UTC where they name no zone; None where they are not ISO 8601."""
    try:
        found = datetime.fromisoformat(made_at)
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)
