"""One candidate against the house medium in every judged finding, in units of the margin."""

from __future__ import annotations

import math

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.differences import SHAPE_WORDS, difference_row, difference_table
from laydown.report.figures.figure import Figure
from laydown.report.figures.rows import row_chart
from laydown.report.figures.style import Spec, whole
from laydown.report.wording import call_sentence, display_name, percent, unit_words
from laydown.usecases.comparison import ComparedDifference, Comparison

_TICKS = (-100, -30, -10, -3, -1, 0, 1, 3, 10, 30, 100)


def house_differences(comparison: Comparison, candidate: str, *, width: int = 640) -> Figure:
    """One candidate against the house medium in every judged finding, in units of the margin.

    The scale is straight within one margin and squeezed beyond, so that small and large differences can be
    seen together. Findings without a margin are left out.

    Parameters
    ----------
    comparison
        The result to draw.
    candidate
        Which medium.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        A row for each finding.

    Raises
    ------
    NotEnoughData
        Where no house medium is named or nothing was compared with it.
    """
    chosen = [
        d if d.candidate == candidate else d.turned()
        for d in comparison.differences
        if {d.candidate, d.against} == {candidate, comparison.house}
    ]
    chosen = [d for d in chosen if d.margin]
    if not comparison.house or not chosen:
        raise NotEnoughData(
            f"{display_name(candidate)} was not compared with a house medium.", todo="Name the house medium."
        )
    return Figure(
        id=f"against-house-{[c.name for c in comparison.candidates].index(candidate) + 1}",
        title=f"{display_name(candidate)} against {display_name(comparison.house)}",
        caption=(
            f"Differences divided by the margin that matters (grey band: within it), "
            f"{percent(comparison.confidence)} intervals; the scale is squeezed beyond one margin. "
            f"{comparison.condition}. {SHAPE_WORDS}"
        ),
        alt_text=" ".join(call_sentence(d) for d in chosen),
        spec=_spec(chosen, width),
        csv=difference_table(chosen),
    )


def _spec(chosen: list[ComparedDifference], width: int) -> Spec:
    inner = width - 24
    rows = []
    for d in chosen:
        label = d.label if unit_words(d.unit) in d.label.split() else f"{d.label}, {unit_words(d.unit)}"
        rows.append(difference_row(d, label, scale=d.margin or 1.0))
    reach = max((abs(v) for r in rows for v in (r.value, r.low, r.high) if v is not None), default=1.0)
    limit = next((t for t in _TICKS if t >= max(reach * 1.05, 1.0)), math.ceil(reach))
    x: Spec = {
        "type": "quantitative",
        "title": "Difference, in margins that matter",
        "scale": {"type": "symlog", "constant": 1, "domain": [-limit, limit], "nice": False},
        "axis": {"values": [t for t in _TICKS if abs(t) <= limit]},
    }
    return whole(row_chart(rows, width=inner, x=x, band=(-1.0, 1.0), line=0.0))
