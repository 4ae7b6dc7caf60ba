"""Stickers for nested pieces: form, page and sheet as a code and in words, and a blind code for the back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from io import BytesIO

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.report.label_sheets import LabelSheet
from laydown.science.forms.blind_label import blind_label
from laydown.science.forms.identity import LEAST_CELL_MM, code_cells, code_element
from laydown.science.forms.labels import label, line_height_mm, wrapped
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Block, Box, Element, Page, Paint, Shape
from laydown.science.forms.pdf import write_pdf

CHANNELS = ("R", "G", "B")
_PPI = 600.0  # of an office printer; edges of the PDF are exact all the same
_BORDER_MM = 2.5  # bare at the edges of a label, which no printer hits exactly
_LARGEST_CELL_MM = 0.9
_CODE_SHARE = 0.4  # of the width of a label, at most, for the code
_QUIET_CELLS = 4  # two on either side
_HAIR_MM = 0.15
_TALL_PT = (26.0, 22.0, 18.0, 15.0, 12.0, 10.0, 8.0)
_WORDS_PT = 8.0
_LINES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Sticker:
    """What stands on one sticker; nothing of it may name the medium.

    ``code`` is what the Data Matrix holds, ``name`` is large (the sheet), ``lines`` are small below it. With
    ``blind`` a second sticker follows for the back, with that code alone.
    """

    code: str
    name: str
    lines: tuple[str, ...] = ()
    blind: str = ""


def stickers_pdf(
    stickers: Sequence[Sticker], *, sheet: LabelSheet, skip: int = 0, title: str = "", blind: bool = True
) -> bytes:
    """Stickers on label sheets, as PDF to be printed at 100 %.

    Parameters
    ----------
    stickers
        In the order in which they are stuck on.
    sheet
        The labels they are printed on.
    skip
        How many labels of the first sheet are gone already.
    title
        What the file is called inside.
    blind
        Whether the stickers for the backs come with them, each behind its own.

    Returns
    -------
    bytes
        Black only. The same input gives the same bytes.

    Raises
    ------
    BadSetting
        There are no stickers, or the first sheet has no label left.
    """
    made = BytesIO()
    pages = sticker_pages(stickers, sheet=sheet, skip=skip, blind=blind)
    write_pdf(pages, made, ppi=_PPI, title=title or "Stickers", words="Print at 100 %.")
    return made.getvalue()


def sticker_pages(
    stickers: Sequence[Sticker], *, sheet: LabelSheet, skip: int = 0, blind: bool = True
) -> tuple[Page, ...]:
    """The same as pages in mm; every label is an element of kind "sticker" or "blind code"."""
    if not stickers:
        raise BadSetting("there is nothing to put a sticker on.", todo="Lay something out first.")
    if not 0 <= skip < sheet.labels:
        raise BadSetting(
            f"{skip} labels of the first sheet cannot be gone.", todo=f"Give 0 to {sheet.labels - 1}."
        )
    placed: dict[int, list[Element]] = {}
    for place, (sticker, is_blind) in enumerate(_each(stickers, blind=blind), start=skip):
        number, at = divmod(place, sheet.labels)
        box = sheet.box(at)
        one = _blind(sticker.blind, box) if is_blind else _sticker(sticker, box)
        if not sheet.is_cut:
            one = replace(one, paints=(*_edges(box), *one.paints))
        placed.setdefault(number, []).append(one)
    wide, high = sheet.size_mm
    return tuple(
        Page(f"stickers {number + 1}", wide, high, CHANNELS, tuple(placed[number]))
        for number in sorted(placed)
    )


def _each(stickers: Sequence[Sticker], *, blind: bool) -> Iterator[tuple[Sticker, bool]]:
    for one in stickers:
        yield one, False
        if blind and one.blind:
            yield one, True


def _sticker(one: Sticker, box: Box) -> Element:
    """The code on the left, in the middle of the height; words beside it."""
    inner = box.inset(_BORDER_MM)
    cells = len(code_cells(one.code)) + _QUIET_CELLS
    cell = min(inner.height_mm / cells, _CODE_SHARE * inner.width_mm / cells, _LARGEST_CELL_MM)
    if cell < LEAST_CELL_MM:
        raise BadSetting(
            f"a label of {box.width_mm:g} x {box.height_mm:g} mm is too small for its code.",
            todo="Choose larger labels.",
        )
    side = cells * cell
    code = code_element(
        one.code,
        left_mm=inner.left_mm,
        top_mm=(inner.top_mm + inner.bottom_mm - side) / 2.0,
        channels=CHANNELS,
        cell_mm=cell,
    )
    words = Box(inner.left_mm + side + 1.0, inner.top_mm, inner.right_mm, inner.bottom_mm)
    return Element("sticker", one.code, box, (*code.paints, *_words(one, words)), {"text": one.code})


def _words(one: Sticker, box: Box) -> Iterator[Shape]:
    size = next(
        (each for each in _TALL_PT if text_width_mm(one.name, size_pt=each) <= box.width_mm), _TALL_PT[-1]
    )
    small = [line for told in one.lines for line in wrapped(told, width_mm=box.width_mm, size_pt=_WORDS_PT)]
    room = int((box.height_mm - line_height_mm(size)) // line_height_mm(_WORDS_PT))
    small = small[: max(room, 0)]
    high = line_height_mm(size) + len(small) * line_height_mm(_WORDS_PT)
    top = (box.top_mm + box.bottom_mm - high) / 2.0
    yield label(one.name, left_mm=box.left_mm, top_mm=top, channels=CHANNELS, size_pt=size, light=0.0)
    top += line_height_mm(size)
    for line in small:
        yield label(line, left_mm=box.left_mm, top_mm=top, channels=CHANNELS, size_pt=_WORDS_PT, light=0.0)
        top += line_height_mm(_WORDS_PT)


def _blind(code: str, box: Box) -> Element:
    drawn = blind_label(code, channels=CHANNELS, width_mm=box.width_mm, height_mm=box.height_mm)
    (one,) = drawn.elements
    paints = tuple(_moved(paint, box.left_mm, box.top_mm) for paint in one.paints)
    return replace(one, box=box, paints=paints)


def _moved(paint: Paint, across_mm: float, down_mm: float) -> Paint:
    if isinstance(paint, Shape):
        return replace(paint, contours=tuple(one + np.array((across_mm, down_mm)) for one in paint.contours))
    return replace(paint, box=paint.box.moved(across_mm, down_mm))


def _edges(box: Box) -> Iterator[Block]:
    """Thin lines to cut along, just inside the label."""
    grey = (0.6,) * len(CHANNELS)
    thin = _HAIR_MM
    for line in (
        Box(box.left_mm, box.top_mm, box.right_mm, box.top_mm + thin),
        Box(box.left_mm, box.bottom_mm - thin, box.right_mm, box.bottom_mm),
        Box(box.left_mm, box.top_mm + thin, box.left_mm + thin, box.bottom_mm - thin),
        Box(box.right_mm - thin, box.top_mm + thin, box.right_mm, box.bottom_mm - thin),
    ):
        yield Block(line, grey)
