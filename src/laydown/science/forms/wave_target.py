"""Waves that grow finer to one side and fainter to the other: what can still be told apart, at a glance."""

from __future__ import annotations

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Box, Direction, Element, Fact, Paint, Shape, Wave

FINEST_SHARE = Constant(
    0.85, "of half the pixels in a mm", "chosen here: a wave near two pixels beats visibly", "computed"
)
_TICKS = (0.5, 1.0, 2.0, 4.0, 8.0)
_TICK_MM, _HAIR_MM = 1.2, 0.2
_ASIDE_MM = 9.0  # for the words beside waves that run down


def finest_wave(ppi: float) -> float:
    """The finest wave, in cycles per mm, that pixels carry without beating.

    Parameters
    ----------
    ppi : pixels per inch of the drawn page

    Returns
    -------
    cycles per mm

    Checked against
    ---------------
    A wave drawn at this fineness keeps its contrast in every part of the box.
    """
    return FINEST_SHARE.value * ppi / 25.4 / 2.0


def wave_target(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    along: Direction = "across",
    width_mm: float = 100.0,
    height_mm: float = 40.0,
    coarse: float = 0.25,
    fine: float = 5.0,
    faintest: float = 0.01,
) -> Element:
    """Sine waves about mid grey, fineness along the box and contrast across it, both exponential.

    Parameters
    ----------
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    along : which way the waves grow finer; the other way they grow fainter
    width_mm, height_mm : size of the field of waves; a strip for ticks and words is added to it
    coarse, fine : cycles per mm at either end; keep ``fine`` below ``finest_wave``, 5 for 300 ppi
    faintest : share of full contrast at the faint end

    Returns
    -------
    Element of kind "waves"; facts: ``field_mm``, ``along``, ``coarse`` and ``fine`` (cycles per mm),
    ``faintest``. At a share s of the way the fineness is coarse * (fine / coarse) ** s and, across it, the
    contrast is faintest ** s.

    Raises
    ------
    BadSetting
        if the waves do not grow finer, or do not grow fainter.

    Checked against
    ---------------
    Fineness and contrast of the drawn field at places along and across it.
    """
    if not 0.0 < coarse < fine or not 0.0 < faintest < 1.0:
        raise BadSetting(
            "waves go from coarse to fine, and from full contrast to less.",
            todo="Give 0 < coarse < fine and a faintest contrast between 0 and 1.",
        )
    field = Box(left_mm, top_mm, left_mm + width_mm, top_mm + height_mm)
    dark, light = grey(0.0, channels), grey(1.0, channels)
    paints: list[Paint] = [Wave(field, dark, light, coarse, fine, faintest, along)]
    words = line_height_mm(4.0)
    shown = [each for each in _TICKS if 1.02 * coarse < each < 0.98 * fine]
    for each in shown:
        share = float(np.log(each / coarse) / np.log(fine / coarse))
        said = f"{each:g} per mm" if each == shown[-1] else f"{each:g}"
        paints += _tick(field, share, said, along, channels)
    facts: dict[str, Fact] = {
        "field_mm": (field.left_mm, field.top_mm, field.right_mm, field.bottom_mm),
        "along": along,
        "coarse": coarse,
        "fine": fine,
        "faintest": faintest,
    }
    if along == "across":
        box = Box(left_mm, top_mm, field.right_mm, field.bottom_mm + _TICK_MM + words)
    else:
        box = Box(left_mm, top_mm, field.right_mm + _TICK_MM + _ASIDE_MM, field.bottom_mm)
    return Element("waves", along, box, tuple(paints), facts)


def _tick(field: Box, share: float, said: str, along: Direction, channels: tuple[str, ...]) -> list[Paint]:
    """A short line at the place of a fineness, and its number."""
    if along == "across":
        x = field.left_mm + share * field.width_mm
        half = text_width_mm(said, size_pt=4.0) / 2.0
        middle = float(np.clip(x, field.left_mm + half, field.right_mm - half))
        line = Box(x - _HAIR_MM / 2, field.bottom_mm + 0.2, x + _HAIR_MM / 2, field.bottom_mm + _TICK_MM)
        place, align = (middle, line.bottom_mm), 0.5
    else:
        y = field.top_mm + share * field.height_mm
        line = Box(field.right_mm + 0.2, y - _HAIR_MM / 2, field.right_mm + _TICK_MM, y + _HAIR_MM / 2)
        high = line_height_mm(4.0)
        top = float(np.clip(y - high / 2, field.top_mm, field.bottom_mm - high))
        place, align = (line.right_mm + 0.5, top), 0.0
    words = label(said, left_mm=place[0], top_mm=place[1], channels=channels, size_pt=4.0, align=align)
    return [Shape((line.corners(),), words.colour), words]
