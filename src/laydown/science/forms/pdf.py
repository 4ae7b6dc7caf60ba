"""Writes pages as PDF in device colours, at their printed size, with patches as exact rectangles."""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, TooLarge
from laydown.science.forms.drawing import Grid, draw_field, full_scale, size_in_pixels
from laydown.science.forms.field_colours import Field
from laydown.science.forms.page import MM_PER_INCH, Block, Box, Colour, Page, Shape

if TYPE_CHECKING:
    from pikepdf import Pdf

POINTS_PER_INCH = 72.0
LARGEST_SIDE_PT = Constant(
    14_400.0, "pt", "ISO 32000-1, annex C: of a page whose unit is 1/72 in", "from memory"
)
MOST_PACKED_BYTES = 300_000_000  # ramps, waves and pictures are held packed until the file is written
_EFFORT = 4
_INSET = 0.01  # pixels; a renderer stretches an image over each pixel that it as much as touches
_COLOUR_SPACES = {("R", "G", "B"): ("/DeviceRGB", "rg"), ("C", "M", "Y", "K"): ("/DeviceCMYK", "k")}


def write_pdf(
    pages: Sequence[Page],
    into: BinaryIO,
    *,
    ppi: float,
    bits: int = 8,
    trim: Box | None = None,
    bleed_mm: float = 0.0,
    title: str = "",
    words: str = "",
) -> None:
    """Write pages as one PDF file whose colours are device values and nothing else.

    Every colour stands in DeviceRGB or DeviceCMYK, without a profile and without an output intent, so that
    the file itself asks nobody to convert it. A viewer or a printer's software may still be set to assume a
    profile: that must be switched off there. Where it cannot be, print the TIFF. A page with more inks than
    CMYK cannot be written here.

    Parameters
    ----------
    pages : one or more, each RGB or CMYK
    into : a file opened for writing bytes
    ppi : pixels per inch of the printer: borders of patches lie between its pixels, as in the TIFF
    bits : 8 or 16 for each device value; values are the same as in a TIFF of as many bits
    trim : where the page is to be cut, in mm of the page; the whole page if None
    bleed_mm : how far beyond the cut the page is meant to be printed, as far as it goes
    title : what the file is called inside; the name of the first page if empty
    words : what the subject entry says

    Returns
    -------
    None: the file is written

    Raises
    ------
    BadSetting
        if there is no page, a page has other channels, or the cut lies outside it.
    TooLarge
        if ramps, waves and pictures take more than 300 MB packed.

    Notes
    -----
    A page with a side of more than 14 400 points states a larger unit (UserUnit), as the standard asks;
    readers that ignore it show the page smaller. Outlines (edges, marks, text) are vector paths: many
    printers' programs fill each pixel that an outline touches, so that they come out up to a pixel larger
    than in the TIFF, which is drawn with exact shares.

    References
    ----------
    ISO 32000-1 (PDF 1.7); ISO 15930 for the boxes (from memory). The file claims no conformity to ISO 15930,
    which asks for an output intent.

    Checked against
    ---------------
    Poppler's rendering pixel by pixel against the same page as TIFF; its page boxes and sizes.
    """
    import pikepdf

    if not pages:
        raise BadSetting("there is no page to write.", todo="Hand over one page at least.")
    for page in pages:
        _check(page, trim)
    with pikepdf.new() as pdf:
        packed = 0
        for page in pages:
            drawn = _drawn(page, ppi=ppi, bits=bits, room=MOST_PACKED_BYTES - packed)
            packed += drawn.packed
            _add(pdf, page, drawn, page_boxes(page, ppi=ppi, trim=trim, bleed_mm=bleed_mm), ppi=ppi)
        pdf.docinfo["/Title"] = title or pages[0].name
        pdf.docinfo["/Producer"] = "Laydown"
        pdf.docinfo["/Trapped"] = pikepdf.Name("/False")
        if words:
            pdf.docinfo["/Subject"] = words
        # Print dialogues that heed it leave the size alone.
        pdf.Root.ViewerPreferences = pikepdf.Dictionary(PrintScaling=pikepdf.Name("/None"))
        pdf.save(into, min_version="1.6", deterministic_id=True)


@dataclass(frozen=True, slots=True)
class PageBoxes:
    """The boxes of a page as a PDF states them: left, bottom, right, top, in units of ``unit`` / 72 in."""

    unit: int
    media: tuple[float, float, float, float]
    bleed: tuple[float, float, float, float]
    trim: tuple[float, float, float, float]


def page_boxes(page: Page, *, ppi: float, trim: Box | None = None, bleed_mm: float = 0.0) -> PageBoxes:
    """The boxes of a page, and the unit they are in.

    Parameters
    ----------
    page : Page
    ppi : pixels per inch; the page ends between two of them, as in the TIFF
    trim : where the page is to be cut, in mm; the whole page if None
    bleed_mm : how far beyond the cut the page is meant to be printed

    Returns
    -------
    PageBoxes

    Checked against
    ---------------
    What poppler reads from the file, and the sizes in mm.
    """
    rows, columns = size_in_pixels(page, ppi=ppi)
    points = POINTS_PER_INCH / ppi
    unit = max(1, math.ceil(max(rows, columns) * points / LARGEST_SIDE_PT.value))
    cut = trim or page.box
    whole = (0.0, 0.0, columns * points / unit, rows * points / unit)

    def box(of: Box) -> tuple[float, float, float, float]:
        scale = POINTS_PER_INCH / MM_PER_INCH / unit
        sides = (of.left_mm, page.height_mm - of.bottom_mm, of.right_mm, page.height_mm - of.top_mm)
        left, bottom, right, top = (one * scale for one in sides)
        return max(left, 0.0), max(bottom, 0.0), min(right, whole[2]), min(top, whole[3])

    if trim is None:
        return PageBoxes(unit, whole, whole, whole)
    return PageBoxes(unit, whole, box(cut.inset(-bleed_mm)), box(cut))


def _check(page: Page, trim: Box | None) -> None:
    if page.channels not in _COLOUR_SPACES:
        raise BadSetting(
            f"the page {page.name} has the channels {', '.join(page.channels)}; a PDF of device values holds "
            "RGB or CMYK alone.",
            todo="Write this page as TIFF.",
        )
    if trim is not None and not page.box.holds(trim):
        raise BadSetting(
            f"the cut of the page {page.name} lies beyond its edge.", todo="Make the page larger or cut less."
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Pixels:
    """Pixels packed, and what the file says of them."""

    content: bytes
    columns: int
    rows: int
    bits: int


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """A page as operators, in pixels from its top left corner, and the pixels that they name."""

    content: bytes
    pictures: Mapping[str, _Pixels]

    @property
    def packed(self) -> int:
        return sum(len(one.content) for one in self.pictures.values())


def _drawn(page: Page, *, ppi: float, bits: int, room: int) -> _Drawn:
    grid, full = Grid(ppi), full_scale(bits)
    _, operator = _COLOUR_SPACES[page.channels]
    lines: list[str] = []
    pictures: dict[str, _Pixels] = {}
    for paint in (paint for element in page.elements for paint in element.paints):
        if isinstance(paint, Shape):
            lines.append(_colour(paint.colour, operator, full))
            lines += [_outline(one * grid.pixels_per_mm) for one in paint.contours]
            lines.append("f")
            continue
        top, bottom, left, right = grid.window(paint.box)
        width, height = right - left, bottom - top
        if width <= 0 or height <= 0:
            continue
        if isinstance(paint, Block):
            lines.append(f"{_colour(paint.colour, operator, full)} {left} {top} {width} {height} re f")
            continue
        name = f"/P{len(pictures)}"
        packed = _packed(paint, ppi=ppi, bits=bits, room=room)
        room -= len(packed)
        pictures[name] = _Pixels(packed, width, height, bits)
        lines.append(f"q {_placed(left, top, width, height)} cm {name} Do Q")
    return _Drawn("\n".join(lines).encode("ascii"), pictures)


def _placed(left: int, top: int, width: int, height: int) -> str:
    """Where an image lies: it fills the unit square with its first row at the top, so it is turned over."""
    across, down = width - 2.0 * _INSET, height - 2.0 * _INSET
    places = (across, 0.0, 0.0, -down, left + _INSET, top + height - _INSET)
    return " ".join(_number(one, 3) for one in places)


def _colour(colour: Colour, operator: str, full: int) -> str:
    """The colour that a TIFF of as many bits would hold."""
    codes = np.round(np.asarray(colour, dtype=np.float64) * full) / full
    return " ".join(_number(float(one), 6) for one in codes) + f" {operator}"


def _outline(points: Floats) -> str:
    places = [f"{_number(float(x), 3)} {_number(float(y), 3)}" for x, y in points]
    return f"{places[0]} m " + " ".join(f"{place} l" for place in places[1:]) + " h"


def _number(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def _packed(paint: Field, *, ppi: float, bits: int, room: int) -> bytes:
    packer = zlib.compressobj(_EFFORT)
    parts: list[bytes] = []
    size = 0
    for band in draw_field(paint, ppi=ppi, bits=bits):
        parts.append(packer.compress(band.astype(band.dtype.newbyteorder(">"), copy=False).tobytes()))
        size += len(parts[-1])
        if size > room:
            raise TooLarge(
                "the pictures of these pages take more than 300 MB as PDF.",
                todo="Write them as TIFF, or write fewer pages at a time.",
            )
    return b"".join((*parts, packer.flush()))


def _add(pdf: Pdf, page: Page, drawn: _Drawn, boxes: PageBoxes, *, ppi: float) -> None:
    from pikepdf import Array, Dictionary, Name, Stream

    space, _ = _COLOUR_SPACES[page.channels]
    named = Dictionary()
    for name, one in drawn.pictures.items():
        named[name] = Stream(
            pdf,
            one.content,
            Type=Name.XObject,
            Subtype=Name.Image,
            Width=one.columns,
            Height=one.rows,
            ColorSpace=Name(space),
            BitsPerComponent=one.bits,
            Filter=Name.FlateDecode,
        )
    scale = POINTS_PER_INCH / ppi / boxes.unit
    turned = f"{_number(scale, 12)} 0 0 {_number(-scale, 12)} 0 {_number(boxes.media[3], 6)} cm\n"
    made = pdf.add_blank_page()
    for name, box in (("/MediaBox", boxes.media), ("/BleedBox", boxes.bleed), ("/TrimBox", boxes.trim)):
        made.obj[name] = Array([Decimal(_number(one, 6)) for one in box])
    if boxes.unit > 1:
        made.obj.UserUnit = boxes.unit
    made.obj.Resources = Dictionary(XObject=named) if drawn.pictures else Dictionary()
    made.obj.Contents = Stream(pdf, turned.encode("ascii") + drawn.content)
