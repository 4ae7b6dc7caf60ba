"""Smooth ramps from one colour to another: where tone jumps, bands or turns back."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.science.forms.device_colours import bare, grey, known_names, pure
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Box, Colour, Direction, Element, Ramp


@dataclass(frozen=True, slots=True)
class Gradient:
    """From one colour to another, and what it is called."""

    name: str
    start: Colour
    end: Colour


def usual_gradients(channels: tuple[str, ...]) -> tuple[Gradient, ...]:
    """Neutral, each primary and secondary, saturated to neutral, and those that pictures are judged by.

    Parameters
    ----------
    channels : names of the device values of the page

    Returns
    -------
    tuple of Gradient; in inks neutral is black ink alone, and once more equal shares of C, M and Y, which
    is not neutral on most media and shows how far from it

    Checked against
    ---------------
    First and last pixels of the drawn ramps.
    """
    names = known_names(channels)
    white, black = bare(channels), grey(0.0, channels)
    made = [Gradient("neutral", white, black)]
    if channels != ("R", "G", "B") and {"C", "M", "Y"} <= set(channels):
        equal = tuple(1.0 if one in "CMY" else 0.0 for one in channels)
        made.append(Gradient("equal C, M, Y", white, equal))
    coloured = [name for name in names if name != "K"]
    made += [Gradient(f"bare to {name}", white, pure(name, channels)) for name in coloured]
    made += [Gradient(f"{name} to grey", pure(name, channels), grey(0.5, channels)) for name in coloured]
    if {"C", "M", "Y", "R", "B"} <= set(names):
        made += [
            _deep_blue(channels),
            Gradient("pale to deep sky", _mixed(channels, (0.88, 0.94, 0.98)), _mixed(channels, _DEEP_SKY)),
            Gradient("sunset", _mixed(channels, (0.75, 0.12, 0.1)), _mixed(channels, (1.0, 0.85, 0.35))),
        ]
    return tuple(made)


# 220 % of ink at most: chosen here, well below what media usually take.
_BLUE_INK = {"C": 1.0, "M": 0.85, "K": 0.3}
_BLACK_INK = {"C": 0.5, "M": 0.4, "Y": 0.3, "K": 1.0}
_DEEP_SKY = (0.12, 0.36, 0.72)


def gradient(
    of: Gradient,
    *,
    left_mm: float,
    top_mm: float,
    along: Direction = "across",
    channels: tuple[str, ...],
    length_mm: float = 150.0,
    breadth_mm: float = 10.0,
) -> Element:
    """One ramp, pixel by pixel, with its name beside it.

    Parameters
    ----------
    of : from which colour to which
    left_mm, top_mm : corner of the element
    along : which way it runs; one across and one down tell the carriage's banding from the feed's
    channels : names of the device values of the page
    length_mm, breadth_mm : size of the ramp, along and across; a line for its name is added above

    Returns
    -------
    Element of kind "gradient"; facts: ``start`` and ``end`` (device values at the two ends), ``along``,
    ``field_mm``

    Checked against
    ---------------
    Drawn values along the ramp are a straight line from one colour to the other.
    """
    words = line_height_mm(4.0)
    width, height = (length_mm, breadth_mm) if along == "across" else (breadth_mm, length_mm)
    field = Box(left_mm, top_mm + words, left_mm + width, top_mm + words + height)
    said = text_width_mm(of.name, size_pt=4.0)
    told = label(of.name, left_mm=left_mm, top_mm=top_mm - 0.2, channels=channels, size_pt=4.0)
    return Element(
        "gradient",
        of.name if along == "across" else f"{of.name}, down",
        Box(left_mm, top_mm, max(field.right_mm, left_mm + said), field.bottom_mm),
        (Ramp(field, of.start, of.end, along), told),
        {
            "start": of.start,
            "end": of.end,
            "along": along,
            "field_mm": (field.left_mm, field.top_mm, field.right_mm, field.bottom_mm),
        },
    )


def gradients(
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    length_mm: float = 150.0,
    breadth_mm: float = 10.0,
    gap_mm: float = 1.0,
) -> tuple[Element, ...]:
    """All usual gradients across the page, one below the other.

    Parameters
    ----------
    left_mm, top_mm : corner of the group
    channels : names of the device values of the page
    length_mm, breadth_mm : size of each ramp
    gap_mm : between one and the next

    Returns
    -------
    tuple of Elements of kind "gradient"

    Checked against
    ---------------
    They lie below each other and inside their boxes.
    """
    made: list[Element] = []
    at = top_mm
    for each in usual_gradients(channels):
        made.append(
            gradient(
                each,
                left_mm=left_mm,
                top_mm=at,
                channels=channels,
                length_mm=length_mm,
                breadth_mm=breadth_mm,
            )
        )
        at = made[-1].box.bottom_mm + gap_mm
    return tuple(made)


def _deep_blue(channels: tuple[str, ...]) -> Gradient:
    name = "deep blue to black"
    if channels == ("R", "G", "B"):
        return Gradient(name, (0.0, 0.1, 0.45), (0.0, 0.0, 0.0))
    start, end = (tuple(inks.get(one, 0.0) for one in channels) for inks in (_BLUE_INK, _BLACK_INK))
    return Gradient(name, start, end)


def _mixed(channels: tuple[str, ...], light: tuple[float, float, float]) -> Colour:
    """Light of red, green and blue as device values; in inks, what is lacking of each is C, M and Y."""
    if channels == ("R", "G", "B"):
        return light
    lack = {ink: 1.0 - value for ink, value in zip("CMY", light, strict=True)}
    return tuple(lack.get(channel, 0.0) for channel in channels)
