"""Words beside what is measured: small, faint, and never inside it."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.forms.device_colours import grey
from laydown.science.forms.lettering import MM_PER_POINT, text_outlines, text_width_mm
from laydown.science.forms.page import Shape

FAINT = 0.45
SMALL_PT = 5.0
_LINE = 1.35  # height of a line of text over the size of its type
_UNDER = 0.25  # how far letters reach below the line they stand on, over the size of the type


def line_height_mm(size_pt: float) -> float:
    """How much height one line of text needs.

    Parameters
    ----------
    size_pt : size of the type in points

    Returns
    -------
    mm

    Checked against
    ---------------
    No outline of plain letters reaches beyond it.
    """
    return size_pt * MM_PER_POINT * _LINE


def label(
    text: str,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    size_pt: float = SMALL_PT,
    light: float = FAINT,
    align: float = 0.0,
) -> Shape:
    """One line of text below ``top_mm``, in a grey.

    Parameters
    ----------
    text : what is written
    left_mm, top_mm : corner of the line of text
    channels : names of the device values of the page
    size_pt : size of the type in points
    light : how light its grey is, 0 to 1
    align : 0 begins at ``left_mm``, 0.5 is centred on it, 1 ends there

    Returns
    -------
    Shape

    Checked against
    ---------------
    Labels stay inside the boxes of the elements that carry them.
    """
    base = top_mm + line_height_mm(size_pt) - size_pt * MM_PER_POINT * _UNDER
    left = left_mm - align * text_width_mm(text, size_pt=size_pt)
    return Shape(text_outlines(text, left_mm=left, baseline_mm=base, size_pt=size_pt), grey(light, channels))


def wrapped(text: str, *, width_mm: float, size_pt: float) -> tuple[str, ...]:
    """Text broken into lines between words.

    Parameters
    ----------
    text : what is written
    width_mm : the longest a line may be; a single longer word stays whole
    size_pt : size of the type in points

    Returns
    -------
    tuple of lines

    Checked against
    ---------------
    No line of more than one word is longer than asked; no word is lost.
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_pt=size_pt) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def turned(shape: Shape, *, about_mm: tuple[float, float], degrees: float) -> Shape:
    """The same shape turned clockwise about a place.

    Parameters
    ----------
    shape : Shape
    about_mm : the place that stays
    degrees : by how much, clockwise as seen on the page

    Returns
    -------
    Shape

    Checked against
    ---------------
    A quarter turn takes right to down.
    """
    contours = tuple(turned_points(one, about_mm=about_mm, degrees=degrees) for one in shape.contours)
    return Shape(contours, shape.colour)


def turned_points(points: Floats, *, about_mm: tuple[float, float], degrees: float) -> Floats:
    """Places turned clockwise about one of them.

    Parameters
    ----------
    points : (n, 2) mm
    about_mm : the place that stays
    degrees : by how much, clockwise as seen on the page

    Returns
    -------
    (n, 2) mm

    Checked against
    ---------------
    A quarter turn takes right to down.
    """
    quarters, rest = divmod(degrees, 90.0)
    cosine, sine = float(np.cos(np.radians(rest))), float(np.sin(np.radians(rest)))
    for _ in range(int(quarters) % 4):  # a quarter turn is exact: level stays level, and no hair is slanted
        cosine, sine = -sine, cosine
    matrix = np.array([[cosine, sine], [-sine, cosine]])
    return np.asarray((points - np.array(about_mm)) @ matrix + np.array(about_mm))
