"""A page of a test form in mm and device values: what is on it, and with which paint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting

MM_PER_INCH = 25.4
_HAIR_MM = 0.01  # less than a printer's pixel: what rounding may add to an outline
#: Device values 0 to 1, one for each channel: light for RGB (1 = full light), ink for everything else.
Colour = tuple[float, ...]
Fact = float | int | str | tuple[float, ...]
Direction = Literal["across", "down"]
Codes = NDArray[np.uint8] | NDArray[np.uint16]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page, in mm from its top left corner."""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float

    @property
    def width_mm(self) -> float:
        """How wide it is."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """How high it is."""
        return self.bottom_mm - self.top_mm

    @property
    def middle_mm(self) -> tuple[float, float]:
        """Its centre."""
        return (self.left_mm + self.right_mm) / 2.0, (self.top_mm + self.bottom_mm) / 2.0

    def inset(self, by_mm: float) -> Box:
        """The same, smaller by ``by_mm`` on every side."""
        return Box(self.left_mm + by_mm, self.top_mm + by_mm, self.right_mm - by_mm, self.bottom_mm - by_mm)

    def moved(self, across_mm: float, down_mm: float) -> Box:
        """The same elsewhere."""
        return Box(
            self.left_mm + across_mm,
            self.top_mm + down_mm,
            self.right_mm + across_mm,
            self.bottom_mm + down_mm,
        )

    def holds(self, other: Box) -> bool:
        """Whether another box lies wholly in this one."""
        return (
            self.left_mm <= other.left_mm
            and self.top_mm <= other.top_mm
            and self.right_mm >= other.right_mm
            and self.bottom_mm >= other.bottom_mm
        )

    def touches(self, other: Box) -> bool:
        """Whether the two share any place; borders that meet do not count."""
        return (
            self.left_mm < other.right_mm
            and other.left_mm < self.right_mm
            and self.top_mm < other.bottom_mm
            and other.top_mm < self.bottom_mm
        )

    def corners(self) -> Floats:
        """Its four corners, clockwise from the top left, (4, 2) mm."""
        return np.array(
            [
                (self.left_mm, self.top_mm),
                (self.right_mm, self.top_mm),
                (self.right_mm, self.bottom_mm),
                (self.left_mm, self.bottom_mm),
            ]
        )


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle of one colour; its borders lie on whole printer pixels, so that no pixel is mixed."""

    box: Box
    colour: Colour


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Any outline of one colour, drawn with the exact share of each pixel that it covers.

    ``contours`` are closed outlines in mm, (n, 2); one that runs the other way round is a hole.
    """

    contours: tuple[Floats, ...]
    colour: Colour


@dataclass(frozen=True, slots=True)
class Ramp:
    """From one colour to another, ``steps`` equal fields or, where that is None, pixel by pixel."""

    box: Box
    start: Colour
    end: Colour
    along: Direction = "across"
    steps: int | None = None


@dataclass(frozen=True, slots=True)
class Wave:
    """Sine waves between two colours, finer and finer along the box, fainter and fainter across it.

    Spatial frequency rises exponentially from ``coarse`` to ``fine`` (cycles per mm), contrast falls
    exponentially from 1 to ``faintest``.
    """

    box: Box
    dark: Colour
    light: Colour
    coarse: float
    fine: float
    faintest: float
    along: Direction = "across"


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """Pixels (rows, columns, channels) stretched over a box: 0 to 1, or whole numbers of 8 or 16 bits."""

    box: Box
    pixels: Floats | NDArray[np.uint8] | NDArray[np.uint16]

    @property
    def full(self) -> float:
        """The pixel value that stands for 1."""
        return {"u1": 255.0, "u2": 65535.0}.get(self.pixels.dtype.str[1:], 1.0)


Paint = Block | Shape | Ramp | Wave | Picture


@dataclass(frozen=True, slots=True)
class Element:
    """One thing on a page: ``kind`` is what it is for, ``name`` tells it from others of its kind.

    ``facts`` are what somebody who measures it must know, such as the angle of an edge; lengths in mm.
    """

    kind: str
    name: str
    box: Box
    paints: tuple[Paint, ...]
    facts: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Page:
    """A page of a form. ``channels`` name the device values, such as ("R", "G", "B")."""

    name: str
    width_mm: float
    height_mm: float
    channels: tuple[str, ...]
    elements: tuple[Element, ...]

    @property
    def box(self) -> Box:
        """The whole page."""
        return Box(0.0, 0.0, self.width_mm, self.height_mm)

    @property
    def bare(self) -> Colour:
        """Nothing printed: full light in RGB, no ink in everything else."""
        return tuple(1.0 if name in ("R", "G", "B") else 0.0 for name in self.channels)

    def of_kind(self, kind: str) -> tuple[Element, ...]:
        """Its elements of one kind."""
        return tuple(one for one in self.elements if one.kind == kind)


def in_device_values(pixels: Floats | Codes) -> Floats:
    """Pixels of a picture as device values 0 to 1.

    Parameters
    ----------
    pixels : device values, or codes of 8 or 16 bits

    Returns
    -------
    the same array if it holds device values; codes over their full scale otherwise

    Checked against
    ---------------
    A picture as device values, as 8 bits and as 16 bits is drawn alike.
    """
    full = {"uint8": 255.0, "uint16": 65535.0}.get(pixels.dtype.name)
    return np.asarray(pixels, dtype=np.float64) if full is None else np.asarray(pixels / full)


def check_page(page: Page) -> None:
    """Refuse a page that would not be printed as it is described.

    Its elements lie on it and beside each other, paints stay within their element, and device values are
    0 to 1, one for each channel; a value beyond would wrap round to the other end of the scale.

    Parameters
    ----------
    page : Page

    Returns
    -------
    None: it is a page that can be drawn

    Raises
    ------
    BadSetting
        with the names of the elements.

    Checked against
    ---------------
    Pages with one planted fault each.
    """
    for element in page.elements:
        if not page.box.holds(element.box):
            raise BadSetting(
                f"{element.kind} {element.name} reaches beyond the page "
                f"({page.width_mm:g} x {page.height_mm:g} mm).",
                todo="Make the page larger or leave it out.",
            )
        for paint in element.paints:
            _check_paint(paint, element, page)
    placed = sorted(page.elements, key=lambda one: one.box.top_mm)
    for number, element in enumerate(placed):
        for other in placed[number + 1 :]:
            if other.box.top_mm >= element.box.bottom_mm:
                break
            if other.box.left_mm < element.box.right_mm and element.box.left_mm < other.box.right_mm:
                raise BadSetting(
                    f"{element.kind} {element.name} and {other.kind} {other.name} lie over each other.",
                    todo="Move one of them.",
                )


def _check_paint(paint: Paint, element: Element, page: Page) -> None:
    if not element.box.inset(-_HAIR_MM).holds(extent(paint)):
        raise BadSetting(
            f"{element.kind} {element.name} is painted beyond its own place.",
            todo="Give it a larger place, so that nothing else is put there.",
        )
    colours = colours_of(paint)
    if any(len(colour) != len(page.channels) for colour in colours):
        raise BadSetting(
            f"{element.kind} {element.name} has not one device value for each of {', '.join(page.channels)}.",
            todo="Give it colours in the channels of the page.",
        )
    if not all(0.0 <= value <= 1.0 for colour in colours for value in colour):
        raise BadSetting(
            f"{element.kind} {element.name} has a device value below 0 or above 1.",
            todo="Device values go from 0 to 1.",
        )


def extent(paint: Paint) -> Box:
    """The box that a paint fills.

    Parameters
    ----------
    paint : any paint

    Returns
    -------
    Box; for a shape the smallest that holds its outlines

    Checked against
    ---------------
    Paints planted outside their element.
    """
    if not isinstance(paint, Shape):
        return paint.box
    every = np.concatenate(paint.contours)
    (left, top), (right, bottom) = every.min(axis=0), every.max(axis=0)
    return Box(float(left), float(top), float(right), float(bottom))


def colours_of(paint: Paint) -> tuple[Colour, ...]:
    """The outermost colours of a paint: what lies between them is between them channel by channel.

    Parameters
    ----------
    paint : any paint

    Returns
    -------
    tuple of Colour

    Checked against
    ---------------
    Pages with a value planted beyond the scale in each kind of paint.
    """
    match paint:
        case Block() | Shape():
            return (paint.colour,)
        case Ramp():
            return paint.start, paint.end
        case Wave():
            return paint.dark, paint.light
        case Picture():
            channels = paint.pixels.reshape(-1, paint.pixels.shape[-1])
            return tuple(channels.min(axis=0) / paint.full), tuple(channels.max(axis=0) / paint.full)
