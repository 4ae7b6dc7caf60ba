"""One finding: dot and interval per candidate, band of the margin around the house medium."""

from __future__ import annotations

import math

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.rows import Row, row_chart
from laydown.report.figures.style import NARROW, Spec, table_text, whole
from laydown.report.wording import (
    display_name,
    finding_row,
    has_interval,
    margin_text,
    percent,
    short_names,
    unit_words,
)
from laydown.usecases.comparison import CallsByFinding, Comparison, Finding


def intervals(comparison: Comparison, finding: str, *, condition: str = "", width: int = 640) -> Figure:
    """One finding: dot and interval per candidate, band of the margin around the house medium.

    Intervals of single media may overlap while the difference is real, and the other way round: to judge a
    difference use `differences`.

    Parameters
    ----------
    comparison
        The result to draw.
    finding
        Id of the finding.
    condition
        Under which condition; empty: the first that each candidate has, judged ones first.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        A row for each candidate; small ticks are single sheets, an open dot has no interval.

    Raises
    ------
    NotEnoughData
        Where no candidate has that finding.
    """
    found = [
        (c.name, c.house, f) for c in comparison.candidates if (f := pick(c.findings, finding, condition))
    ]
    if not found:
        raise NotEnoughData(f"No medium has the finding {finding}.", todo="Choose one of those listed.")
    first = found[0][2]
    calls = next((b for b in comparison.by_finding if b.finding == finding), None)
    house = next((f for _, is_house, f in found if is_house), None)
    band = None
    if calls and calls.margin and house and first.judged and math.isfinite(house.value):
        band = (house.value - calls.margin, house.value + calls.margin)
    unit = unit_words(first.unit)
    return Figure(
        id=f"intervals-{finding}" + (f"-{first.condition.split(',')[0]}" if condition else ""),
        title=first.label,
        caption=_caption(comparison, first, calls if band else None),
        alt_text=f"{first.label}, one row for each medium: "
        + "; ".join(f"{display_name(n)} {finding_row(f).text}" for n, _, f in found)
        + ".",
        spec=_spec(
            found, band, first.label if unit in first.label.split() else f"{first.label}, {unit}", width
        ),
        csv=table_text(
            ("medium", "finding", "value", "low", "high", "n", "unit", "condition"),
            ((n, f.id, f.value, f.low, f.high, f.n, f.unit, f.condition) for n, _, f in found),
        ),
    )


def pick(findings: tuple[Finding, ...], finding: str, condition: str) -> Finding | None:
    """The finding with that id under the condition; without one, the judged one before the others."""
    matching = [f for f in findings if f.id == finding and condition in ("", f.condition)]
    return min(matching, key=lambda f: not f.judged, default=None)


def _caption(comparison: Comparison, first: Finding, calls: CallsByFinding | None) -> str:
    parts = [
        f"Dot: mean over sheets; line: {percent(comparison.confidence)} interval.",
        f"Small ticks: single sheets; open dot: one sheet, no interval. {first.condition}.",
    ]
    if calls is not None:
        parts.append(
            f"Grey band: {display_name(comparison.house)} "
            f"{margin_text(calls.margin, first.decimals, first.unit)}, the margin that matters."
        )
    return " ".join(parts)


def _spec(
    found: list[tuple[str, bool, Finding]], band: tuple[float, float] | None, title: str, width: int
) -> Spec:
    inner = width - 24
    labels = short_names([n for n, _, _ in found], 22 if width < NARROW else 30)
    rows = []
    for name, is_house, item in found:
        words = finding_row(item)
        known = math.isfinite(item.value)
        rows.append(
            Row(
                left=labels[name],
                right=f"{words.value} ({words.interval if has_interval(item) else words.n})"
                if known
                else words.text,
                value=item.value if known else None,
                low=item.low if has_interval(item) else None,
                high=item.high if has_interval(item) else None,
                shape="square" if is_house else "circle",
                filled=has_interval(item),
                heavy=is_house,
                ticks=tuple(v for _, v in item.per_sheet if math.isfinite(v)) if item.n > 1 else (),
            )
        )
    x: Spec = {
        "type": "quantitative",
        "title": title,
        "scale": {"zero": False, "nice": True, "padding": 12},
        "axis": {"tickCount": max(3, inner // 90)},
    }
    return whole(row_chart(rows, width=inner, x=x, band=band))
