"""Gamuts as columns of lightness over a grid of a* and b*: fast volumes, overlaps and coverages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.gamut.mesh import checked_mesh

GRID_STEP = Constant(
    1.0,
    "Lab units",
    "shared volumes within 0.01 % of exact mesh intersection (docs/methods/gamut.md)",
    "computed",
)


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """Where a gamut is: intervals of L* over grid points of a* and b*.

    Interval i lies over a* = (``column[i]`` + 1/2) ``step``, b* = (``row[i]`` + 1/2) ``step`` and runs from
    ``low[i]`` to ``high[i]``; sorted by row, column, low, without overlap. A column may have several.
    """

    step: float
    row: Ints
    column: Ints
    low: Floats
    high: Floats

    @property
    def volume(self) -> float:
        """Occupied volume in Lab cubic units."""
        return float(self.step**2 * (self.high - self.low).sum())


@dataclass(frozen=True, slots=True)
class OverlapVolume:
    """The volume two gamuts share, and their own volumes by the same columns, in Lab cubic units."""

    shared: float
    a: float
    b: float

    @property
    def coverage_of_a(self) -> float:
        """The part of the first gamut that the second can show, 0 to 1; NaN if the first is empty."""
        return self.shared / self.a if self.a > 0.0 else float("nan")

    @property
    def coverage_of_b(self) -> float:
        """The part of the second gamut that the first can show, 0 to 1; NaN if the second is empty."""
        return self.shared / self.b if self.b > 0.0 else float("nan")


class _Crossings(NamedTuple):
    row: Ints
    column: Ints
    lightness: Floats
    sign: Ints


def columns(lab: Floats, triangles: Ints, *, step: float = GRID_STEP.value) -> Columns:
    """Cut a closed mesh into columns of lightness.

    Every grid point of a*, b* is asked where a line of rising L* goes in and out. Once cut, two gamuts are
    intersected in milliseconds. For a volume alone use ``volume``, which is exact.

    Parameters
    ----------
    lab : (v, 3) L*, a*, b* of the vertices
    triangles : (f, 3) vertex numbers of a closed, consistently wound mesh
    step : grid step in a* and b*, Lab units

    Returns
    -------
    Columns

    Raises
    ------
    BadSetting
        if the mesh is not closed or ``step`` is not positive.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    A point counts as occupied where the surface winds around it (winding number not zero). Every such
    point is a colour that device values inside the chart must reach, if colour follows device values
    without jumps: that is the degree of a continuous map. So where a mesh crosses itself near black, the
    part sticking out inside-out is counted, not taken off, and nothing is counted twice. A fold turned
    back into the body (more ink, yet lighter) leaves a hollow, which errs on the small side.

    Triangles are rasterised by scanline with half-open ends, and each edge is computed the same way for
    both its triangles, so no column is left open. Cost: the number of crossings, about twice the shadow of
    the gamut on the a*, b* plane divided by step squared.

    References
    ----------
    Scan conversion: Foley, van Dam, Feiner, Hughes (1990), section 3.6 (from memory).

    Checked against
    ---------------
    ``volume``; manifold3d boolean intersections; a folded mesh with a known union.
    """
    if not step > 0.0:
        what = f"The grid step must be above 0; got {step}."
        raise BadSetting(what)
    vertices = checked_mesh(lab, triangles)
    # Grid line j passes at (j + 1/2) step; the first line at or above a coordinate is its ceiling.
    places = np.column_stack([vertices[:, 0], vertices[:, 1:] / step - 0.5])
    crossed = _crossings(places, np.asarray(triangles, dtype=np.int64))
    return _intervals(crossed, step)


def overlap(first: Columns, second: Columns) -> OverlapVolume:
    """Volume shared by two gamuts.

    Divide it by the volume of a picture space or a rival to say how much of that a medium covers.

    Parameters
    ----------
    first, second : columns cut with the same step

    Returns
    -------
    OverlapVolume in Lab cubic units; coverages are 0 to 1

    Raises
    ------
    BadSetting
        if the steps differ.

    Notes
    -----
    All columns are laid end to end on one line; the covered length of one gamut up to a place on that line
    is piecewise linear, so its difference over each interval of the other, summed, is the shared length.
    Cost n log n in the number of columns; no loop over columns.

    References
    ----------
    CIE 246:2021 (comparison of gamuts; title only).

    Checked against
    ---------------
    manifold3d boolean intersections; a plain loop over columns; two cubes and two balls.

    Examples
    --------
    Coverage of the second gamut: ``overlap(a, b).coverage_of_b``.
    """
    if first.step != second.step:
        what = f"The two gamuts were cut with different steps, {first.step} and {second.step}."
        raise BadSetting(what, todo="Cut both with one step.")
    shared = 0.0
    if len(first.row) and len(second.row):
        (low, high), (starts, ends) = _on_one_line(first, second)
        places = np.stack([starts, ends], axis=1).reshape(-1)
        covered = np.repeat(np.concatenate(([0.0], np.cumsum(second.high - second.low))), 2)[1:-1]
        within = np.interp(high, places, covered) - np.interp(low, places, covered)
        shared = float(first.step**2 * within.sum())
    own, other = first.volume, second.volume
    return OverlapVolume(shared=min(max(shared, 0.0), own, other), a=own, b=other)


def _crossings(places: Floats, triangles: Ints) -> _Crossings:
    """Every place where a grid line of rising L* meets a triangle; sign tells in from out."""
    first_row = np.ceil(places[:, 2]).astype(np.int64)
    by_row = np.argsort(first_row[triangles], axis=1, kind="stable")
    bottom, middle, top = np.take_along_axis(triangles, by_row, axis=1).T
    # Even order: the long side bottom-top is walked downward by the triangle; odd: upward.
    upward = np.where((by_row[:, 1] - by_row[:, 0]) % 3 == 1, -1, 1)
    owner, row = _spread(first_row[bottom], first_row[top])
    before = row < first_row[middle[owner]]
    long_a, long_l = _edge_at_row(places, bottom[owner], top[owner], row)
    lower = np.where(before, bottom[owner], middle[owner])
    upper = np.where(before, middle[owner], top[owner])
    short_a, short_l = _edge_at_row(places, lower, upper, row)
    long_first = np.ceil(long_a).astype(np.int64)
    short_first = np.ceil(short_a).astype(np.int64)
    sign = np.where(long_first < short_first, upward[owner], -upward[owner])
    line, column = _spread(np.minimum(long_first, short_first), np.maximum(long_first, short_first))
    share = (column - long_a[line]) / (short_a[line] - long_a[line])
    lightness = long_l[line] + share * (short_l[line] - long_l[line])
    return _Crossings(row[line], column, lightness, sign[line])


def _spread(start: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """Whole numbers from each start up to its stop, and which pair each came from."""
    count = stop - start
    owner = np.repeat(np.arange(len(count)), count)
    offset = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    return owner, start[owner] + offset


def _edge_at_row(places: Floats, lower: Ints, upper: Ints, row: Ints) -> tuple[Floats, Floats]:
    """a* (in grid steps) and L* of an edge where it crosses a row; always reckoned from its lower end."""
    start, end = places[lower], places[upper]
    share = (row - start[:, 2]) / (end[:, 2] - start[:, 2])
    return start[:, 1] + share * (end[:, 1] - start[:, 1]), start[:, 0] + share * (end[:, 0] - start[:, 0])


def _intervals(crossed: _Crossings, step: float) -> Columns:
    """Occupied intervals: where the winding number, summed from below, is not zero."""
    if not len(crossed.row):
        what = f"The gamut is smaller than the grid step of {step}."
        raise NotEnoughData(what, todo="Use a smaller step.")
    rows = crossed.row - crossed.row.min()
    across = crossed.column - crossed.column.min()
    pitch = np.ptp(crossed.lightness) + 1.0
    order = np.argsort((rows * (across.max() + 1) + across) * pitch + crossed.lightness)
    winding = np.cumsum(crossed.sign[order])
    outside_before = np.concatenate(([True], winding[:-1] == 0))
    enters = order[outside_before & (winding != 0)]
    leaves = order[~outside_before & (winding == 0)]
    high, low = crossed.lightness[leaves], crossed.lightness[enters]
    return Columns(step=step, row=crossed.row[enters], column=crossed.column[enters], low=low, high=high)


def _on_one_line(first: Columns, second: Columns) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Both sets of intervals with their columns laid end to end in one common order."""
    both = (first, second)
    row = min(int(c.row.min()) for c in both)
    column = min(int(c.column.min()) for c in both)
    width = max(int(c.column.max()) for c in both) - column + 1
    floor = min(float(c.low.min()) for c in both)
    pitch = max(float(c.high.max()) for c in both) - floor + 1.0
    starts = [((c.row - row) * width + c.column - column) * pitch - floor for c in both]
    one, two = ((start + c.low, start + c.high) for start, c in zip(starts, both, strict=True))
    return one, two
