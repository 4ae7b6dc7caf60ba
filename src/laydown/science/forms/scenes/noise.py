"""Smooth chance: the same hills and valleys at every resolution, since they lie in mm and not in pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints

_SIZE = 256  # a power of two
_TURN = 0.65  # radians between one octave and the next, so that their grids do not fall together


@dataclass(frozen=True, slots=True, eq=False)
class Hills:
    """Slopes at the corners of a square grid that repeats after 256 cells."""

    across: Floats
    down: Floats

    def at(self, x: Floats, y: Floats) -> Floats:
        """Height at places in units of a cell; mostly within -0.7 and 0.7, 0 at every corner."""
        left, top = np.floor(x), np.floor(y)
        fx, fy = np.asarray(x - left), np.asarray(y - top)
        # Powers of two wrap with a mask; a flat place is looked up faster than a row and a column.
        column, row = left.astype(np.int64) & (_SIZE - 1), (top.astype(np.int64) & (_SIZE - 1)) * _SIZE
        next_column, next_row = (column + 1) & (_SIZE - 1), (row + _SIZE) & (_SIZE * _SIZE - 1)
        across, down = self.across.ravel(), self.down.ravel()

        def slope(corner: Ints, far_x: Floats, far_y: Floats) -> Floats:
            return across.take(corner) * far_x + down.take(corner) * far_y

        ease_x, ease_y = _eased(fx), _eased(fy)
        upper = slope(row + column, fx, fy)
        upper += ease_x * (slope(row + next_column, fx - 1.0, fy) - upper)
        lower = slope(next_row + column, fx, fy - 1.0)
        lower += ease_x * (slope(next_row + next_column, fx - 1.0, fy - 1.0) - lower)
        return np.asarray(upper + ease_y * (lower - upper))

    def rough(self, x: Floats, y: Floats, *, octaves: int, gain: float = 0.5) -> Floats:
        """Hills upon hills, each octave half the size and ``gain`` times the height of the one before."""
        total, height = np.zeros(np.broadcast_shapes(np.shape(x), np.shape(y))), 1.0
        for _ in range(octaves):
            total += height * self.at(x, y)
            height *= gain
            x, y = (
                2.0 * (np.cos(_TURN) * x - np.sin(_TURN) * y) + 17.3,
                2.0 * (np.sin(_TURN) * x + np.cos(_TURN) * y) + 5.7,
            )
        return total


def _eased(share: Floats) -> Floats:
    return np.asarray(share**3 * (share * (share * 6.0 - 15.0) + 10.0))


def hills(rng: np.random.Generator) -> Hills:
    """Fresh hills.

    Parameters
    ----------
    rng : where chance comes from

    Returns
    -------
    Hills

    References
    ----------
    Gradient noise (common practice of computer graphics).

    Checked against
    ---------------
    It is 0 at corners, has no jumps, and is the same for the same rng.
    """
    angle = rng.uniform(0.0, 2.0 * np.pi, size=(_SIZE, _SIZE))
    return Hills(np.cos(angle), np.sin(angle))
