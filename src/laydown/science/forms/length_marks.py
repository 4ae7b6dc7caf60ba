"""Fine crosses at a stated distance: how long the print really is, along and across the feed."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label
from laydown.science.forms.page import Box, Element, Fact, Shape

ROUND_MM = (500.0, 400.0, 300.0, 250.0, 200.0, 150.0, 100.0, 50.0)
#: Size of the element of one cross.
MARK_MM = 16.0
_ARM_MM, _THIN_MM = 5.0, 0.15


def length_marks(
    *, left_mm: float, top_mm: float, channels: tuple[str, ...], across_mm: float, along_mm: float
) -> tuple[Element, Element, Element]:
    """Three crosses: a corner one, one across the feed from it and one along the feed.

    Feed runs down the page. Media grow and shrink more one way than the other, and drivers scale: both show
    as a distance that is not the stated one.

    Parameters
    ----------
    left_mm, top_mm : corner of the element of the first cross
    channels : names of the device values of the page
    across_mm, along_mm : distance of the others' middles from its middle, to the right and down

    Returns
    -------
    three Elements of kind "length mark" named "corner", "across" and "along", each ``MARK_MM`` square; facts:
    ``middle_mm`` of the cross and, of the last two, ``distance_mm`` from the corner's, ``line_mm`` (width of
    its lines), ``arm_mm``

    Raises
    ------
    BadSetting
        if crosses would lie over each other.

    Checked against
    ---------------
    Middles of the drawn crosses, found by their centre of gravity, lie at the stated distance.
    """
    if min(across_mm, along_mm) < MARK_MM:
        raise BadSetting("length marks would lie over each other.", todo=f"Ask for {ROUND_MM[-1]:g} mm.")
    corner = _cross("corner", left_mm, top_mm, "", 0.0, channels)
    across = _cross("across", left_mm + across_mm, top_mm, f"{across_mm:g} mm across", across_mm, channels)
    along = _cross("along", left_mm, top_mm + along_mm, f"{along_mm:g} mm along", along_mm, channels)
    return corner, across, along


def _cross(
    name: str, left_mm: float, top_mm: float, said: str, distance_mm: float, channels: tuple[str, ...]
) -> Element:
    box = Box(left_mm, top_mm, left_mm + MARK_MM, top_mm + MARK_MM)
    x, y = box.middle_mm
    thin = _THIN_MM / 2.0
    # One outline, so that the middle is not drawn twice.
    outline = Shape((_plus(x, y, _ARM_MM, thin),), grey(0.0, channels))
    words = label(
        said or "from here", left_mm=x, top_mm=y + _ARM_MM + 0.3, channels=channels, size_pt=4.0, align=0.5
    )
    facts: dict[str, Fact] = {"middle_mm": (x, y), "line_mm": _THIN_MM, "arm_mm": _ARM_MM}
    if distance_mm:
        facts["distance_mm"] = distance_mm
    return Element("length mark", name, box, (outline, words), facts)


def _plus(x: float, y: float, arm: float, half: float) -> Floats:
    quarter = np.array([(half, -arm), (half, -half), (arm, -half)])
    corners = [quarter]
    for _ in range(3):
        corners.append(corners[-1] @ np.array([[0.0, 1.0], [-1.0, 0.0]]))
    return np.asarray(np.concatenate(corners) + np.array([x, y]))
