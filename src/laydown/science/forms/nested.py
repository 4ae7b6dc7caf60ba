"""Pieces, the roll or sheets they go onto, and where they lie on it: plain data, in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from laydown.science.forms.page import Box

PieceUse = Literal["print", "spare", "scrap"]
CutWay = Literal["across", "along"]


@dataclass(frozen=True, slots=True)
class RollMedia:
    """A roll, as much of it as is left; ``length_mm`` is None where nobody knows."""

    width_mm: float
    length_mm: float | None


@dataclass(frozen=True, slots=True)
class SheetMedia:
    """Cut sheets of one size, their height along the feed, and how many there are."""

    width_mm: float
    height_mm: float
    sheets: int


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece that is wanted ``n`` times, its height along the feed.

    Pieces of one ``group`` are all turned or none, so that grain and feed run the same way through them. A
    "print" is what it is all for, a "spare" comes next, and a "scrap" is cut up for handling tests.
    """

    name: str
    width_mm: float
    height_mm: float
    n: int = 1
    use: PieceUse = "print"
    group: str = ""
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """One piece in its place; ``box`` from the left and the leading edge of its roll or sheet.

    ``number`` tells it from others of its name, ``sheet`` counts from 0 and is 0 on a roll.
    """

    name: str
    number: int
    use: PieceUse
    sheet: int
    box: Box
    turned: bool

    @property
    def label(self) -> str:
        """What is written on its back."""
        return f"{self.name} {self.number}"


@dataclass(frozen=True, slots=True)
class Row:
    """Pieces between two straight cuts across the medium, which lie at ``top_mm`` and ``bottom_mm``."""

    sheet: int
    top_mm: float
    bottom_mm: float
    pieces: tuple[PlacedPiece, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """A straight cut: "across" the feed at so many mm from the leading edge, or "along" it from the left.

    It runs from ``from_mm`` to ``to_mm`` the other way. ``row`` counts from 0 and is None for a cut that goes
    across the whole medium. Cuts are made in the order in which they are listed.
    """

    sheet: int
    row: int | None
    way: CutWay
    at_mm: float
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that found no place, how many of it, and why."""

    name: str
    n: int
    reason: str


@dataclass(frozen=True, slots=True)
class Room:
    """What can be printed on: bare edges, and bare gaps between pieces."""

    media: RollMedia | SheetMedia
    side_mm: float
    lead_mm: float
    tail_mm: float
    gap_mm: float

    @property
    def printable_mm(self) -> float:
        """The width that can be printed."""
        return self.media.width_mm - 2.0 * self.side_mm

    @property
    def length_mm(self) -> float:
        """Of the roll or of each sheet; endless where nobody knows."""
        if isinstance(self.media, SheetMedia):
            return self.media.height_mm
        return float("inf") if self.media.length_mm is None else self.media.length_mm

    @property
    def last_mm(self) -> float:
        """Where the tail begins."""
        return self.length_mm - self.tail_mm

    @property
    def sheets(self) -> int:
        """How many sheets there are; a roll counts as one."""
        return self.media.sheets if isinstance(self.media, SheetMedia) else 1

    def across(self, width_mm: float) -> int:
        """How many pieces of a width lie side by side."""
        return int((self.printable_mm + self.gap_mm + 1e-6) // (width_mm + self.gap_mm))


@dataclass(frozen=True, slots=True)
class Nesting:
    """Where every piece lies, how it is cut, and what is left over; all in mm.

    ``used_mm`` is the length of roll that goes, lead and tail included, None on sheets; ``left_mm`` is what
    stays on the roll, None on sheets and where nobody knows; ``sheets_used`` counts sheets, 0 on a roll.
    ``more`` says of each print how many more of it alone the rest would hold, empty where nobody knows.
    ``covered`` is the share of what is used that pieces cover.
    """

    room: Room
    rows: tuple[Row, ...]
    cuts: tuple[Cut, ...]
    left_out: tuple[LeftOut, ...]
    used_mm: float | None
    left_mm: float | None
    sheets_used: int
    more: tuple[tuple[str, int], ...]
    covered: float
    warnings: tuple[str, ...]

    @property
    def pieces(self) -> tuple[PlacedPiece, ...]:
        """Every piece that has its place, row by row."""
        return tuple(piece for row in self.rows for piece in row.pieces)
