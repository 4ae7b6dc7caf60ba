"""Every pair of candidates in one finding: difference, interval, margin and call."""

from __future__ import annotations

import math
from collections.abc import Iterable

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.figure import Figure
from laydown.report.figures.rows import Row, row_chart
from laydown.report.figures.style import NARROW, Spec, table_text, whole
from laydown.report.wording import (
    call_sentence,
    call_word,
    display_name,
    has_interval,
    margin_text,
    number,
    percent,
    short_names,
    unit_words,
)
from laydown.usecases.comparison import ComparedDifference, Comparison

_MOST_PAIRS = 15
CALL_SHAPES = {
    "better": "triangle-up",
    "worse": "triangle-down",
    "higher": "triangle-right",
    "lower": "triangle-left",
    "same": "square",
    "cannot_tell": "circle",
}
SHAPE_WORDS = (
    "Triangle up: better; down: worse; right: higher; left: lower; square: same within the margin; "
    "open circle: cannot tell yet."
)


def differences(
    comparison: Comparison, finding: str, *, condition: str = "", against: str = "", width: int = 640
) -> Figure:
    """Every pair of candidates in one finding: difference, interval, margin and call.

    The interval is that of one difference alone; the call also allows for every other comparison made, so
    it can be "cannot tell" where the interval clears 0.

    Parameters
    ----------
    comparison
        The result to draw.
    finding
        Id of the finding.
    condition
        Under which condition; empty: any.
    against
        Only differences with this medium. Empty: every pair, or those with the house medium where there
        are more than fifteen.
    width
        Width of the whole drawing.

    Returns
    -------
    Figure
        A row for each difference; a refused one has words and no mark.

    Raises
    ------
    NotEnoughData
        Where no difference in that finding was worked out.
    """
    chosen = [d for d in comparison.differences if d.finding == finding and condition in ("", d.condition)]
    if not against and len(chosen) > _MOST_PAIRS:
        against = comparison.house
    if against:
        chosen = [d for d in chosen if against in (d.candidate, d.against)]
    if not chosen:
        raise NotEnoughData(
            f"No difference in {finding} was worked out.",
            todo="It needs two media and a finding that is judged.",
        )
    first = chosen[0]
    return Figure(
        id=f"differences-{finding}",
        title=f"{first.label}: differences",
        caption=_caption(comparison, first, against),
        alt_text=" ".join(call_sentence(d) for d in chosen),
        spec=_spec(chosen, width),
        csv=difference_table(chosen),
    )


def _caption(comparison: Comparison, first: ComparedDifference, against: str) -> str:
    pairs = f"Only differences with {display_name(against)} are shown. " if against else ""
    band = "No margin is set. "
    if first.margin is not None:
        band = (
            f"Grey band: {margin_text(first.margin, first.decimals, first.unit)}, the margin that matters. "
        )
    return (
        f"First minus second, {percent(comparison.confidence)} interval. {first.condition}. {pairs}{band}"
        f"{SHAPE_WORDS}"
    )


def _spec(chosen: list[ComparedDifference], width: int) -> Spec:
    inner = width - 24
    names = list(dict.fromkeys(n for d in chosen for n in (d.candidate, d.against)))
    labels = short_names(names, 16 if width < NARROW else 20)
    rows = [difference_row(d, f"{labels[d.candidate]} − {labels[d.against]}") for d in chosen]
    first = chosen[0]
    x: Spec = {
        "type": "quantitative",
        "title": f"Difference, {unit_words(first.unit)}",
        "scale": {"nice": True, "padding": 12},
        "axis": {"tickCount": max(3, inner // 90)},
    }
    band = (-first.margin, first.margin) if first.margin is not None else None
    return whole(row_chart(rows, width=inner, x=x, band=band, line=0.0))


def difference_table(differences: Iterable[ComparedDifference]) -> str:
    """Differences as CSV, one a line."""
    return table_text(
        ("finding", "candidate", "against", "difference", "low", "high", "margin", "unit", "call"),
        (
            (d.finding, d.candidate, d.against, d.difference, d.low, d.high, d.margin, d.unit, call_word(d))
            for d in differences
        ),
    )


def difference_row(difference: ComparedDifference, left: str, *, scale: float = 1.0) -> Row:
    """A difference as a row of a chart, its numbers divided by ``scale``."""
    spread = has_interval(difference)
    known = math.isfinite(difference.difference)
    words = call_word(difference, short=True)
    if known:
        amount = number(difference.difference, difference.decimals, signed=True)
        words = f"{amount} {words}"
    return Row(
        left=left,
        right=words,
        value=difference.difference / scale if known else None,
        low=difference.low / scale if spread else None,
        high=difference.high / scale if spread else None,
        shape=CALL_SHAPES[difference.call],
        filled=difference.call != "cannot_tell",
    )
