"""A sheet was printed: which sitting, when, in which room, out of turn or not, what it took from the roll."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.out_of_turn import departure_words, departures
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.studio_time import studio_zone
from laydown.trials.trial import Candidate, Plan
from laydown.usecases.acted import Acted
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.open_trial import candidate_at_work
from laydown.usecases.bench.roll_uses import planned_length_mm, roll_for, use_of_sheet


def print_sheet(
    records: Records,
    sheet_id: str,
    *,
    run_id: str,
    who: str,
    at: datetime | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    roll_id: str | None = None,
    used_mm: float | None = None,
) -> Acted[SheetEvent]:
    """Note that a sheet was printed in a sitting, now or ``at`` a time before.

    Room and roll are those of the sitting unless others are given; ``used_mm`` is what it took from the roll,
    the planned length where it is not given. A tablet that was out of reach may send the same printing twice:
    with the same sitting and the same ``at`` the second one changes nothing.

    A sheet that is printed on another day than drawn for, or before others, is noted as such, not refused.

    Raises
    ------
    RefusedInput
        The sheet is of another candidate than the sitting, was spoiled before, or was printed outside the
        sitting; the candidate was withdrawn.
    BadSetting
        The roll is of another medium; a climate no room can have.
    Contradiction
        It was printed already, or it is a test sheet and the brief is not sealed.
    """
    with records.work("printed", who=who) as work:
        sheet, run = work.get(Sheet, sheet_id), work.get(BenchRun, run_id)
        candidate = candidate_at_work(work, sheet.candidate_id)
        when = at or work.now
        there = next(iter(work.find(SheetEvent, sheet_id=sheet.id, kind="printed")), None)
        if there is not None and at is not None and (there.at, sheet.run_id) == (at, run.id):
            return Acted(there, work.entry_id)
        _refuse(work, sheet, run, candidate, when)
        warm, moist = clean_climate(room_c, room_rh)
        roll = roll_for(work, candidate, roll_id or run.roll_id)
        event = SheetEvent(
            id=records.new_id(),
            trial_id=sheet.trial_id,
            sheet_id=sheet.id,
            at=when,
            kind="printed",
            by=who,
            room_c=run.room_c if warm is None else warm,
            room_rh=run.room_rh if moist is None else moist,
            words=turn_words(load_facts(work, sheet.trial_id), sheet, when),
        )
        work.say(f"sheet {sheet.code} on {candidate.name}" + (f". {event.words}" if event.words else ""))
        work.change(replace(sheet, run_id=run.id, roll_id=roll.id if roll else None))
        work.add(event)
        plan = next(iter(work.find(Plan, trial_id=sheet.trial_id)), None)
        length = planned_length_mm(plan, sheet.use) if used_mm is None else used_mm
        use = use_of_sheet(work, sheet, event, roll_id=roll.id if roll else None, length_mm=length)
        if use is not None:
            work.add(use)
        return Acted(event, work.entry_id)


def turn_words(facts: TrialFacts, sheet: Sheet, at: datetime) -> str:
    """How a printing at that moment departs from the drawn order, by the studio's clock."""
    return departure_words(departures(facts, sheet, at=at, zone=studio_zone(facts.studio)))


def _refuse(work: Work, sheet: Sheet, run: BenchRun, candidate: Candidate, when: datetime) -> None:
    if run.candidate_id != sheet.candidate_id:
        other = work.get(Candidate, run.candidate_id).name
        raise RefusedInput(
            f"sheet {sheet.code} belongs to {candidate.name}; this sitting is with {other}.",
            todo="Look at the code on the sheet, or begin a sitting with the other medium.",
        )
    if when < run.begun_at:
        raise RefusedInput(
            f"sheet {sheet.code} cannot be printed before the sitting began.",
            todo="Correct the time, or begin a sitting with the time it really began.",
        )
    if run.ended_at is not None and when > run.ended_at:
        raise RefusedInput(
            f"sheet {sheet.code} cannot be printed in a sitting that has ended.",
            todo="Begin a new one at the printer, or give the time it was printed.",
        )
    if any(event.kind == "spoiled" for event in work.find(SheetEvent, sheet_id=sheet.id)):
        raise RefusedInput(
            f"sheet {sheet.code} was spoiled.", todo="Print a spare in its place, or take the spoiling back."
        )
