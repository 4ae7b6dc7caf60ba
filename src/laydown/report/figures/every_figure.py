"""All figures that a comparison has the numbers for, in reading order."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures.differences import differences
from laydown.report.figures.figure import Figure
from laydown.report.figures.gamut_outlines import gamut_outlines
from laydown.report.figures.gamut_slices import gamut_slices
from laydown.report.figures.grey_balance import grey_balance
from laydown.report.figures.house_differences import house_differences
from laydown.report.figures.intervals import intervals
from laydown.report.figures.patch_map import patch_map
from laydown.report.figures.tone_curves import tone_curves
from laydown.report.figures.white_and_brightener import white_and_brightener
from laydown.usecases.comparison import Comparison


def every_figure(comparison: Comparison, *, width: int = 640) -> tuple[Figure, ...]:
    """Every figure the comparison has the numbers for, in reading order.

    Drawing is left to the caller; making the figures is cheap. Patch maps of every sheet come last.

    Parameters
    ----------
    comparison
        The result to draw.
    width
        Width of each drawing.

    Returns
    -------
    tuple
        Figures with ids that differ from one another.
    """
    return tuple(figure for make in _makers(comparison, width) if (figure := _or_none(make)) is not None)


def _makers(c: Comparison, width: int) -> Iterator[Callable[[], Figure]]:
    judged = [calls.finding for calls in c.by_finding]
    for medium in c.candidates:
        if not medium.house:
            yield lambda name=medium.name: house_differences(c, name, width=width)
    for finding in judged:
        yield lambda f=finding: intervals(c, f, width=width)
        yield lambda f=finding: differences(c, f, width=width)
    yield lambda: white_and_brightener(c, width=width)
    for ramp in dict.fromkeys(t.name for medium in c.candidates for t in medium.tones):
        yield lambda name=ramp: tone_curves(c, name=name, width=width)
    yield lambda: grey_balance(c, width=width)
    yield lambda: gamut_outlines(c, width=width)
    yield lambda: gamut_slices(c, width=width)
    for medium in c.candidates:
        for shown in medium.patch_maps:
            yield lambda name=medium.name, m=shown: patch_map(
                c, name, sheet=m.sheet, condition=m.condition, width=width
            )


def _or_none(make: Callable[[], Figure]) -> Figure | None:
    try:
        return make()
    except NotEnoughData:
        return None
