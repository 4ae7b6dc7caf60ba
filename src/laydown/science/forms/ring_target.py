"""Concentric rings: lines in every direction at once."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import SMALL_PT, label, line_height_mm
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Block, Box, Element, Paint, Shape

WIDTHS_MM = (0.1, 0.15, 0.2, 0.3, 0.5, 0.75)
_CORNERS = 1440  # of a drawn circle: the chord lies less than 0.0001 mm inside a circle of 15 mm
_EACH = 3  # rings of each width


def ring_target(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    reversed_out: bool = False,
    widths_mm: tuple[float, ...] = WIDTHS_MM,
    innermost_mm: float = 1.0,
) -> Element:
    """Rings about one middle, three of each width, finest inside, gaps as wide as the ring.

    Where carriage and feed do not agree, rings that should look alike all round grow fainter, heavier or
    oval in one direction.

    Parameters
    ----------
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    reversed_out : bare rings in black rather than black rings on bare
    widths_mm : widths from the middle outwards
    innermost_mm : inner radius of the first ring

    Returns
    -------
    Element of kind "rings"; facts: ``middle_mm``, ``widths_mm`` of every ring from the middle outwards,
    ``radii_mm`` (middle radius of each ring), ``reversed`` 0 or 1

    Raises
    ------
    BadSetting
        if a width is not a width.

    Checked against
    ---------------
    Ink summed over drawn rings is the area of the rings.
    """
    if not widths_mm or min(widths_mm) <= 0.0 or innermost_mm <= 0.0:
        raise BadSetting("a ring has a width and a radius.", todo="Ask for widths such as 0.1 to 0.75 mm.")
    every = [width for width in widths_mm for _ in range(_EACH)]
    inner, at = [], innermost_mm
    for width in every:
        inner.append(at)
        at += 2.0 * width
    outer = inner[-1] + every[-1]
    half = outer + 1.5
    field = Box(left_mm, top_mm, left_mm + 2.0 * half, top_mm + 2.0 * half)
    circles: list[Floats] = []
    for radius, width in zip(inner, every, strict=True):
        circles += [_circle(field, radius + width), _circle(field, radius)[::-1]]
    paints: list[Paint] = [Block(field, grey(0.0, channels))] if reversed_out else []
    paints.append(Shape(tuple(circles), grey(1.0 if reversed_out else 0.0, channels)))
    fine, coarse = min(widths_mm), max(widths_mm)
    told = f"rings {fine:g} to {coarse:g} mm"
    paints.append(label(told, left_mm=left_mm, top_mm=field.bottom_mm, channels=channels))
    right = max(field.right_mm, left_mm + text_width_mm(told, size_pt=SMALL_PT))
    box = Box(field.left_mm, field.top_mm, right, field.bottom_mm + line_height_mm(SMALL_PT))
    return Element(
        "rings",
        "reversed" if reversed_out else "positive",
        box,
        tuple(paints),
        {
            "middle_mm": field.middle_mm,
            "widths_mm": tuple(every),
            "radii_mm": tuple(radius + width / 2.0 for radius, width in zip(inner, every, strict=True)),
            "reversed": int(reversed_out),
        },
    )


def _circle(field: Box, radius_mm: float) -> Floats:
    angle = np.arange(_CORNERS) * 2.0 * np.pi / _CORNERS
    # A polygon of the same area as the circle: corners a little outside, sides a little inside.
    even = np.sqrt(2.0 * np.pi / _CORNERS / np.sin(2.0 * np.pi / _CORNERS))
    points = radius_mm * even * np.column_stack([np.cos(angle), np.sin(angle)])
    return np.asarray(points + np.array(field.middle_mm))
