"""Draws a page at the printer's own resolution, band by band, so that no page is too large for memory."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.coverage import coverage
from laydown.science.forms.page import (
    MM_PER_INCH,
    Block,
    Box,
    Colour,
    Page,
    Paint,
    Picture,
    Ramp,
    Shape,
    Wave,
)

BAND_ROWS = 64
_AT_ONCE = 2_000_000  # device values reckoned as floats at a time: a 64 in page of six inks stays small
_FULL = {8: 255, 16: 65535}
Field = Ramp | Wave | Picture
Pixels = NDArray[np.uint8] | NDArray[np.uint16]


@dataclass(frozen=True, slots=True)
class Grid:
    """The printer's pixels under a page."""

    ppi: float

    @property
    def pixels_per_mm(self) -> float:
        """How many pixels a mm holds."""
        return self.ppi / MM_PER_INCH

    def pixel(self, mm: float) -> int:
        """The border between pixels that is nearest to a place."""
        return int(np.floor(mm * self.ppi / MM_PER_INCH + 0.5))

    def mm(self, pixel: int) -> float:
        """Where a border between pixels lies."""
        return pixel * MM_PER_INCH / self.ppi

    def window(self, box: Box) -> tuple[int, int, int, int]:
        """The pixels of a box: first row, row after the last, first column, column after the last."""
        rows = self.pixel(box.top_mm), self.pixel(box.bottom_mm)
        return (*rows, self.pixel(box.left_mm), self.pixel(box.right_mm))

    def snapped(self, box: Box) -> Box:
        """The box as it is drawn, its borders on whole pixels."""
        top, bottom, left, right = self.window(box)
        return Box(self.mm(left), self.mm(top), self.mm(right), self.mm(bottom))


def size_in_pixels(page: Page, *, ppi: float) -> tuple[int, int]:
    """Rows and columns of a page.

    Parameters
    ----------
    page : Page
    ppi : pixels per inch

    Returns
    -------
    (rows, columns)

    Checked against
    ---------------
    17 in at 360 ppi are 6120 pixels.
    """
    grid = Grid(ppi)
    return grid.pixel(page.height_mm), grid.pixel(page.width_mm)


def draw_bands(page: Page, *, ppi: float, bits: int = 8, band_rows: int = BAND_ROWS) -> Iterator[Pixels]:
    """The page from top to bottom, a few rows at a time.

    Parameters
    ----------
    page : Page
    ppi : pixels per inch, such as 300, 360, 600 or 720
    bits : 8 or 16 for each device value
    band_rows : how many rows at a time

    Returns
    -------
    iterator over (rows, columns, channels) uint8 or uint16; the last band may have fewer rows. Full scale is
    255 or 65535, as the device values are.

    Raises
    ------
    BadSetting
        if ``bits`` is neither 8 nor 16.

    Checked against
    ---------------
    Every patch of a drawn page holds exactly its device value, pixel by pixel; bands of any height give the
    same page.
    """
    grid, full = Grid(ppi), full_scale(bits)
    rows, columns = size_in_pixels(page, ppi=ppi)
    jobs = [
        (top, bottom, painter)
        for element in page.elements
        for paint in element.paints
        for top, bottom, painter in (_painter(paint, grid, full),)
    ]
    kind = np.uint8 if bits == 8 else np.uint16
    bare = np.array(np.round(np.array(page.bare) * full), dtype=kind)
    for first in range(0, rows, band_rows):
        last = min(first + band_rows, rows)
        band = np.empty((last - first, columns, len(page.channels)), dtype=kind)
        band[:] = bare
        for top, bottom, painter in jobs:
            if top < last and bottom > first:
                painter(band, first)
        yield band


def draw_field(paint: Field, *, ppi: float, bits: int = 8, band_rows: int = BAND_ROWS) -> Iterator[Pixels]:
    """The pixels of one ramp, wave or picture by itself, the same as on its page.

    Parameters
    ----------
    paint : what fills its box with more than one colour
    ppi : pixels per inch
    bits : 8 or 16 for each device value
    band_rows : how many rows at a time

    Returns
    -------
    iterator over (rows, columns, channels) uint8 or uint16, together as many as ``Grid(ppi).window`` says

    Raises
    ------
    BadSetting
        if ``bits`` is neither 8 nor 16.

    Checked against
    ---------------
    The same pixels cut out of the drawn page.
    """
    grid, full = Grid(ppi), full_scale(bits)
    top, bottom, left, right = grid.window(paint.box)
    colouring = _colouring(paint)
    across = (np.arange(right - left) + 0.5) / max(right - left, 1)
    for first in range(0, bottom - top, band_rows):
        last = min(first + band_rows, bottom - top)
        down = (np.arange(first, last) + 0.5) / (bottom - top)
        codes = np.round(np.clip(colouring(down, across), 0.0, 1.0) * full)
        yield codes.astype(np.uint8) if bits == 8 else codes.astype(np.uint16)


def full_scale(bits: int) -> int:
    """The code of full light or full ink.

    Parameters
    ----------
    bits : 8 or 16 for each device value

    Returns
    -------
    255 or 65535

    Raises
    ------
    BadSetting
        if ``bits`` is neither.

    Checked against
    ---------------
    Codes of drawn patches.
    """
    if bits not in _FULL:
        raise BadSetting(f"{bits} bits for each device value cannot be drawn.", todo="Ask for 8 or 16.")
    return _FULL[bits]


Painter = Callable[[Pixels, int], None]


def _painter(paint: Paint, grid: Grid, full: int) -> tuple[int, int, Painter]:
    """First row, row after the last, and what paints the part of it that lies in a band."""
    match paint:
        case Block():
            return _block(paint, grid, full)
        case Shape():
            return _shape(paint, grid, full)
        case Ramp() | Wave() | Picture():
            return _field(paint, grid, full)


def _code(colour: Colour, full: int) -> Floats:
    return np.round(np.asarray(colour, dtype=np.float64) * full)


def _block(paint: Block, grid: Grid, full: int) -> tuple[int, int, Painter]:
    top, bottom, left, right = grid.window(paint.box)
    code = _code(paint.colour, full)

    def onto(band: Pixels, first: int) -> None:
        band[max(top - first, 0) : bottom - first, max(left, 0) : max(right, 0)] = code.astype(band.dtype)

    return top, bottom, onto


def _few_rows(begin: int, end: int, *, wide: int) -> Iterator[tuple[int, int]]:
    """Rows cut so that no piece holds too many device values."""
    step = max(_AT_ONCE // max(wide, 1), 1)
    for first in range(begin, end, step):
        yield first, min(first + step, end)


def _shape(paint: Shape, grid: Grid, full: int) -> tuple[int, int, Painter]:
    contours = [np.asarray(one) * grid.pixels_per_mm for one in paint.contours]
    every = np.concatenate(contours)
    left, top = (int(np.floor(value)) for value in every.min(axis=0))
    right, bottom = (int(np.ceil(value)) for value in every.max(axis=0))
    code = _code(paint.colour, full)

    def onto(band: Pixels, first: int) -> None:
        whole = max(top, first), min(bottom, first + len(band))
        _, columns, channels = band.shape
        inner = max(left, 0), min(right, columns)
        if inner[0] >= inner[1]:
            return
        for begin, end in _few_rows(*whole, wide=(inner[1] - inner[0]) * channels):
            share = coverage(contours, columns=inner, rows=(begin, end))[..., None]
            under = band[begin - first : end - first, inner[0] : inner[1]]
            under[:] = np.round(under * (1.0 - share) + code * share).astype(band.dtype)

    return top, bottom, onto


#: Rows and columns (as fractions of the box, at pixel centres) in, colours out.
Colouring = Callable[[Floats, Floats], Floats]


def _field(paint: Field, grid: Grid, full: int) -> tuple[int, int, Painter]:
    top, bottom, left, right = grid.window(paint.box)
    colouring = _colouring(paint)

    def onto(band: Pixels, first: int) -> None:
        whole = max(top, first), min(bottom, first + len(band))
        _, columns, channels = band.shape
        inner = max(left, 0), min(right, columns)
        if inner[0] >= inner[1]:
            return
        across = (np.arange(*inner) + 0.5 - left) / max(right - left, 1)
        for begin, end in _few_rows(*whole, wide=len(across) * channels):
            down = (np.arange(begin, end) + 0.5 - top) / max(bottom - top, 1)
            colours = np.round(np.clip(colouring(down, across), 0.0, 1.0) * full)
            band[begin - first : end - first, inner[0] : inner[1]] = colours.astype(band.dtype)

    return top, bottom, onto


def _colouring(paint: Field) -> Colouring:
    match paint:
        case Ramp():
            return _ramp(paint)
        case Wave():
            return _wave(paint)
        case Picture():
            return _picture(paint)


def _ramp(paint: Ramp) -> Colouring:
    start, end = np.asarray(paint.start), np.asarray(paint.end)

    def at(down: Floats, across: Floats) -> Floats:
        way = across if paint.along == "across" else down
        if paint.steps is not None:
            way = np.floor(way * paint.steps) / max(paint.steps - 1, 1)
        colours = start + way[:, None] * (end - start)
        shape = (len(down), len(across), len(start))
        return np.broadcast_to(colours[None] if paint.along == "across" else colours[:, None], shape)

    return at


def _wave(paint: Wave) -> Colouring:
    dark, light = np.asarray(paint.dark), np.asarray(paint.light)
    length = paint.box.width_mm if paint.along == "across" else paint.box.height_mm
    growth = np.log(paint.fine / paint.coarse)

    def at(down: Floats, across: Floats) -> Floats:
        way, aside = (across, down) if paint.along == "across" else (down, across)
        # The phase is the integral of the frequency, so that there is no jump between one and the next.
        cycles = paint.coarse * length * (np.exp(growth * way) - 1.0) / growth
        sine = np.sin(2.0 * np.pi * cycles)
        contrast = paint.faintest**aside
        both = sine[None] * contrast[:, None] if paint.along == "across" else contrast[None] * sine[:, None]
        return np.asarray((dark + light) / 2.0 + both[..., None] * (light - dark) / 2.0)

    return at


def _picture(paint: Picture) -> Colouring:
    height, width = paint.pixels.shape[:2]

    def at(down: Floats, across: Floats) -> Floats:
        # Between the four nearest pixels, each counted by how near it is.
        y, x = np.clip(down * height - 0.5, 0, height - 1), np.clip(across * width - 0.5, 0, width - 1)
        y0, x0 = np.minimum(y.astype(int), max(height - 2, 0)), np.minimum(x.astype(int), max(width - 2, 0))
        y1, x1 = np.minimum(y0 + 1, height - 1), np.minimum(x0 + 1, width - 1)
        fy, fx = (y - y0)[:, None, None], (x - x0)[None, :, None]
        upper = paint.pixels[y0][:, x0] * (1 - fx) + paint.pixels[y0][:, x1] * fx
        lower = paint.pixels[y1][:, x0] * (1 - fx) + paint.pixels[y1][:, x1] * fx
        return np.asarray((upper * (1 - fy) + lower * fy) / paint.full)

    return at
