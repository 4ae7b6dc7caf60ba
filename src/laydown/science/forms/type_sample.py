"""One sentence in sizes from 3 to 12 points, dark on bare and bare in dark."""

from __future__ import annotations

from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import bare, grey
from laydown.science.forms.labels import line_height_mm
from laydown.science.forms.lettering import MM_PER_POINT, text_outlines, text_width_mm
from laydown.science.forms.page import Block, Box, Colour, Element, Fact, Paint, Shape

SIZES_PT = (3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0)
#: Every letter of the alphabet once at least, and open and closed shapes side by side.
SENTENCE = "Five black jugs of wax pigment quietly dry in hazy light, 0123456789."
_MARGIN_MM = 2.0
_AFTER_NUMBER_MM = 1.5


def type_sample(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    reversed_out: bool = False,
    width_mm: float = 100.0,
    sizes_pt: tuple[float, ...] = SIZES_PT,
    colour: Colour | None = None,
) -> Element:
    """The same sentence line by line, small to large, as much of it as fits after the number of its size.

    Parameters
    ----------
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    reversed_out : bare letters in a dark field rather than dark letters on bare
    width_mm : width of the element
    sizes_pt : sizes of the type from top to bottom, points of 1/72 in
    colour : device values of the letters (of the field where reversed), black if not given

    Returns
    -------
    Element of kind "type"; facts: ``sizes_pt`` in order, ``baselines_mm``, ``left_mm`` of the text, the words
    of each line as ``line_1`` and on, ``reversed`` 0 or 1

    Raises
    ------
    BadSetting
        if not even one word of a line fits.

    Checked against
    ---------------
    Letters stay inside the element; ink of the reversed sample and of the other add up to the whole.
    """
    ink = grey(0.0, channels) if colour is None else colour
    letters = bare(channels) if reversed_out else ink
    numbers = max(text_width_mm(f"{size:g}", size_pt=size) for size in sizes_pt) + _AFTER_NUMBER_MM
    left = left_mm + _MARGIN_MM + numbers
    facts: dict[str, Fact] = {"sizes_pt": tuple(sizes_pt), "left_mm": left}
    shapes: list[Paint] = []
    baselines, at = [], top_mm + _MARGIN_MM
    for number, size in enumerate(sizes_pt, start=1):
        said = _fitting(width_mm - 2.0 * _MARGIN_MM - numbers, size)
        at += line_height_mm(size)
        base = at - 0.25 * size * MM_PER_POINT
        baselines.append(base)
        for words, start in ((f"{size:g}", left_mm + _MARGIN_MM), (said, left)):
            shapes.append(Shape(text_outlines(words, left_mm=start, baseline_mm=base, size_pt=size), letters))
        facts[f"line_{number}"] = said
    box = Box(left_mm, top_mm, left_mm + width_mm, at + _MARGIN_MM)
    ground: list[Paint] = [Block(box, ink)] if reversed_out else []
    facts["baselines_mm"] = tuple(baselines)
    facts["reversed"] = int(reversed_out)
    name = "reversed" if reversed_out else "positive"
    return Element("type", name, box, tuple(ground + shapes), facts)


def _fitting(width_mm: float, size_pt: float) -> str:
    """As many whole words as the width holds."""
    words = SENTENCE.split()
    for many in range(len(words), 0, -1):
        said = " ".join(words[:many])
        if text_width_mm(said, size_pt=size_pt) <= width_mm:
            return said
    raise BadSetting(
        f"{width_mm:.3g} mm hold no word of {size_pt:g} point type.", todo="Make the sample wider."
    )
