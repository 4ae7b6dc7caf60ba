"""Which form, page and sheet a print is: as a code, as words, and which way up it was printed."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm, wrapped
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Box, Element, Shape

LEAST_CELL_MM = 0.4  # two pixels and a half of a scan at 150 ppi: the code can just be read from it
_QUIET_CELLS = 2
_PART = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,15}\Z")
INSTRUCTIONS = {
    "device": "Device page: print without colour management, at 100 %.",
    "picture": "Picture page: print through the profile of this medium, at 100 %.",
}


@dataclass(frozen=True, slots=True)
class Identity:
    """What a print is of: the form, its page, and the number of the sheet."""

    form: str
    page: str
    sheet: str

    @property
    def text(self) -> str:
        """As the code holds it."""
        return f"{self.form}/{self.page}/{self.sheet}"


@dataclass(frozen=True, slots=True, eq=False)
class FoundCode:
    """A code in a picture: its text and its four corners (4, 2) in pixels, clockwise from its top left."""

    text: str
    corners: Floats


def identity_of(text: str) -> Identity:
    """What a code says.

    Parameters
    ----------
    text : as read from a code, such as "F7K2/D1/003"

    Returns
    -------
    Identity

    Raises
    ------
    BadSetting
        if it is not a code of a form.

    Checked against
    ---------------
    Texts of identities, and texts of other codes.
    """
    parts = text.split("/")
    if len(parts) != 3 or not all(_PART.match(part) for part in parts):
        raise BadSetting(
            f'"{text}" does not name a form, a page and a sheet.',
            todo="Use capital letters, digits, dots and hyphens, up to 16 of them for each.",
        )
    return Identity(*parts)


def code_cells(text: str) -> Bools:
    """The cells of a square Data Matrix symbol.

    Parameters
    ----------
    text : ASCII

    Returns
    -------
    array (cells, cells), True where it is dark

    Raises
    ------
    BadSetting
        if the text is not plain ASCII, or too long to be found again on a print.

    References
    ----------
    ISO/IEC 16022, whose error correction lets a quarter of the symbol be lost.

    Checked against
    ---------------
    The library's own reader, on drawn pages.
    """
    if not text.isascii() or not text.isprintable() or not 1 <= len(text) <= 60:
        raise BadSetting("a code holds 1 to 60 plain letters, digits and marks.", todo="Shorten the name.")
    from zxingcpp import BarcodeFormat, create_barcode

    made = create_barcode(text, BarcodeFormat.DataMatrix, force_square=True)
    return np.asarray(np.array(made.to_image(scale=1, add_quiet_zones=False)) < 128)


def code_element(
    text: str, *, left_mm: float, top_mm: float, channels: tuple[str, ...], cell_mm: float = 0.8
) -> Element:
    """A code with its bare margin.

    Parameters
    ----------
    text : what it says
    left_mm, top_mm : corner of the element, margin included
    channels : names of the device values of the page
    cell_mm : width of a cell; 0.8 mm can be read by a telephone held over a canvas

    Returns
    -------
    Element of kind "code"; facts: ``text``, ``code_mm`` (box of the cells), ``cell_mm``, ``cells`` a side

    Raises
    ------
    BadSetting
        if cells are too small, or the text too long.

    Checked against
    ---------------
    Read back from drawn pages with the library's reader.
    """
    if cell_mm < LEAST_CELL_MM:
        raise BadSetting(
            f"cells of {cell_mm:g} mm cannot be read from a scan.", todo=f"Use {LEAST_CELL_MM} mm or more."
        )
    cells = code_cells(text)
    quiet = _QUIET_CELLS * cell_mm
    side = len(cells) * cell_mm
    contours = []
    for row, line in enumerate(cells):
        edges = np.flatnonzero(np.diff(np.concatenate(([False], line, [False])).astype(np.int8)))
        for first, after in zip(edges[::2], edges[1::2], strict=True):
            run = Box(first * cell_mm, row * cell_mm, after * cell_mm, (row + 1) * cell_mm)
            contours.append(run.moved(left_mm + quiet, top_mm + quiet).corners())
    box = Box(left_mm, top_mm, left_mm + side + 2.0 * quiet, top_mm + side + 2.0 * quiet)
    inner = box.inset(quiet)
    return Element(
        "code",
        text,
        box,
        (Shape(tuple(contours), grey(0.0, channels)),),
        {
            "text": text,
            "code_mm": (inner.left_mm, inner.top_mm, inner.right_mm, inner.bottom_mm),
            "cell_mm": cell_mm,
            "cells": len(cells),
        },
    )


def identity_elements(
    identity: Identity,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    cell_mm: float = 0.8,
    words_mm: float = 45.0,
) -> tuple[Element, Element]:
    """The code, and to the right of it the same in words.

    Parameters
    ----------
    identity : form, page and sheet
    left_mm, top_mm : corner of both
    channels : names of the device values of the page
    cell_mm : width of a cell of the code
    words_mm : width of the words, at least; long names take more

    Returns
    -------
    Element of kind "code" and Element of kind "words" (fact ``text``)

    Raises
    ------
    BadSetting
        if a part holds something that a code of a form does not.

    Checked against
    ---------------
    Read back from drawn pages.
    """
    identity_of(identity.text)
    code = code_element(identity.text, left_mm=left_mm, top_mm=top_mm, channels=channels, cell_mm=cell_mm)
    lines = (f"Form {identity.form}", f"Page {identity.page}", f"Sheet {identity.sheet}")
    high = line_height_mm(9.0)
    first = max(code.box.middle_mm[1] - len(lines) * high / 2.0, top_mm)
    wide = max(words_mm, *(text_width_mm(said, size_pt=9.0) for said in lines))
    bottom = max(code.box.bottom_mm, first + len(lines) * high)
    shapes = tuple(
        label(
            said,
            left_mm=code.box.right_mm,
            top_mm=first + number * high,
            channels=channels,
            size_pt=9.0,
            light=0.0,
        )
        for number, said in enumerate(lines)
    )
    box = Box(code.box.right_mm, top_mm, code.box.right_mm + wide, bottom)
    return code, Element("words", "identity", box, shapes, {"text": identity.text})


def instruction(
    of: str, *, left_mm: float, top_mm: float, channels: tuple[str, ...], width_mm: float = 120.0
) -> Element:
    """How the page is to be printed, in words on the page itself.

    Parameters
    ----------
    of : "device" or "picture"
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    width_mm : how wide the words may be

    Returns
    -------
    Element of kind "words"; fact ``text``

    Raises
    ------
    BadSetting
        if there is no such page.

    Checked against
    ---------------
    The words stay inside the element.
    """
    if of not in INSTRUCTIONS:
        raise BadSetting(f'there is no "{of}" page.', todo=f"Use {' or '.join(INSTRUCTIONS)}.")
    lines = wrapped(INSTRUCTIONS[of], width_mm=width_mm, size_pt=9.0)
    high = line_height_mm(9.0)
    shapes = tuple(
        label(said, left_mm=left_mm, top_mm=top_mm + n * high, channels=channels, size_pt=9.0, light=0.0)
        for n, said in enumerate(lines)
    )
    wide = max(width_mm, *(text_width_mm(said, size_pt=9.0) for said in lines))
    box = Box(left_mm, top_mm, left_mm + wide, top_mm + len(lines) * high)
    return Element("words", f"instruction, {of}", box, shapes, {"text": INSTRUCTIONS[of]})


def find_codes(grey_picture: NDArray[np.uint8]) -> tuple[FoundCode, ...]:
    """Every Data Matrix code in a grey picture.

    Parameters
    ----------
    grey_picture : (rows, columns) uint8

    Returns
    -------
    tuple of FoundCode

    Checked against
    ---------------
    Drawn pages, turned, blurred and noisy.
    """
    from zxingcpp import BarcodeFormat, BarcodeFormats, read_barcodes

    found = read_barcodes(
        np.ascontiguousarray(grey_picture), formats=BarcodeFormats(BarcodeFormat.DataMatrix)
    )
    made = []
    for one in found:
        place = one.position
        four = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
        made.append(
            FoundCode(one.text, np.array([(corner.x, corner.y) for corner in four], dtype=np.float64))
        )
    return tuple(made)
