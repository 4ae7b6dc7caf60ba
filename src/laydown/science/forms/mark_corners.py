"""The corners of a mark to a small part of a pixel, from straight lines along its sides."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import map_coordinates

from laydown.kernel.arrays import Floats

_ALONG = (0.12, 0.88)  # the part of a side that is looked at: corners are rounded by blur
_PLACES = 24
_REACH = 0.45  # of a cell, to either side of the edge: beyond it lies the next cell
_STEPS, _STEPS_PER_PIXEL = 25, 3  # at least; a step of a pixel would let the pixels' own grid show
_LEAST_STEP = 0.3  # of the usual step between dark and bare along a side; fainter places are torn or covered
_LEAST_PLACES = 8


def refined_corners(grey: Floats, corners: Floats, *, cells: int) -> Floats | None:
    """Corners of a mark's dark square, found again from the whole length of its sides.

    A detector looks at corners in a picture made coarser; a side is dozens of pixels long and straight, so a
    line through all of it is far better placed than any corner of it.

    Parameters
    ----------
    grey : (rows, columns) picture, any scale
    corners : (4, 2) as the detector found them, pixels, 0.5 is the centre of the first pixel
    cells : how many cells a side of the dark square has

    Returns
    -------
    (4, 2) in the same order, or None where a side cannot be followed: it lies beyond the picture, or is torn

    Checked against
    ---------------
    Drawn marks at known places, turned, blurred and noisy.
    """
    size = float(np.mean(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)))
    reach = _REACH * size / cells
    lines = [_line(grey, corners[side], corners[(side + 1) % 4], reach) for side in range(4)]
    found: list[Floats] = []
    for side in range(4):
        before, here = lines[side - 1], lines[side]
        if before is None or here is None:
            return None
        meeting = _meeting(before, here)
        if meeting is None or np.linalg.norm(meeting - corners[side]) > 2.0 * reach:
            return None
        found.append(meeting)
    return np.array(found)


def _line(grey: Floats, start: Floats, end: Floats, reach: float) -> tuple[Floats, Floats] | None:
    """A point on the side and its direction."""
    way = end - start
    length = float(np.linalg.norm(way))
    if length < 4.0:
        return None
    way = way / length
    normal = np.array([way[1], -way[0]])  # outward, for corners that go clockwise with y down
    share = np.linspace(*_ALONG, _PLACES)
    across = np.linspace(-reach, reach, max(_STEPS, round(2.0 * _STEPS_PER_PIXEL * reach)))
    points = start + share[:, None, None] * length * way + across[None, :, None] * normal
    rows, columns = grey.shape
    inside = (points >= 0.5).all(axis=(1, 2))
    inside &= (points[..., 0] <= columns - 0.5).all(axis=1) & (points[..., 1] <= rows - 0.5).all(axis=1)
    if inside.sum() < _LEAST_PLACES:
        return None
    points = points[inside]
    profile = map_coordinates(grey, [points[..., 1] - 0.5, points[..., 0] - 0.5], order=1)
    low, high = profile[:, :4].mean(axis=1), profile[:, -4:].mean(axis=1)
    step = high - low
    good = step > _LEAST_STEP * np.median(step)
    if np.median(step) <= 0.0 or good.sum() < _LEAST_PLACES:
        return None
    # Where the profile has risen half way, from the area under it: every pixel of it counts.
    level = (profile[good] - low[good, None]) / step[good, None]
    width = across[1] - across[0]
    area = (level.sum(axis=1) - (level[:, 0] + level[:, -1]) / 2.0) * width
    offset = across[-1] - area
    at = share[inside][good] * length
    slope, place, kept = 0.0, 0.0, np.ones(len(at), dtype=bool)
    for _ in range(3):
        slope, place = np.polyfit(at[kept], offset[kept], 1)
        away = np.abs(offset - (place + slope * at))
        limit = max(3.0 * 1.4826 * float(np.median(away[kept])), 0.05)
        kept = away <= limit
        if kept.sum() < _LEAST_PLACES:
            return None
    return start + place * normal, way + slope * normal


def _meeting(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> Floats | None:
    """Where two lines meet."""
    (p, u), (q, v) = one, other
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 0.2:
        return None
    along = ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross
    return np.asarray(p + along * u)
