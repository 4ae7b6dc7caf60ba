"""Hairlines and line pairs of known widths: the finest that a medium holds, and how much lines gain."""

from __future__ import annotations

from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm, turned_points
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Block, Box, Element, Fact, Paint, Shape

Run = Literal["upright", "level", "slanted"]
WIDTHS_MM = (0.05, 0.075, 0.1, 0.15, 0.2, 0.3, 0.5, 0.75, 1.0)
BARS = 5  # dark bars of a group of line pairs
_EDGE_MM = 2.0  # between the outermost line and the border of the element
_LEAST_ROOM_MM = 2.5  # for a group, so that the words beside groups do not run together
_GAP_MM = 4.0  # between neighbouring lines, clear of each other's bleeding
_TURNS = {"upright": 0.0, "level": 90.0, "slanted": 45.0}
_WORDS_PT = 4.0
_SLANTED_STEP = float(np.sqrt(2.0))


def hairlines(
    run: Run,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    reversed_out: bool = False,
    widths_mm: tuple[float, ...] = WIDTHS_MM,
    length_mm: float = 16.0,
) -> Element:
    """Single lines, each with its width beside it.

    A line finer than a pixel is drawn as the grey that it covers of it, no wider and no darker: what the
    printer makes of it is its own doing. Its nominal width is what the facts say.

    Parameters
    ----------
    run : "upright", "level" or "slanted" (45 degrees, from bottom left to top right)
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    reversed_out : bare lines in black rather than black lines on bare
    widths_mm : widths in the order in which the lines are drawn, left to right (level: top to bottom)
    length_mm : length of each line

    Returns
    -------
    Element of kind "lines"; facts: ``widths_mm`` in order, ``lines_mm`` (x, y, x, y of the middle of each
    line from end to end), ``length_mm``, ``turn_deg`` from upright, ``reversed`` 0 or 1

    Raises
    ------
    BadSetting
        if a width is not a width.

    Checked against
    ---------------
    Ink summed over each drawn line is width times length, also of lines finer than a pixel.
    """
    _check_widths(widths_mm)
    pitch = (_GAP_MM + max(widths_mm)) * (_SLANTED_STEP if run == "slanted" else 1.0)
    extent = length_mm / _SLANTED_STEP if run == "slanted" else length_mm
    lead = _EDGE_MM + (extent / 2.0 if run == "slanted" else max(widths_mm))
    along = [lead + number * pitch for number in range(len(widths_mm))]
    field, places = _field(run, left_mm, top_mm, along, along[-1] + lead, extent + 2.0 * _EDGE_MM)
    bars = [_bar(at, width, length_mm, run) for at, width in zip(places, widths_mm, strict=True)]
    facts: dict[str, Fact] = {
        "widths_mm": tuple(widths_mm),
        "lines_mm": tuple(value for at in places for value in _ends(at, length_mm, run)),
        "length_mm": length_mm,
        "turn_deg": _turn(run),
        "reversed": int(reversed_out),
    }
    # Slanted lines stand beside each other like books that lean: each is named at its foot.
    aside = np.array([extent / 2.0 if run == "slanted" else 0.0, 0.0])
    return _element("lines", run, field, bars, [at - aside for at in places], facts, channels)


def line_pairs(
    run: Run,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    reversed_out: bool = False,
    widths_mm: tuple[float, ...] = WIDTHS_MM,
    length_mm: float = 10.0,
) -> Element:
    """Groups of five bars with gaps as wide as the bars.

    Parameters
    ----------
    run : "upright", "level" or "slanted" (45 degrees, from bottom left to top right)
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    reversed_out : bare bars in black rather than black bars on bare
    widths_mm : widths of bars and gaps, in the order of the groups, left to right (level: top to bottom)
    length_mm : length of each bar

    Returns
    -------
    Element of kind "line pairs"; facts: ``widths_mm`` in order, ``pairs_per_mm``, ``bars`` in a group,
    ``groups_mm`` (x and y of the middle of each group), ``length_mm``, ``turn_deg`` from upright,
    ``reversed`` 0 or 1

    Raises
    ------
    BadSetting
        if a width is not a width.

    Checked against
    ---------------
    Ink summed over each drawn group is that of its bars; its first harmonic lies where the width says.
    """
    _check_widths(widths_mm)
    spans = [(2 * BARS - 1) * width for width in widths_mm]
    if run == "slanted":
        spans = [(span + length_mm) / _SLANTED_STEP for span in spans]
        extent = max(spans)
    else:
        extent = length_mm
    along, at = [], _EDGE_MM
    for span in spans:
        room = max(span, _LEAST_ROOM_MM)
        along.append(at + room / 2.0)
        at += room + _GAP_MM / 2.0
    field, places = _field(
        run, left_mm, top_mm, along, at - _GAP_MM / 2.0 + _EDGE_MM, extent + 2.0 * _EDGE_MM
    )
    bars: list[Floats] = []
    for place, width in zip(places, widths_mm, strict=True):
        across = turned_points(np.array([[2.0 * width, 0.0]]), about_mm=(0.0, 0.0), degrees=_turn(run))[0]
        bars += [
            _bar(place + (number - (BARS - 1) / 2.0) * across, width, length_mm, run)
            for number in range(BARS)
        ]
    facts: dict[str, Fact] = {
        "widths_mm": tuple(widths_mm),
        "pairs_per_mm": tuple(0.5 / width for width in widths_mm),
        "bars": BARS,
        "groups_mm": tuple(float(value) for place in places for value in place),
        "length_mm": length_mm,
        "turn_deg": _turn(run),
        "reversed": int(reversed_out),
    }
    return _element("line pairs", run, field, bars, places, facts, channels)


def _check_widths(widths_mm: tuple[float, ...]) -> None:
    if not widths_mm or min(widths_mm) <= 0.0 or max(widths_mm) > 5.0:
        raise BadSetting("a line is 0 to 5 mm wide.", todo="Ask for widths such as 0.05 to 1 mm.")


def _turn(run: Run) -> float:
    return _TURNS[run]


def _field(
    run: Run, left_mm: float, top_mm: float, along: list[float], long_mm: float, short_mm: float
) -> tuple[Box, list[Floats]]:
    """The ground of the lines, and the middle of each."""
    if run == "level":
        field = Box(left_mm, top_mm, left_mm + short_mm, top_mm + long_mm)
        return field, [np.array([left_mm + short_mm / 2.0, top_mm + at]) for at in along]
    field = Box(left_mm, top_mm, left_mm + long_mm, top_mm + short_mm)
    return field, [np.array([left_mm + at, top_mm + short_mm / 2.0]) for at in along]


def _bar(middle: Floats, width_mm: float, length_mm: float, run: Run) -> Floats:
    x, y = (float(value) for value in middle)
    upright = Box(x - width_mm / 2.0, y - length_mm / 2.0, x + width_mm / 2.0, y + length_mm / 2.0)
    return turned_points(upright.corners(), about_mm=(x, y), degrees=_turn(run))


def _ends(middle: Floats, length_mm: float, run: Run) -> tuple[float, ...]:
    upright = np.array([[0.0, -length_mm / 2.0], [0.0, length_mm / 2.0]])
    ends = turned_points(upright, about_mm=(0.0, 0.0), degrees=_turn(run)) + middle
    return tuple(float(value) for value in ends.ravel())


def _element(
    kind: str,
    run: Run,
    field: Box,
    bars: list[Floats],
    named_at: list[Floats],
    facts: dict[str, Fact],
    channels: tuple[str, ...],
) -> Element:
    """Lines on their ground, with the width of each beside the ground, level with it or below it."""
    widths, out = facts["widths_mm"], bool(facts["reversed"])
    high = line_height_mm(_WORDS_PT)
    ends = grey(0.0, channels), grey(1.0, channels)
    ground, ink = ends if out else ends[::-1]
    paints: list[Paint] = [Block(field, ground)] if out else []
    paints.append(Shape(tuple(bars), ink))
    right, bottom = field.right_mm, field.bottom_mm + (0.0 if run == "level" else high)
    every = widths if isinstance(widths, tuple) else ()
    for number, (place, width) in enumerate(zip(named_at, every, strict=True), start=1):
        said = f"{width:g} mm" if number == len(every) else f"{width:g}"
        wide = text_width_mm(said, size_pt=_WORDS_PT)
        if run == "level":
            left, top = field.right_mm + 1.0, float(place[1]) - high / 2.0
        else:
            left, top = max(float(place[0]) - wide / 2.0, field.left_mm), field.bottom_mm
        right = max(right, left + wide)
        paints.append(label(said, left_mm=left, top_mm=top, channels=channels, size_pt=_WORDS_PT))
    box = Box(field.left_mm, field.top_mm, right, bottom)
    return Element(kind, f"{run}, {'reversed' if out else 'positive'}", box, tuple(paints), facts)
