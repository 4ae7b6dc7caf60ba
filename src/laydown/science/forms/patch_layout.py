"""Lays patches out in rows for an instrument, with labels, spacers and pointers, over several pages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import bare, grey
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.lettering import text_width_mm
from laydown.science.forms.page import Block, Box, Colour, Element, Fact, Shape, extent
from laydown.science.forms.patch_arrangement import alike_neighbours, apparent, arrange_patches
from laydown.science.forms.patch_set import PatchSet
from laydown.science.forms.reader import BORDER_CONTRAST, Reader, check_reader

PATCH, SPACER, ROW_LABEL, COLUMN_LABEL, ROW_MARK = "patch", "spacer", "row label", "column label", "row mark"
_BESIDE_LABEL_MM = 1.0
_MARK_MM = 3.0
_BETWEEN_GRIDS_MM = 6.0
_WIDEST_LABEL = "MM"


@dataclass(frozen=True, slots=True)
class Fit:
    """What fits in an area: ``grids`` side by side of ``rows`` by ``columns``."""

    grids: int
    rows: int
    columns: int

    @property
    def patches(self) -> int:
        """Patches on one page."""
        return self.grids * self.rows * self.columns


@dataclass(frozen=True, slots=True)
class Place:
    """Where one patch is printed: ``name`` such as B7; page, row and column from 0, rows running on."""

    name: str
    page: int
    row: int
    column: int
    box: Box


@dataclass(frozen=True, slots=True, eq=False)
class PatchLayout:
    """A set of patches on its pages.

    ``places`` (n) are in reading order: page by page, grid by grid, row by row. ``order`` (n,) is the patch
    of the set in each place. ``pages`` hold the elements to be drawn. ``alike`` counts neighbours, and ends
    of rows beside bare paper, that a reader without spacers may not tell apart.
    """

    patches: PatchSet
    fit: Fit
    places: tuple[Place, ...]
    order: Ints
    pages: tuple[tuple[Element, ...], ...]
    alike: int

    @property
    def device(self) -> Floats:
        """Device values (n, k) in reading order."""
        return np.asarray(self.patches.device[self.order])

    @property
    def positions(self) -> Ints:
        """Row and column (n, 2) of each place, from 0."""
        return np.array([(place.row, place.column) for place in self.places], dtype=np.int64).reshape(-1, 2)


def fit_patches(area: Box, reader: Reader) -> Fit:
    """How many patches an area holds.

    Parameters
    ----------
    area : Box on a page
    reader : Reader

    Returns
    -------
    Fit

    Raises
    ------
    BadSetting
        if not even one row of two patches fits.

    Checked against
    ---------------
    Areas measured out by hand.
    """
    check_reader(reader)
    step = reader.patch_width_mm + reader.gap_mm
    leads = reader.lead_in_mm + reader.lead_out_mm
    room = area.width_mm - _before_row_mm(reader)
    if reader.longest_row_mm is not None:
        room = min(room, reader.longest_row_mm)
    tiny = 1e-9  # ten patches of 10 mm fit in 100 mm whatever the rounding
    columns = int(np.floor((room - leads + reader.gap_mm) / step + tiny))
    high = area.height_mm - _header_mm(reader) - reader.patch_height_mm
    rows = int(np.floor(high / reader.pitch_mm + tiny)) + 1 if high >= -tiny else 0
    if columns < 2 or rows < 1:
        raise BadSetting(
            f"no row of patches fits in {area.width_mm:g} x {area.height_mm:g} mm.",
            todo="Give a larger area, smaller patches or shorter leads.",
        )
    width = _before_row_mm(reader) + leads + columns * step - reader.gap_mm
    grids = int(np.floor((area.width_mm + _BETWEEN_GRIDS_MM) / (width + _BETWEEN_GRIDS_MM) + tiny))
    return Fit(max(grids, 1), rows, columns)


def lay_out_patches(patches: PatchSet, area: Box, reader: Reader, *, rng: np.random.Generator) -> PatchLayout:
    """Lay a set of patches out in one area, the same on each of as many pages as it takes.

    Parameters
    ----------
    patches : PatchSet
    area : Box on a page
    reader : Reader
    rng : numpy Generator; keep its seed with the form, or its geometry file

    Returns
    -------
    PatchLayout; the facts of each patch hold ``patch`` (its name in the set), ``device``, ``row`` and
    ``column`` from 1, and ``role``

    Raises
    ------
    BadSetting
        if there are no patches, or no row of them fits.

    Notes
    -----
    Rows are lettered A, B ... Z, AA on through grids and pages: a place has one name on the whole form.

    Checked against
    ---------------
    Drawn pages: every patch shows its device value in every pixel; nothing lies over anything else.
    """
    if not len(patches):
        raise BadSetting("there are no patches to lay out.", todo="Choose some first.")
    fit = fit_patches(area, reader)
    places = tuple(_places(len(patches), fit, area, reader))
    where = np.array([(place.page, *place.box.middle_mm) for place in places])
    pairs = [(at, at + 1) for at in range(len(places) - 1) if places[at].row == places[at + 1].row]
    neighbours = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    least = reader.least_contrast
    if reader.kind == "strip" and reader.spacer == "none":
        least = least or BORDER_CONTRAST.value
    ends = np.setxor1d(neighbours[:, 0], neighbours[:, 1]) if len(neighbours) else np.arange(len(places))
    order = arrange_patches(patches, where, neighbours=neighbours, ends=ends, rng=rng, least_contrast=least)
    alike = int(alike_neighbours(patches, order, neighbours, least_contrast=least).sum())
    alike += int(np.count_nonzero((1.0 - apparent(patches)[order[ends]]).max(axis=1) < least))
    pages = tuple(
        tuple(_elements(page, patches, places, order, reader)) for page in range(places[-1].page + 1)
    )
    return PatchLayout(patches, fit, places, order, pages, alike)


def row_letters(row: int) -> str:
    """Letters of a row counted from 0: A to Z, then AA, AB and on.

    Parameters
    ----------
    row : 0 or more

    Returns
    -------
    str

    Checked against
    ---------------
    A, Z, AA, AZ, BA.
    """
    letters, rest = "", row + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def _before_row_mm(reader: Reader) -> float:
    """Label and pointer, left of the lead-in."""
    label = text_width_mm(_WIDEST_LABEL, size_pt=reader.label_pt) + _BESIDE_LABEL_MM
    return label + (_MARK_MM if reader.row_marks else 0.0)


def _header_mm(reader: Reader) -> float:
    """The line of column numbers."""
    return line_height_mm(reader.label_pt)


def _places(count: int, fit: Fit, area: Box, reader: Reader) -> Iterator[Place]:
    step = reader.patch_width_mm + reader.gap_mm
    before = _before_row_mm(reader) + reader.lead_in_mm
    wide = before + fit.columns * step - reader.gap_mm + reader.lead_out_mm
    top = area.top_mm + _header_mm(reader)
    for number in range(count):
        row, column = divmod(number, fit.columns)
        page, on_page = divmod(row, fit.rows * fit.grids)
        grid, line = divmod(on_page, fit.rows)
        left = area.left_mm + grid * (wide + _BETWEEN_GRIDS_MM) + before
        # Edges that two patches share are one number, or rounding would lay them over each other.
        right = left + (column + 1) * step - (reader.gap_mm if reader.gap_mm else 0.0)
        low = top + line * reader.pitch_mm + reader.patch_height_mm
        if reader.pitch_mm == reader.patch_height_mm:
            low = top + (line + 1) * reader.pitch_mm
        box = Box(left + column * step, top + line * reader.pitch_mm, right, low)
        yield Place(f"{row_letters(row)}{column + 1}", page, row, column, box)


def _elements(
    page: int, patches: PatchSet, places: tuple[Place, ...], order: Ints, reader: Reader
) -> Iterator[Element]:
    dark = grey(0.0, patches.channels)
    ids, device, light = patches.ids, patches.device, apparent(patches)
    first_row = next(place.row for place in places if place.page == page)
    tops: set[float] = set()
    for number, place in enumerate(places):
        if place.page != page:
            continue
        row = int(order[number])
        colour = tuple(device[row].tolist())
        facts: dict[str, Fact] = {
            "patch": ids[row],
            "role": patches.roles[row],
            "device": colour,
            "row": place.row - first_row + 1,
            "column": place.column + 1,
        }
        yield Element(PATCH, place.name, place.box, (Block(place.box, colour),), facts)
        if place.column == 0:
            yield from _row_start(place, reader, patches.channels)
        following = places[number + 1] if number + 1 < len(places) else None
        ends = following is None or following.row != place.row
        if reader.spacer != "none" and following is not None and not ends:
            paint = _spacer_colour(light[row], light[int(order[number + 1])], patches.channels, reader)
            yield _spacer(place, paint, place.box.right_mm, following.box.left_mm, "after")
        pale = float((1.0 - light[row]).max()) < BORDER_CONTRAST.value
        if reader.spacer in ("black", "contrast") and pale:
            # Beside bare paper a pale patch has no border of its own.
            if place.column == 0:
                left = place.box.left_mm
                yield _spacer(place, dark, left - reader.gap_mm, left, "before")
            if ends:
                right = place.box.right_mm
                yield _spacer(place, dark, right, right + reader.gap_mm, "after")
        tops.add(place.box.top_mm)
        if place.box.top_mm == min(tops):
            yield from _column_number(place, reader, patches.channels)


def _spacer(place: Place, colour: Colour, left_mm: float, right_mm: float, side: str) -> Element:
    """What fills the gap beside a patch."""
    box = Box(left_mm, place.box.top_mm, right_mm, place.box.bottom_mm)
    return Element(SPACER, f"{side} {place.name}", box, (Block(box, colour),))


def _row_start(place: Place, reader: Reader, channels: tuple[str, ...]) -> Iterator[Element]:
    """The row's letters, and the pointer to where it begins."""
    text = place.name.rstrip("0123456789")
    middle, size = place.box.middle_mm[1], reader.label_pt
    left = place.box.left_mm - reader.lead_in_mm - _before_row_mm(reader)
    right = left + text_width_mm(_WIDEST_LABEL, size_pt=size)
    top = middle - line_height_mm(size) / 2.0
    yield _text(
        ROW_LABEL, text, label(text, left_mm=right, top_mm=top, channels=channels, size_pt=size, align=1.0)
    )
    if reader.row_marks:
        tip = place.box.left_mm - reader.lead_in_mm
        half = min(_MARK_MM - _BESIDE_LABEL_MM, place.box.height_mm) / 2.0
        points = np.array(
            [(tip - 2.0 * half, middle - half), (tip, middle), (tip - 2.0 * half, middle + half)]
        )
        yield _text(ROW_MARK, text, Shape((points,), grey(0.0, channels)))


def _column_number(place: Place, reader: Reader, channels: tuple[str, ...]) -> Iterator[Element]:
    """The number over a column; where there is no room for each, over every fifth."""
    text, size = str(place.column + 1), reader.label_pt
    if text_width_mm("88", size_pt=size) > place.box.width_mm and place.column and (place.column + 1) % 5:
        return
    top = place.box.top_mm - _header_mm(reader)
    shape = label(
        text, left_mm=place.box.middle_mm[0], top_mm=top, channels=channels, size_pt=size, align=0.5
    )
    yield _text(COLUMN_LABEL, f"{text} over {place.name}", shape)


def _text(kind: str, name: str, shape: Shape) -> Element:
    """An outline as an element; its place is what it covers."""
    return Element(kind, name, extent(shape), (shape,))


def _spacer_colour(one: Floats, other: Floats, channels: tuple[str, ...], reader: Reader) -> Colour:
    if reader.spacer == "white":
        return bare(channels)
    if reader.spacer == "black":
        return grey(0.0, channels)
    both = np.stack([one, other])
    from_bare, from_dark = (1.0 - both).max(axis=1).min(), both.max(axis=1).min()
    return bare(channels) if from_bare >= from_dark else grey(0.0, channels)
