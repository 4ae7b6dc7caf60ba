"""Which figures the dossier shows, and where."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import zip_longest

from laydown.kernel.errors import NotEnoughData
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

MOST_INTERVALS = 6
MOST_PATCH_MAPS = 6
MOST_AGAINST_HOUSE = 4
_HALF = 316
_FULL = 640
_SLICES = 480  # the planes and the slices together fill a page


def dossier_figures(comparison: Comparison) -> dict[str, list[Figure]]:
    """The figures of the dossier by section: findings, calls, drawings, planes, slices and patches.

    Parameters
    ----------
    comparison
        The result.

    Returns
    -------
    dict
        Section to figures, in the order shown. Some sections go two to a line, see the template.
    """
    c = comparison
    wanted = _in_turn(c)[:MOST_INTERVALS]
    others = [medium.name for medium in c.candidates if not medium.house][:MOST_AGAINST_HOUSE]
    suspect = sorted(
        (
            (-odd, medium.name, shown)
            for medium in c.candidates
            for shown in medium.patch_maps
            if (odd := sum(bool(cell.suspicion) for cell in shown.cells))
        ),
        key=lambda found: found[0],
    )[:MOST_PATCH_MAPS]
    return {
        "findings": _made([partial(intervals, c, finding, width=_HALF) for finding in wanted]),
        "calls": _made([partial(house_differences, c, name, width=_FULL) for name in others]),
        "drawings": _made(
            [
                partial(tone_curves, c, width=_FULL),
                partial(grey_balance, c, width=_FULL),
            ]
        ),
        "planes": _made(
            [
                partial(gamut_outlines, c, width=_HALF),
                partial(white_and_brightener, c, width=_HALF),
            ]
        ),
        "slices": _made([partial(gamut_slices, c, width=_SLICES)]),
        "patches": _made(
            [
                partial(patch_map, c, name, sheet=shown.sheet, condition=shown.condition, width=_HALF)
                for _, name, shown in suspect
            ]
        ),
    }


def _in_turn(comparison: Comparison) -> list[str]:
    """Ids of judged findings that have a better direction, one of each family in turn."""
    families: dict[str, list[str]] = {}
    for calls in comparison.by_finding:
        first = next((f for m in comparison.candidates if (f := m.finding(calls.finding))), None)
        if first is not None and calls.preference != "none":
            families.setdefault(first.family, []).append(calls.finding)
    return [f for turn in zip_longest(*families.values()) for f in turn if f is not None]


def _made(makers: list[partial[Figure]]) -> list[Figure]:
    return [figure for make in makers if (figure := _or_none(make)) is not None]


def _or_none(make: Callable[[], Figure]) -> Figure | None:
    try:
        return make()
    except NotEnoughData:
        return None
