"""The comparison as text for a terminal: the answer first, problems last, no colour needed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from laydown.kernel.problems import Problem
from laydown.report.brief_words import brief_words
from laydown.report.said_once import (
    assumption_sentences,
    coverage_rows,
    fact_rows,
    margins_by_source,
    notes,
    preferred,
)
from laydown.report.text_page import TextPage
from laydown.report.wording import (
    call_mark,
    call_word,
    difference_text,
    display_name,
    finding_row,
    number,
    percent,
    sheets_words,
    short_names,
    unit_words,
    what_would_settle,
)
from laydown.science.findings.metric import FAMILY_TITLES
from laydown.usecases.comparison import Candidate, ComparedDifference, Comparison, Finding

if TYPE_CHECKING:
    from rich.console import Console

_NARROWEST = 40
_LABEL = 23
_CELL = 19
_MOST_PAIRS = 10
_MOST_PROBLEMS = 20  # errors, which change results, are always listed
_STYLES = {"title": "bold", "heading": "bold", "strong": "bold", "plain": "", "faint": "dim"}


def render_plain(comparison: Comparison, width: int = 80, *, everything: bool = False) -> str:
    """The whole answer as ASCII text, no line longer than ``width``.

    Parameters
    ----------
    comparison
        The result.
    width
        Characters in a line; at least 40 are used.
    everything
        Show the findings under every condition, and not only under the one calls are made in.

    Returns
    -------
    str
        Text that ends in one newline.
    """
    return str(_page(comparison, width, plain=True, everything=everything))


def render_rich(comparison: Comparison, console: Console, *, everything: bool = False) -> None:
    """Print the whole answer on a console at its width; bold and dim only, so it reads in black and white.

    Parameters
    ----------
    comparison
        The result.
    console
        Where to print; a console that cannot show more than ASCII is given ASCII.
    everything
        Show the findings under every condition, and not only under the one calls are made in.
    """
    from rich.text import Text

    plain = not (console.encoding or "").lower().startswith("utf")
    for look, line in _page(comparison, console.width, plain=plain, everything=everything).lines:
        console.print(Text(line, style=_STYLES[look]), soft_wrap=True, highlight=False)


def _page(comparison: Comparison, width: int, *, plain: bool, everything: bool) -> TextPage:
    page = TextPage(max(width, _NARROWEST), plain)
    if not everything:
        comparison = _under_the_judged_condition(comparison)
    _answer(page, comparison)
    _media(page, comparison)
    _findings(page, comparison)
    _calls(page, comparison)
    _groups(page, comparison, everything=everything)
    _overlaps(page, comparison)
    _conditions(page, comparison)
    if comparison.cautions:
        page.heading("What these results do not say")
        for caution in comparison.cautions:
            page.text(display_name(caution), lead="* ")
    _problems(page, comparison)
    return page


def _answer(page: TextPage, comparison: Comparison) -> None:
    page.title(display_name(comparison.title) or "Comparison of media")
    if comparison.question:
        page.text(display_name(comparison.question), indent=0)
    if comparison.invented:
        page.blank()
        page.text("INVENTED: a demonstration. These are not readings of real media.", indent=0, look="strong")
    page.heading("Answer")
    _to_brief(page, comparison)
    for sentence in comparison.summary:
        page.text(display_name(sentence), lead="* ")
    if not comparison.summary:
        page.text("Nothing can be said from these readings.")
    page.blank()
    page.text(
        f"Judged under {comparison.condition or 'no stated condition'}; intervals at "
        f"{percent(comparison.confidence)}; {comparison.comparisons} comparisons allowed for.",
        look="faint",
    )


def _to_brief(page: TextPage, comparison: Comparison) -> None:
    told = brief_words(comparison)
    if told is None:
        return
    page.text(told.about, indent=0)
    for one in told.criteria:
        page.blank()
        share = f" ({one.share})" if one.share else ""
        page.text(f"{one.name}{share}, measured by {one.measured_by}", look="strong")
        for sentence in one.sentences:
            page.text(sentence, lead="* ")
    page.blank()
    for sentence in told.silent:
        page.text(sentence)
    page.blank()


def _media(page: TextPage, comparison: Comparison) -> None:
    page.heading("Media")
    for place, candidate in enumerate(comparison.candidates, start=1):
        house = ", the house medium" if candidate.house else ""
        sheets = sheets_words(len(candidate.sheets))
        page.text(f"{display_name(candidate.name)} ({sheets}{house})", lead=f"{place:>2}  ")


def _groups_of_columns(comparison: Comparison, room: int, cell: int) -> Iterator[list[tuple[int, Candidate]]]:
    """Candidates with their numbers, as many together as fit; the house medium leads each group."""
    numbered = list(enumerate(comparison.candidates, start=1))
    across = max(1, room // cell)
    if len(numbered) <= across:
        yield numbered
        return
    lead = [pair for pair in numbered if pair[1].house] if across > 2 else []
    rest = [pair for pair in numbered if pair not in lead]
    step = across - len(lead)
    for start in range(0, len(rest), step):
        yield [*lead, *rest[start : start + step]]


def _under_the_judged_condition(comparison: Comparison) -> Comparison:
    """The same comparison without the findings of other conditions."""
    candidates = tuple(
        replace(c, findings=tuple(f for f in c.findings if f.primary)) for c in comparison.candidates
    )
    return replace(comparison, candidates=candidates)


def _findings(page: TextPage, comparison: Comparison) -> None:
    page.heading("Findings")
    page.text(
        f"Mean over sheets, plus or minus half of its {percent(comparison.confidence)} interval. "
        "n=1: one sheet, so no interval (n=3: three, but one number for all). A dash: not found.",
        look="faint",
    )
    label = min(_LABEL, page.width - _CELL)
    short = short_names([c.name for c in comparison.candidates], _CELL - 5)
    for group in _groups_of_columns(comparison, page.width - label, _CELL):
        widths = [label, *([_CELL] * len(group))]
        page.blank()
        page.columns(["", *(f"{i} {short[c.name]}" for i, c in group)], widths, look="strong")
        if any(c.house for _, c in group):
            page.columns(["", *("(house)" if c.house else "" for _, c in group)], widths, look="faint")
        _finding_rows(page, [c for _, c in group], widths)
    _notes(page, comparison)


def _finding_rows(page: TextPage, shown: list[Candidate], widths: list[int]) -> None:
    family = condition = ""
    units = _units(shown)
    for key, example in _keys(shown):
        if example.family != family:
            family, condition = example.family, ""
            page.text(FAMILY_TITLES.get(family, family), indent=0, look="strong")
        shared = units[family, key[1]]
        if key[1] != condition:
            condition = key[1]
            page.text(f"{condition}; {shared}" if shared else condition, indent=1, look="faint")
        cells = []
        for candidate in shown:
            found = candidate.finding(key[0], condition=key[1])
            row = finding_row(found) if found else None
            cells.append("-" if row is None or row.value == "not found" else f"{row.value} {row.half_width}")
        page.columns([f"  {example.label}{'' if shared else _unit(example)}", *cells], widths)


def _units(shown: list[Candidate]) -> dict[tuple[str, str], str]:
    """The unit of a family under a condition where all its findings share one, else nothing."""
    met: dict[tuple[str, str], list[str]] = {}
    for candidate in shown:
        for item in candidate.findings:
            met.setdefault((item.family, item.condition), []).append(unit_words(item.unit))
    several = len(shown)
    return {key: u[0] if len(set(u)) == 1 and len(u) > several else "" for key, u in met.items()}


def _unit(finding: Finding) -> str:
    """The unit after a label that does not name it already."""
    unit = unit_words(finding.unit)
    return "" if unit in finding.label.split() or not unit else f", {unit}"


def _keys(shown: list[Candidate]) -> list[tuple[tuple[str, str], Finding]]:
    """Every (id, condition) met, kept together by family, then condition, judged conditions first."""
    found: dict[tuple[str, str], Finding] = {}
    for candidate in shown:
        for item in candidate.findings:
            found.setdefault((item.id, item.condition), item)
    families = list(dict.fromkeys(f.family for f in found.values()))
    judged = sorted(found.values(), key=lambda f: not f.judged)
    conditions = list(dict.fromkeys(f.condition for f in judged))
    return sorted(
        found.items(), key=lambda pair: (families.index(pair[1].family), conditions.index(pair[1].condition))
    )


def _notes(page: TextPage, comparison: Comparison) -> None:
    told = notes(comparison.candidates)
    if told:
        page.blank()
    for note in told:
        page.text(note, lead="Note: ")


def _calls(page: TextPage, comparison: Comparison) -> None:
    differences = comparison.differences
    if not differences:
        return
    pairs = list(dict.fromkeys((d.candidate, d.against) for d in differences))
    facing = [p for p in pairs if comparison.house and comparison.house in p]
    if len(pairs) <= 3 or (not facing and len(pairs) <= _MOST_PAIRS):
        facing = pairs
    page.heading("Calls")
    if not facing:
        page.text(
            f"{len(pairs)} pairs are too many to list here: the letters below say which media are told "
            "apart, and the JSON holds every difference. Name the house medium to see calls against it."
        )
    for pair in facing:
        page.blank()
        page.text(f"{display_name(pair[0])} against {display_name(pair[1])}", indent=0, look="strong")
        _pair(page, [d for d in differences if (d.candidate, d.against) == pair])
    if facing and len(facing) < len(pairs):
        page.blank()
        page.text(
            "Only calls against the house medium are listed; "
            f"the letters below are about all {len(pairs)} pairs.",
            look="faint",
        )


def _pair(page: TextPage, differences: list[ComparedDifference]) -> None:
    """What is told apart first, then what is the same, then what cannot be told and what was refused."""
    order = ["better", "worse", "higher", "lower", "same", "cannot_tell"]
    told = [d for d in differences if not d.refused and d.call not in ("same", "cannot_tell")]
    for difference in sorted(told, key=lambda d: order.index(d.call)):
        page.text(f"{difference.label}: {difference_text(difference)}", lead=_lead(page, difference))
    same = [d for d in differences if not d.refused and d.call == "same"]
    if same:
        listed = "; ".join(f"{d.label} {number(d.difference, d.decimals, signed=True)}" for d in same)
        page.text(f"{listed}.", lead=_lead(page, same[0]))
    untold: dict[tuple[str, str], list[ComparedDifference]] = {}
    for difference in differences:
        if difference.refused or difference.call == "cannot_tell":
            untold.setdefault((what_would_settle(difference), difference.reason), []).append(difference)
    for (settle, reason), alike in untold.items():
        listed = "; ".join(f"{d.label} {difference_text(d)}".strip() for d in alike)
        why = " ".join(f"{part[0].upper()}{part[1:].rstrip('.')}." for part in (settle, reason) if part)
        page.text(f"{listed}. {display_name(why)}", lead=_lead(page, alike[0]))


def _lead(page: TextPage, difference: ComparedDifference) -> str:
    return f"{call_mark(difference, plain=page.plain)} {call_word(difference, short=True):<12}"


def _groups(page: TextPage, comparison: Comparison, *, everything: bool) -> None:
    if not comparison.by_finding or len(comparison.candidates) < 2:
        return
    page.heading("Told apart or not")
    page.text("Media that share a letter are not told apart in that finding.", look="faint")
    longest = max((len(v) for b in comparison.by_finding for v in b.letters.values()), default=1)
    cell = max(4, longest + 2)
    label = min(34, page.width - cell)
    for group in _groups_of_columns(comparison, page.width - label, cell):
        widths = [label, *([cell] * len(group))]
        page.blank()
        page.columns(["", *(str(i) for i, _ in group)], widths, look="strong")
        for calls in comparison.by_finding:
            page.columns(
                [f"  {calls.label}", *(calls.letters.get(c.name, "-") or "-" for _, c in group)], widths
            )
    page.blank()
    if not everything:
        page.text(
            "Margins that matter, what was assumed about the spread, findings under other conditions: "
            "--all, the JSON and the PDF.",
            look="faint",
        )
        return
    for words, labels in preferred(comparison.by_finding).items():
        page.text(f"{', '.join(labels)}.", lead=f"{words}: ", look="faint")
    decimals = {d.finding: d.decimals for d in comparison.differences}
    for source, margins in margins_by_source(comparison.by_finding, decimals).items():
        page.text(f"Margins that matter ({source}): {'; '.join(margins)}.", look="faint")
    for sentence in assumption_sentences(comparison.by_finding):
        page.text(sentence, look="faint")


def _overlaps(page: TextPage, comparison: Comparison) -> None:
    if not comparison.overlaps:
        return
    page.heading("Gamuts against each other")
    page.text("How much of the gamut at the left each medium holds.", look="faint")
    cell = 7
    label = min(40, page.width - cell)
    for condition in dict.fromkeys(o.condition for o in comparison.overlaps):
        met = [o for o in comparison.overlaps if o.condition == condition]
        for group in _groups_of_columns(comparison, page.width - label, cell):
            widths = [label, *([cell] * len(group))]
            page.blank()
            page.columns([f"  {condition}", *(str(i) for i, _ in group)], widths, look="strong")
            for row in coverage_rows(met, [c.name for _, c in group]):
                page.columns([f"  {row.name} ({row.volume})", *row.coverage], widths)


def _conditions(page: TextPage, comparison: Comparison) -> None:
    """Each condition and value once, with the media it holds for where they differ."""
    rows = fact_rows(comparison.candidates)
    if not rows:
        return
    page.heading("How it was measured")
    for row in rows:
        where = f" ({row.where})" if row.where else ""
        media = "" if row.media == "all" else f" [{row.media}]"
        page.text(f"{row.value}{where}{media}", lead=f"{row.name:<20} ")


def _problems(page: TextPage, comparison: Comparison) -> None:
    page.heading("Problems")
    if not comparison.problems:
        page.text("None was met.")
    for problem in comparison.problems:
        if problem.severity == "error":
            _problem(page, problem)
    others = [p for p in comparison.problems if p.severity != "error"]
    for problem in others[:_MOST_PROBLEMS]:
        _problem(page, problem)
    if len(others) > _MOST_PROBLEMS:
        page.text(
            f"And {len(others) - _MOST_PROBLEMS} more warnings and notes: the JSON and the PDF list all."
        )


def _problem(page: TextPage, problem: Problem) -> None:
    place = f"{display_name(problem.place())}: " if problem.place() else ""
    text = f"{place}{display_name(problem.what)} {display_name(problem.todo)}".rstrip()
    page.text(text, lead=f"{problem.severity:<9}")
