"""Finds places on a page for things of given sizes, beside what lies there already."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.forms.page import Box

_TINY_MM = 1e-6


class FreeSpace:
    """What is left of an area; whatever is put into it is taken from it, with a bare gap round it."""

    def __init__(self, area: Box, *, gap_mm: float, taken: Sequence[Box] = ()) -> None:
        self.area, self.gap_mm = area, gap_mm
        self._taken: list[tuple[float, float, float, float]] = []
        for box in taken:
            self.take(box)

    def take(self, box: Box) -> None:
        """Keep a place free of everything that comes later."""
        self._taken.append((box.left_mm, box.top_mm, box.right_mm, box.bottom_mm))

    def place(self, width_mm: float, height_mm: float) -> Box | None:
        """The highest free place, of those the leftmost; it is taken then. None if there is none.

        Only places that touch the area's border or something that lies there are looked at: whatever could
        lie elsewhere can be pushed up and left until it touches.
        """
        area, gap = self.area, self.gap_mm
        if width_mm > area.width_mm + _TINY_MM or height_mm > area.height_mm + _TINY_MM:
            return None
        taken = np.array(self._taken, dtype=np.float64).reshape(-1, 4)
        lefts = _starts(area.left_mm, taken[:, 2] + gap, area.right_mm - width_mm)
        tops = _starts(area.top_mm, taken[:, 3] + gap, area.bottom_mm - height_mm)
        for top in tops:
            beside = taken[
                (taken[:, 1] < top + height_mm + gap - _TINY_MM) & (taken[:, 3] > top - gap + _TINY_MM)
            ]
            hit = (beside[:, 0] < lefts[:, None] + width_mm + gap - _TINY_MM) & (
                beside[:, 2] > lefts[:, None] - gap + _TINY_MM
            )
            free = np.flatnonzero(~hit.any(axis=1))
            if len(free):
                left = float(lefts[free[0]])
                found = Box(left, float(top), left + width_mm, float(top) + height_mm)
                self.take(found)
                return found
        return None


def _starts(first: float, others: Floats, last: float) -> Floats:
    every = np.unique(np.append(others, first))
    return np.asarray(every[(every >= first - _TINY_MM) & (every <= last + _TINY_MM)])
