"""A square turned by a few degrees: four straight edges in four orientations to measure sharpness on."""

from __future__ import annotations

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm, turned_points
from laydown.science.forms.page import Block, Box, Element, Fact, Shape

TURN_DEG = Constant(5.0, "degree", "ISO 12233 uses 5 degrees for its slanted edges", "from memory")
#: Light of the square and of the field. Between 0.35 and 0.65 lie about 4 to 1 in reflected light if device
#: values follow light to the power 2.2, and the contrasts lie about the same middle value.
CONTRASTS = {"full": (0.0, 1.0), "half": (0.25, 0.75), "low": (0.35, 0.65)}
_FIELD = 1.7  # width of the field over that of the square
_ALONG, _ACROSS = 0.32, 0.25  # half an edge box along and across the edge, over the width of the square
_SIDES = {"right": (1.0, 0.0), "bottom": (0.0, 1.0), "left": (-1.0, 0.0), "top": (0.0, -1.0)}


def edge_target(
    contrast: str,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    side_mm: float = 20.0,
) -> Element:
    """A dark square, turned by 5 degrees, in a lighter field.

    Its four sides are crossed by the printer's pixels in every phase, two of them going from light to dark
    and two from dark to light, in each direction of the page: what carriage and feed do to an edge shows as
    a difference between them.

    Parameters
    ----------
    contrast : "full" (black on bare), "half" or "low" (about 4 to 1), about mid grey
    left_mm, top_mm : corner of the element, which is 1.7 times as wide as the square
    channels : names of the device values of the page
    side_mm : side of the square; an edge box keeps a margin of more than a fifth of it to both sides of the
        edge, 4 mm of 20: MTF50 within 1 % up to an unsharpness (standard deviation) of 0.22 mm, within 2 % up
        to 0.35 mm

    Returns
    -------
    Element of kind "edge"; facts: angle, side, light of square and field, and for each of left, top, right
    and bottom the box to cut out (``left_box_mm``) and both ends of the edge (``left_edge_mm``: x, y, x, y)

    Raises
    ------
    BadSetting
        if there is no such contrast, or the square is under 8 mm.

    Checked against
    ---------------
    MTF50 of Gaussians with a pixel's aperture in closed form, within 1 %: each side, each contrast, from
    files of 8 bits at 360 and 720 ppi.
    """
    if contrast not in CONTRASTS:
        raise BadSetting(f'there is no contrast "{contrast}".', todo=f"Use {', '.join(CONTRASTS)}.")
    if side_mm < 8.0:
        raise BadSetting(f"an edge {side_mm:g} mm long is too short to measure.", todo="Use 8 mm or more.")
    dark, light = CONTRASTS[contrast]
    words = line_height_mm(5.0)
    field = Box(left_mm, top_mm, left_mm + _FIELD * side_mm, top_mm + _FIELD * side_mm)
    middle = np.array(field.middle_mm)
    upright = Box(-side_mm / 2.0, -side_mm / 2.0, side_mm / 2.0, side_mm / 2.0).corners() + middle
    square = turned_points(upright, about_mm=field.middle_mm, degrees=TURN_DEG.value)
    facts: dict[str, Fact] = {
        "angle_deg": TURN_DEG.value,
        "side_mm": side_mm,
        "middle_mm": field.middle_mm,
        "dark": dark,
        "light": light,
    }
    for name, way in _SIDES.items():
        out = turned_points(np.array([way]), about_mm=(0.0, 0.0), degrees=TURN_DEG.value)[0]
        along = np.array([-out[1], out[0]]) * side_mm / 2.0
        at = middle + out * side_mm / 2.0
        half = side_mm * np.where(np.abs(way) > 0.5, _ACROSS, _ALONG)
        facts[f"{name}_box_mm"] = tuple(float(value) for value in (*(at - half), *(at + half)))
        facts[f"{name}_edge_mm"] = tuple(float(value) for value in (*(at - along), *(at + along)))
    paints = [Shape((square,), grey(dark, channels))]
    ground = [Block(field, grey(light, channels))] if light < 1.0 else []
    told = label(f"edges, {contrast}", left_mm=left_mm, top_mm=field.bottom_mm, channels=channels)
    box = Box(field.left_mm, field.top_mm, field.right_mm, field.bottom_mm + words)
    return Element("edge", contrast, box, (*ground, *paints, told), facts)
