"""How much of each pixel a shape covers, exactly: the ground of every edge a form draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats

_TINY = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """The sides of a shape that are not level, ready to be asked for its coverage band by band.

    ``starts`` and ``ends`` (n, 2) are x and y in pixels; ``tops`` and ``bottoms`` (n,) are where each begins
    and ends, counted from above.
    """

    starts: Floats
    ends: Floats
    tops: Floats
    bottoms: Floats

    @classmethod
    def of(cls, contours: Sequence[Floats]) -> Sides:
        """The sides of closed outlines.

        Parameters
        ----------
        contours : closed outlines, each (n, 2) of x and y in pixels, x to the right, y down; one that runs
            the other way round than the one that holds it is a hole. Outlines do not cross each other.

        Returns
        -------
        Sides

        Checked against
        ---------------
        As their coverage is.
        """
        starts = np.concatenate([np.asarray(one, dtype=np.float64) for one in contours])
        lengths = [len(one) for one in contours]
        after = np.arange(1, len(starts) + 1)
        after[np.cumsum(lengths) - 1] = np.cumsum(lengths) - lengths  # the last point leads to the first
        ends = starts[after]
        slanted = starts[:, 1] != ends[:, 1]
        starts, ends = starts[slanted], ends[slanted]
        return cls(starts, ends, np.minimum(starts[:, 1], ends[:, 1]), np.maximum(starts[:, 1], ends[:, 1]))

    def coverage(self, *, columns: tuple[int, int], rows: tuple[int, int]) -> Floats:
        """The share of each pixel that lies inside a shape.

        An edge that is to measure sharpness must not add any unsharpness of its own beyond that of the
        pixel. Sampling a pixel at a few points leaves steps along a slanted edge; here the area is reckoned
        exactly, by cutting every side of the shape at the pixels' borders and summing the trapezoids to the
        right of it.

        Parameters
        ----------
        columns, rows : first pixel and the one after the last of the window that is wanted.

        Returns
        -------
        array (rows, columns), 0 to 1

        Notes
        -----
        Signed areas are summed along the rows, as scan converters of outline fonts do (common practice of
        computer graphics; derived here from the shoelace formula cell by cell).

        Checked against
        ---------------
        Areas of polygons by the shoelace formula, a half plane's coverage in closed form, and shapely's
        intersection areas pixel by pixel.
        """
        height, width = rows[1] - rows[0], columns[1] - columns[0]
        sums = np.zeros((height, width + 1))
        here = (self.tops < rows[1]) & (self.bottoms > rows[0])
        corner = np.array([columns[0], rows[0]], dtype=np.float64)
        starts, ends = _within_rows(self.starts[here] - corner, self.ends[here] - corner, height)
        _add_rises(sums, *_cut(starts, ends, width))
        return np.clip(np.abs(np.cumsum(sums, axis=1)[:, :width]), 0.0, 1.0)


def _add_rises(sums: Floats, pieces_from: Floats, pieces_to: Floats) -> None:
    """How far each piece rises, shared between its own pixel and all to the right of it."""
    height, width = sums.shape[0], sums.shape[1] - 1
    middle = (pieces_from + pieces_to) / 2.0
    row = np.clip(np.floor(middle[:, 1]).astype(np.int64), 0, max(height - 1, 0))
    column = np.floor(middle[:, 0]).astype(np.int64)
    rise = pieces_to[:, 1] - pieces_from[:, 1]
    here = column < width
    left = column < 0
    share = np.where(left, 0.0, middle[:, 0] - column)[here]
    cell = row[here] * (width + 1) + np.where(left, 0, column)[here]
    flat = sums.ravel()
    flat += np.bincount(cell, weights=rise[here] * (1.0 - share), minlength=flat.size)[: flat.size]
    flat += np.bincount(cell + 1, weights=rise[here] * share, minlength=flat.size)[: flat.size]


def _within_rows(starts: Floats, ends: Floats, height: int) -> tuple[Floats, Floats]:
    """The parts of the sides between the first and the last row."""
    rise = ends[:, 1] - starts[:, 1]
    first = (np.where(rise > 0.0, 0.0, height) - starts[:, 1]) / rise
    last = (np.where(rise > 0.0, height, 0.0) - starts[:, 1]) / rise
    first, last = np.clip(first, 0.0, 1.0)[:, None], np.clip(last, 0.0, 1.0)[:, None]
    kept = (last > first)[:, 0]
    way = ends - starts
    return (starts + first * way)[kept], (starts + last * way)[kept]


def _cut(starts: Floats, ends: Floats, width: int) -> tuple[Floats, Floats]:
    """The sides cut wherever they cross a pixel's border."""
    way = ends - starts
    side, cuts = [np.repeat(np.arange(len(way)), 2)], [np.tile([0.0, 1.0], len(way))]
    for axis, most in ((0, width), (1, None)):
        low = np.minimum(starts[:, axis], ends[:, axis])
        high = np.maximum(starts[:, axis], ends[:, axis])
        if most is not None:  # beyond the window nothing needs cutting but at its borders
            low, high = np.clip(low, -0.5, most + 0.5), np.clip(high, -0.5, most + 0.5)
        first = np.ceil(low).astype(np.int64)
        count = np.maximum(np.floor(high).astype(np.int64) - first + 1, 0)
        count[np.abs(way[:, axis]) < _TINY] = 0
        of = np.repeat(np.arange(len(way)), count)
        before = np.cumsum(count) - count
        border = first[of] + (np.arange(len(of)) - before[of])
        side.append(of)
        cuts.append((border - starts[of, axis]) / way[of, axis])
    every, at = np.concatenate(side), np.clip(np.concatenate(cuts), 0.0, 1.0)
    order = np.lexsort((at, every))
    every, at = every[order], at[order]
    points = starts[every] + at[:, None] * way[every]
    same = every[1:] == every[:-1]
    return points[:-1][same], points[1:][same]
