"""Puts pieces into rows: in their order, or sorted to save length; scraps go into what would be waste."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from laydown.science.forms.nested import Piece, PieceUse, PlacedPiece, Room, Row, SheetMedia
from laydown.science.forms.page import Box

Order = Literal["as given", "to save length"]
SAME_MM = 0.5  # heights that differ by less share a row: no blade follows closer
STAYS_ON = 1.5  # gaps: a bare strip no wider than that along an edge is not worth a cut
_TINY_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Wanted:
    """One piece to be placed, its sides as it will lie."""

    name: str
    number: int
    use: PieceUse
    width_mm: float
    height_mm: float
    turned: bool


@dataclass(slots=True)
class _Shelf:
    """A row that is being filled: pieces from the left, scraps in columns behind them."""

    sheet: int
    top: float
    height: float
    next_x: float
    pieces: list[PlacedPiece] = field(default_factory=list)
    column: tuple[float, float, float] | None = None  # left, width, where the next scrap in it goes

    def has_room(self, one: Wanted, room: Room, *, order: Order) -> bool:
        """Whether it goes beside the pieces here, and may."""
        lower = self.height - one.height_mm
        fits = (
            lower >= -_TINY_MM and self.next_x + one.width_mm <= room.media.width_mm - room.side_mm + _TINY_MM
        )
        return fits and self.column is None and (order == "to save length" or lower <= SAME_MM)

    def put(self, one: Wanted, room: Room) -> None:
        """Beside the others."""
        self._place(one, self.next_x, self.top)
        self.next_x += one.width_mm + room.gap_mm

    def put_scrap(self, one: Wanted, room: Room) -> bool:
        """Into the waste behind the pieces, below another scrap if it can be."""
        bottom = self.top + self.height + _TINY_MM
        if self.column is not None:
            left, width, down = self.column
            if one.width_mm <= width + _TINY_MM and down + one.height_mm <= bottom:
                self._place(one, left, down)
                self.column = left, width, down + one.height_mm + room.gap_mm
                return True
        fits = self.next_x + one.width_mm <= room.media.width_mm - room.side_mm + _TINY_MM
        if not fits or self.top + one.height_mm > bottom:
            return False
        self.column = self.next_x, one.width_mm, self.top + one.height_mm + room.gap_mm
        self.put(one, room)
        return True

    def _place(self, one: Wanted, left: float, top: float) -> None:
        box = Box(left, top, left + one.width_mm, top + one.height_mm)
        self.pieces.append(PlacedPiece(one.name, one.number, one.use, self.sheet, box, one.turned))


def wanted(pieces: Sequence[Piece], turned: frozenset[int]) -> list[Wanted]:
    """Every single piece, the sides of turned ones exchanged.

    Parameters
    ----------
    pieces : what is wanted
    turned : places in ``pieces`` of those that lie turned

    Returns
    -------
    list in the order given; pieces of the same name are numbered on

    Checked against
    ---------------
    Layouts by hand.
    """
    found: list[Wanted] = []
    counts: dict[str, int] = {}
    for place, piece in enumerate(pieces):
        sides = (piece.width_mm, piece.height_mm)
        width, height = sides[::-1] if place in turned else sides
        before = counts.get(piece.name, 0)
        counts[piece.name] = before + piece.n
        found += [
            Wanted(piece.name, before + number, piece.use, width, height, place in turned)
            for number in range(1, piece.n + 1)
        ]
    return found


def laid_in_rows(pieces: Sequence[Wanted], room: Room, *, order: Order) -> tuple[list[Row], list[Wanted]]:
    """Pieces in rows, from the leading edge on.

    Parameters
    ----------
    pieces : what is to be placed: prints go first, then spares, then scraps
    room : what can be printed on
    order : "as given" keeps prints in their order, row by row; "to save length" sorts them by height

    Returns
    -------
    rows, and the pieces that found no place

    Notes
    -----
    Shelves: next fit of equal heights in the order given, first fit of decreasing heights to save length.

    Checked against
    ---------------
    Random pieces: nothing overlaps, everything is placed or named.
    """
    shelves: list[_Shelf] = []
    without: list[Wanted] = []
    for use in ("print", "spare"):
        chosen = [one for one in pieces if one.use == use]
        if order == "to save length":
            chosen.sort(key=lambda one: (-one.height_mm, -one.width_mm))
        for one in chosen:
            open_ones = shelves if order == "to save length" else shelves[-1:]
            shelf = next((row for row in open_ones if row.has_room(one, room, order=order)), None)
            shelf = shelf or _opened(shelves, one, room, order=order)
            if shelf is None:
                without.append(one)
            else:
                shelf.put(one, room)
    for one in sorted((one for one in pieces if one.use == "scrap"), key=lambda one: -one.height_mm):
        if any(row.put_scrap(one, room) for row in shelves):
            continue
        shelf = _opened(shelves, one, room, order="to save length")
        if shelf is None or not shelf.put_scrap(one, room):
            without.append(one)
    return _closed(shelves, room), without


def _opened(shelves: list[_Shelf], one: Wanted, room: Room, *, order: Order) -> _Shelf | None:
    """A new row behind the others; in the order given never on a sheet before the last."""
    first = shelves[-1].sheet if shelves and order == "as given" else 0
    for sheet in range(first, room.sheets):
        ends = [row.top + row.height for row in shelves if row.sheet == sheet]
        top = max(ends) + room.gap_mm if ends else room.lead_mm
        if top + one.height_mm <= room.last_mm + _TINY_MM:
            shelf = _Shelf(sheet, top, one.height_mm, room.side_mm)
            shelves.append(shelf)
            return shelf
    return None


def _closed(shelves: Sequence[_Shelf], room: Room) -> list[Row]:
    """Rows with their cuts half way between them; a narrow bare strip before the first or last stays on."""
    half = room.gap_mm / 2.0
    rows: list[Row] = []
    for row in sorted(shelves, key=lambda row: (row.sheet, row.top)):
        top, bottom = row.top - half, row.top + row.height + half
        if top <= STAYS_ON * room.gap_mm:
            top = 0.0
        if isinstance(room.media, SheetMedia) and room.length_mm - bottom <= STAYS_ON * room.gap_mm:
            bottom = room.length_mm
        rows.append(Row(row.sheet, top, min(bottom, room.length_mm), tuple(row.pieces)))
    return rows


def columns_of(row: Row) -> Iterator[list[PlacedPiece]]:
    """The pieces of a row by column: a print each, or scraps below one another.

    Parameters
    ----------
    row : Row

    Returns
    -------
    iterator over lists of pieces, from the left, each from the top

    Checked against
    ---------------
    Layouts by hand.
    """
    pieces = sorted(row.pieces, key=lambda one: (one.box.left_mm, one.box.top_mm))
    column: list[PlacedPiece] = []
    for one in pieces:
        if column and one.box.left_mm > column[0].box.left_mm + _TINY_MM:
            yield column
            column = []
        column.append(one)
    if column:
        yield column
