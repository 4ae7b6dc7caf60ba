"""Everything known about one trial, in one value: what the rules of a trial are asked about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from laydown.trials.measured import Reading
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, SheetEventKind
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialFacts:
    """One trial with all that belongs to it, each tuple in its natural order.

    ``media``, ``lots``, ``rolls`` and ``printers`` hold those the trial refers to.
    """

    studio: Studio
    trial: Trial
    brief: Brief | None = None
    brief_changes: tuple[BriefChange, ...] = ()
    plan: Plan | None = None
    candidates: tuple[Candidate, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    events: tuple[SheetEvent, ...] = ()
    runs: tuple[BenchRun, ...] = ()
    readings: tuple[Reading, ...] = ()
    media: tuple[Medium, ...] = ()
    lots: tuple[Lot, ...] = ()
    rolls: tuple[Roll, ...] = ()
    printers: tuple[Printer, ...] = ()

    def candidate(self, candidate_id: str) -> Candidate:
        """The candidate of that id; KeyError where there is none."""
        return _named(self.candidates, candidate_id)

    def sheet(self, sheet_id: str) -> Sheet:
        """The sheet of that id; KeyError where there is none."""
        return _named(self.sheets, sheet_id)

    def run(self, run_id: str) -> BenchRun:
        """The bench run of that id; KeyError where there is none."""
        return _named(self.runs, run_id)

    def medium_of(self, candidate: Candidate) -> Medium:
        """The medium of a candidate."""
        return _named(self.media, candidate.medium_id)

    def printer_of(self, candidate: Candidate) -> Printer | None:
        """The printer of a candidate, if one is named."""
        return _named(self.printers, candidate.printer_id) if candidate.printer_id else None

    def sheets_of(self, candidate_id: str) -> tuple[Sheet, ...]:
        """The sheets of a candidate, in print order."""
        return tuple(sheet for sheet in self.sheets if sheet.candidate_id == candidate_id)

    def events_of(self, sheet_id: str, kind: SheetEventKind | None = None) -> tuple[SheetEvent, ...]:
        """What happened to a sheet, oldest first."""
        return tuple(e for e in self.events if e.sheet_id == sheet_id and kind in (None, e.kind))

    def readings_of(self, sheet_id: str) -> tuple[Reading, ...]:
        """The readings of a sheet, oldest first."""
        return tuple(reading for reading in self.readings if reading.sheet_id == sheet_id)


Named = TypeVar("Named", Candidate, Sheet, BenchRun, Medium, Printer)


def _named(things: Sequence[Named], wanted: str) -> Named:
    for thing in things:
        if thing.id == wanted:
            return thing
    raise KeyError(wanted)
