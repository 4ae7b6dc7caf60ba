"""A solid bar to cut up for rub, tape and fold tests, and a window of bare medium."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm, turned_points, wrapped
from laydown.science.forms.page import Block, Box, Element, Paint, Shape

PIECE_MM = 30.0
CAUTION = (
    "Blades cut: wear a cut-resistant glove, cut along a guarded straight edge, away from your hand "
    "and body, and put used blades in a sharps box. Your workshop's own rules come first."
)
_ABOVE_MM = 9.5  # room for scissors and cutting lines above the bar
_BELOW_MM = 3.0
_HAIR_MM = 0.25
_CAUTION_PT = 6.0


def wear_bar(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    pieces: int = 8,
    high_mm: float = 30.0,
    light: float = 0.0,
) -> Element:
    """A flat bar with cutting marks every 30 mm outside it and a caution in words below it.

    Uncut, four pieces are long enough for rubbing over 100 mm; one piece takes a tape 25 mm wide.

    Parameters
    ----------
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    pieces : how many
    high_mm : height of the bar
    light : 0 is black; a second bar of 0.5 is mid grey

    Returns
    -------
    Element of kind "wear bar"; facts: ``bar_mm``, ``piece_mm`` (length of a piece), ``pieces``, ``cuts_mm``
    (x of each cut), ``device``

    Raises
    ------
    BadSetting
        if there are no pieces, or pieces are too low for a tape.

    Checked against
    ---------------
    The bar is solid from end to end, and cutting marks lie outside it at the stated places.
    """
    if pieces < 3 or high_mm < 25.0:
        raise BadSetting(
            f"a bar of {pieces} pieces {high_mm:g} mm high is too small for rub, tape and fold tests.",
            todo="Give it 3 pieces or more, at least 25 mm high.",
        )
    bar = Box(0.0, 0.0, pieces * PIECE_MM, high_mm).moved(left_mm, top_mm + _ABOVE_MM)
    cuts = [bar.left_mm + number * PIECE_MM for number in range(1, pieces)]
    dark = grey(0.0, channels)
    device = grey(light, channels)
    paints: list[Paint] = [Block(bar, device)]
    for x in cuts:
        half = _HAIR_MM / 2.0
        above, below = Box(x - half, bar.top_mm - 2.5, x + half, bar.top_mm - 0.5), bar.height_mm + 3.0
        paints += [Shape((line.corners(),), dark) for line in (above, above.moved(0.0, below))]
        paints += [Shape(part, dark) for part in _scissors(x, bar.top_mm - 2.7)]
    at = bar.bottom_mm + _BELOW_MM
    for line in wrapped(CAUTION, width_mm=bar.width_mm, size_pt=_CAUTION_PT):
        paints.append(
            label(line, left_mm=bar.left_mm, top_mm=at, channels=channels, size_pt=_CAUTION_PT, light=0.0)
        )
        at += line_height_mm(_CAUTION_PT)
    return Element(
        "wear bar",
        "black" if light == 0.0 else f"light {light:g}",
        Box(bar.left_mm, top_mm, bar.right_mm, at),
        tuple(paints),
        {
            "bar_mm": (bar.left_mm, bar.top_mm, bar.right_mm, bar.bottom_mm),
            "piece_mm": PIECE_MM,
            "pieces": pieces,
            "cuts_mm": tuple(cuts),
            "device": device,
        },
    )


def bare_window(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    width_mm: float = 40.0,
    height_mm: float = 40.0,
) -> Element:
    """A place where nothing is printed, with small corners outside it.

    Parameters
    ----------
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    width_mm, height_mm : size of the bare place; corners and a word add 3 mm to the left, right and top and
        5 mm to the bottom

    Returns
    -------
    Element of kind "bare window"; facts: ``window_mm``

    Raises
    ------
    BadSetting
        if an instrument could not be put on it.

    Checked against
    ---------------
    Nothing is drawn inside the window.
    """
    if min(width_mm, height_mm) < 15.0:
        raise BadSetting("a bare window under 15 mm is too small to read.", todo="Ask for 15 mm or more.")
    window = Box(0.0, 0.0, width_mm, height_mm).moved(left_mm + 3.0, top_mm + 3.0)
    colour = grey(0.3, channels)
    made: list[Paint] = []
    for x, out in ((window.left_mm, -1.0), (window.right_mm, 1.0)):
        for y, away in ((window.top_mm, -1.0), (window.bottom_mm, 1.0)):
            points = np.array(
                [(0.5, 0.5), (0.5, -3.0), (0.75, -3.0), (0.75, 0.75), (-3.0, 0.75), (-3.0, 0.5)]
            )
            made.append(Shape((points * np.array([out, away]) + np.array([x, y]),), colour))
    told = label(
        "bare medium", left_mm=window.left_mm - 0.75, top_mm=window.bottom_mm + 1.2, channels=channels
    )
    box = Box(left_mm, top_mm, window.right_mm + 3.0, window.bottom_mm + 5.0)
    facts = {"window_mm": (window.left_mm, window.top_mm, window.right_mm, window.bottom_mm)}
    return Element("bare window", "bare", box, (*made, told), dict(facts))


def _scissors(x: float, tip_y: float) -> tuple[tuple[Floats, ...], ...]:
    """A pair of scissors 6 mm high that points down at a cut: two blades and two grips."""
    made: list[tuple[Floats, ...]] = []
    for side in (-1.0, 1.0):
        blade = np.array([(-0.1, 0.2), (0.38, -3.4), (0.3, -4.0), (-0.3, -4.0), (-0.35, -3.4)])
        turned = turned_points(blade * (side, 1.0), about_mm=(0.0, -2.6), degrees=13.0 * side)
        middle = np.array([side * 0.95, -4.75])
        made += [(turned,), (_round(middle, 1.0), _round(middle, 0.6)[::-1])]
    place = np.array([x, tip_y])
    return tuple(tuple(outline + place for outline in part) for part in made)


def _round(middle: Floats, radius: float) -> Floats:
    angle = np.arange(48) * 2.0 * np.pi / 48
    return np.asarray(middle + radius * np.column_stack([np.cos(angle), np.sin(angle)]))
