"""A form laid onto a roll or box: plain data, in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from laydown.science.forms.nested import Nesting
from laydown.trials.stock import StockForm
from laydown.usecases.forms.roll_loads import RollPiece

LackOf = Literal["form", "order", "roll", "size"]


@dataclass(frozen=True, slots=True)
class Lack:
    """What is missing before anything can be laid out, and what to do."""

    of: LackOf
    words: str
    todo: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """One piece in its load; ``label`` tells it from others of its nesting, ``row`` counts from 1.

    ``row`` is 0 and ``label`` "" where it found no place. ``blind`` is the code for its back,
    "" for what nobody judges.
    """

    label: str
    piece: RollPiece
    row: int
    blind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RollLoad:
    """One load, laid out; its pieces row by row, then those without a place."""

    number: int
    title: str
    day: int
    printer: str
    nesting: Nesting
    pieces: tuple[LaidPiece, ...]

    @property
    def codes(self) -> Mapping[str, str]:
        """What is written on each piece, by its label."""
        return {one.label: one.piece.words for one in self.pieces if one.row}


@dataclass(frozen=True, slots=True, kw_only=True)
class RollLayout:
    """A form on the roll or box of a candidate, and of all that share it; lengths in mm.

    ``holds`` is what there is before the first load, in mm or in sheets; ``left_mm`` and ``left_sheets`` what
    stays after the last; None where nobody knows. ``repeat_mm`` is how much of a roll one print takes
    with all its pages, without gap, lead and tail. ``repeats_placed`` counts test prints with all their pages
    of those ``repeats_wanted``, and ``more_repeats`` how many more the rest would hold in one further load,
    counted up to the 2000 pieces that one nesting takes.
    ``reckoned`` says where margins and gaps are from.
    """

    trial_id: str
    candidate_id: str
    form: str
    roll_id: str
    stock: StockForm
    medium_mm: float
    medium_length_mm: float | None
    printable_mm: float
    holds: float | None
    loads: tuple[RollLoad, ...]
    used_mm: float | None
    left_mm: float | None
    sheets_used: int
    left_sheets: int | None
    repeat_mm: float | None
    repeats_wanted: int
    repeats_placed: int
    more_repeats: int | None
    without_place: tuple[str, ...]
    shared_with: tuple[str, ...]
    warnings: tuple[str, ...]
    reckoned: tuple[str, ...]

    @property
    def pieces(self) -> tuple[LaidPiece, ...]:
        """Every piece, load by load."""
        return tuple(one for load in self.loads for one in load.pieces)
