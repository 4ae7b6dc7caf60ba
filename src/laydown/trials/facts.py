"""Everything known about one trial, in one value: what the rules of a trial are asked about."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from laydown.trials.measured import GlossReading, Reading
from laydown.trials.room import RoomNote, room_notes
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, SheetEventKind
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Studio
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Plan, Trial


@dataclass(frozen=True, kw_only=True)  # without slots: what a sheet has is looked up once and remembered
class TrialFacts:
    """One trial with all that belongs to it, each tuple in its natural order.

    ``media``, ``lots``, ``rolls`` and ``printers`` hold those the trial refers to. ``room_noted`` is what was
    noted of the room with sheets and sittings that are left out where this holds a part of a trial only.
    """

    studio: Studio
    trial: Trial
    brief: Brief | None = None
    brief_changes: tuple[BriefChange, ...] = ()
    plan: Plan | None = None
    forms: tuple[TestForm, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    events: tuple[SheetEvent, ...] = ()
    runs: tuple[BenchRun, ...] = ()
    readings: tuple[Reading, ...] = ()
    gloss: tuple[GlossReading, ...] = ()
    media: tuple[Medium, ...] = ()
    lots: tuple[Lot, ...] = ()
    rolls: tuple[Roll, ...] = ()
    printers: tuple[Printer, ...] = ()
    room_noted: tuple[RoomNote, ...] = ()

    def candidate(self, candidate_id: str) -> Candidate:
        """The candidate of that id; KeyError where there is none."""
        return _named(self.candidates, candidate_id)

    def sheet(self, sheet_id: str) -> Sheet:
        """The sheet of that id; KeyError where there is none."""
        return self._sheets_by_id[sheet_id]

    def reading(self, reading_id: str) -> Reading:
        """The reading of that id; KeyError where there is none."""
        return self._readings_by_id[reading_id]

    def run(self, run_id: str) -> BenchRun:
        """The bench run of that id; KeyError where there is none."""
        return self._runs_by_id[run_id]

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
        events = self._events_by_sheet.get(sheet_id, ())
        return events if kind is None else tuple(event for event in events if event.kind == kind)

    def readings_of(self, sheet_id: str) -> tuple[Reading, ...]:
        """The readings of a sheet, oldest first."""
        return self._readings_by_sheet.get(sheet_id, ())

    @cached_property
    def room_notes(self) -> tuple[RoomNote, ...]:
        """What was noted of the print room, oldest first."""
        return tuple(sorted({*self.room_noted, *room_notes(self.runs, self.events)}))

    def gloss_of(self, sheet_id: str) -> tuple[GlossReading, ...]:
        """The gloss readings of a sheet, oldest first."""
        return self._gloss_by_sheet.get(sheet_id, ())

    @cached_property
    def _sheets_by_id(self) -> dict[str, Sheet]:
        return {sheet.id: sheet for sheet in self.sheets}

    @cached_property
    def _readings_by_id(self) -> dict[str, Reading]:
        return {reading.id: reading for reading in self.readings}

    @cached_property
    def _runs_by_id(self) -> dict[str, BenchRun]:
        return {run.id: run for run in self.runs}

    @cached_property
    def _events_by_sheet(self) -> dict[str, tuple[SheetEvent, ...]]:
        return _by_sheet(self.events)

    @cached_property
    def _readings_by_sheet(self) -> dict[str, tuple[Reading, ...]]:
        return _by_sheet(self.readings)

    @cached_property
    def _gloss_by_sheet(self) -> dict[str, tuple[GlossReading, ...]]:
        return _by_sheet(self.gloss)


OnSheet = TypeVar("OnSheet", SheetEvent, Reading, GlossReading)


def _by_sheet(things: Iterable[OnSheet]) -> dict[str, tuple[OnSheet, ...]]:
    grouped: dict[str, list[OnSheet]] = defaultdict(list)
    for thing in things:
        if thing.sheet_id is not None:
            grouped[thing.sheet_id].append(thing)
    return {sheet_id: tuple(group) for sheet_id, group in grouped.items()}


Named = TypeVar("Named", Candidate, Medium, Printer)


def _named(things: Sequence[Named], wanted: str) -> Named:
    for thing in things:
        if thing.id == wanted:
            return thing
    raise KeyError(wanted)
