"""Sheets, what happens to them, and the bench runs they are printed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from laydown.trials.recipe import NOTHING_SET, Coat, Recipe

SheetUse = Literal["test", "spare", "setting", "handling", "control strip", "other"]
SheetEventKind = Literal["printed", "coated", "trimmed", "glazed", "mounted", "handled", "spoiled", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One piece to be printed. ``place`` is its turn in the print order (from 1), ``day`` its block.

    What happened to it stands in its events and nowhere else.
    """

    id: str
    trial_id: str
    candidate_id: str
    code: str
    use: SheetUse = "test"
    place: int = 0
    day: int = 1
    run_id: str | None = None
    roll_id: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEvent:
    """Something that happened to a sheet, when, in which climate, by whom; ``coat`` where it was coated."""

    id: str
    trial_id: str
    sheet_id: str
    at: datetime
    kind: SheetEventKind
    by: str = ""
    room_c: float | None = None
    room_rh: float | None = None
    coat: Coat | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """One step of a checklist that was done: which, when, by whom, and what was seen or set."""

    step: str
    at: datetime
    by: str = ""
    value: str = ""
    skipped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRun:
    """One sitting at a printer with one candidate: its checklist, and the settings as really set."""

    id: str
    trial_id: str
    candidate_id: str
    printer_id: str
    roll_id: str | None = None
    begun_at: datetime
    ended_at: datetime | None = None
    recipe: Recipe = NOTHING_SET
    ticks: tuple[Tick, ...] = ()
    room_c: float | None = None
    room_rh: float | None = None
    by: str = ""
    words: str = ""
