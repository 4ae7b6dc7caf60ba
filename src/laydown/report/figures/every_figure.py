"""All figures that a comparison has the numbers for, in reading order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

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
            yield partial(house_differences, c, medium.name, width=width)
    for finding in judged:
        yield partial(intervals, c, finding, width=width)
        yield partial(differences, c, finding, width=width)
    yield partial(white_and_brightener, c, width=width)
    for ramp in dict.fromkeys(t.name for medium in c.candidates for t in medium.tones):
        yield partial(tone_curves, c, name=ramp, width=width)
    yield partial(grey_balance, c, width=width)
    yield partial(gamut_outlines, c, width=width)
    yield partial(gamut_slices, c, width=width)
    for medium in c.candidates:
        for shown in medium.patch_maps:
            yield partial(
                patch_map, c, medium.name, sheet=shown.sheet, condition=shown.condition, width=width
            )


def _or_none(make: Callable[[], Figure]) -> Figure | None:
    try:
        return make()
    except NotEnoughData:
        return None
