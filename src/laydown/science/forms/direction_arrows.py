"""Arrows that say which way the medium was fed and which edge is the top."""

from __future__ import annotations

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm, turned_points
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Box, Element, Shape

_TURNS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
#: Width and height of the element of one arrow.
ARROW_MM = (16.0, 18.0)
_WORDS_PT = 8.0


def direction_arrow(
    says: str, points: str, *, left_mm: float, top_mm: float, channels: tuple[str, ...]
) -> Element:
    """One arrow with a word below it.

    Parameters
    ----------
    says : the word, such as "feed" or "top"
    points : "up", "down", "left" or "right" on the page; for feed, the way the medium moves
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page

    Returns
    -------
    Element of kind "arrow"; facts: ``points``, ``says``

    Raises
    ------
    BadSetting
        if it points nowhere, or the word is too long.

    Checked against
    ---------------
    The centre of gravity of the drawn head lies on the side it points to.
    """
    if points not in _TURNS:
        raise BadSetting(f'an arrow cannot point "{points}".', todo=f"Use {', '.join(_TURNS)}.")
    if text_width_mm(says, size_pt=_WORDS_PT) > ARROW_MM[0]:
        raise BadSetting(f'"{says}" is too long a word for an arrow.', todo="Use one short word.")
    words = line_height_mm(_WORDS_PT)
    box = Box(left_mm, top_mm, left_mm + ARROW_MM[0], top_mm + ARROW_MM[1])
    middle = (box.middle_mm[0], top_mm + (ARROW_MM[1] - words) / 2.0)
    up = np.array(
        [(0.0, -6.5), (4.2, -0.8), (1.3, -0.8), (1.3, 6.5), (-1.3, 6.5), (-1.3, -0.8), (-4.2, -0.8)]
    )
    outline = turned_points(up, about_mm=(0.0, 0.0), degrees=_TURNS[points]) + np.array(middle)
    told = label(
        says,
        left_mm=middle[0],
        top_mm=box.bottom_mm - words,
        channels=channels,
        size_pt=_WORDS_PT,
        light=0.0,
        align=0.5,
    )
    shape = Shape((outline,), grey(0.0, channels))
    return Element("arrow", says, box, (shape, told), {"points": points, "says": says})
