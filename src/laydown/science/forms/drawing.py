"""Draws a page at the printer's own resolution, band by band, so that no page is too large for memory."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.coverage import Sides
from laydown.science.forms.field_colours import Field, channels_of, colouring_of
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
_AT_ONCE = 200_000  # device values reckoned as floats at a time: what stays in the cache is quicker
_FULL = {8: 255, 16: 65535}
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
    painters = _by_band(page, grid, full, rows=rows, band_rows=band_rows)
    kind = np.uint8 if bits == 8 else np.uint16
    bare = _row(_code(page.bare, full), columns, full)
    for number, first in enumerate(range(0, rows, band_rows)):
        band = np.empty((min(band_rows, rows - first), columns, len(page.channels)), dtype=kind)
        band[:] = bare
        for painter in painters[number]:
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
    colouring, channels = colouring_of(paint), channels_of(paint)
    kind = np.uint8 if bits == 8 else np.uint16
    across = (np.arange(right - left) + 0.5) / max(right - left, 1)
    for first in range(0, bottom - top, band_rows):
        last = min(first + band_rows, bottom - top)
        down = (np.arange(first, last) + 0.5) / (bottom - top)
        shape = (last - first, right - left, channels)
        yield np.broadcast_to(_codes(colouring(down, across), full).astype(kind), shape)


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


def _by_band(page: Page, grid: Grid, full: int, *, rows: int, band_rows: int) -> list[list[Painter]]:
    """What is painted in each band, in the order of the page."""
    painters: list[list[Painter]] = [[] for _ in range(0, rows, band_rows)]
    for paint in (paint for element in page.elements for paint in element.paints):
        top, bottom, painter = _painter(paint, grid, full)
        for number in range(max(top, 0) // band_rows, -(-min(bottom, rows) // band_rows)):
            painters[number].append(painter)
    return painters


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


def _codes(colours: Floats, full: int) -> Floats:
    """Device values 0 to 1 to whole codes; ``colours`` is overwritten."""
    np.clip(colours, 0.0, 1.0, out=colours)
    colours *= full
    return np.asarray(np.rint(colours, out=colours))


def _row(code: Floats, columns: int, full: int) -> Pixels:
    """One row of a colour: rows are copied far faster than pixels."""
    shape = (max(columns, 0), len(code))
    row = np.empty(shape, dtype=np.uint8) if full == _FULL[8] else np.empty(shape, dtype=np.uint16)
    row[:] = code
    return row


def _block(paint: Block, grid: Grid, full: int) -> tuple[int, int, Painter]:
    top, bottom, left, right = grid.window(paint.box)
    code = _code(paint.colour, full)

    def onto(band: Pixels, first: int) -> None:
        inner = max(left, 0), min(right, band.shape[1])
        row = _row(code, inner[1] - inner[0], full)
        band[max(top - first, 0) : bottom - first, inner[0] : max(inner)] = row

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
    code, sides = _code(paint.colour, full), Sides.of(contours)

    def onto(band: Pixels, first: int) -> None:
        whole = max(top, first), min(bottom, first + len(band))
        inner = max(left, 0), min(right, band.shape[1])
        if inner[0] >= inner[1]:
            return
        for begin, end in _few_rows(*whole, wide=(inner[1] - inner[0]) * band.shape[2]):
            share = sides.coverage(columns=inner, rows=(begin, end))[..., None]
            under = band[begin - first : end - first, inner[0] : inner[1]]
            under[:] = np.rint(under * (1.0 - share) + code * share)

    return top, bottom, onto


def _field(paint: Field, grid: Grid, full: int) -> tuple[int, int, Painter]:
    top, bottom, left, right = grid.window(paint.box)
    colouring = colouring_of(paint)

    def onto(band: Pixels, first: int) -> None:
        whole = max(top, first), min(bottom, first + len(band))
        _, columns, channels = band.shape
        inner = max(left, 0), min(right, columns)
        if inner[0] >= inner[1]:
            return
        across = (np.arange(*inner) + 0.5 - left) / max(right - left, 1)
        for begin, end in _few_rows(*whole, wide=len(across) * channels):
            down = (np.arange(begin, end) + 0.5 - top) / max(bottom - top, 1)
            codes = _codes(colouring(down, across), full)
            band[begin - first : end - first, inner[0] : inner[1]] = codes.astype(band.dtype)

    return top, bottom, onto
