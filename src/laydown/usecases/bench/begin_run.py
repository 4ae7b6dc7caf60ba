"""Begin and end a sitting at a printer with one candidate."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.trials.recipe import Recipe
from laydown.trials.sheets import BenchRun, Tick
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.open_trial import candidate_at_work, open_trial
from laydown.usecases.bench.roll_uses import roll_for
from laydown.usecases.bench.run_steps import AFTER_SETTING_UP


def begin_run(
    records: Records,
    candidate_id: str,
    *,
    who: str,
    printer_id: str | None = None,
    roll_id: str | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    begun_at: datetime | None = None,
    same_load_as: str | None = None,
) -> Acted[BenchRun]:
    """Begin a sitting; printer and roll are the candidate's own unless others are named.

    The recipe begins as the planned one. A sitting of the same trial that is still open at this printer
    ends: one thing is loaded at a time. ``same_load_as`` names a sitting with the other arm of the same roll:
    printer, roll, room, settings and every step before the printing are taken over from it.

    Raises
    ------
    RefusedInput
        The candidate was withdrawn, the trial is not open, no printer is named, this candidate's sitting is
        open already, the roll is of another medium, or the same load is not of the same medium.
    """
    with records.work("began", who=who) as work:
        candidate = candidate_at_work(work, candidate_id)
        before = _same_load(work, candidate, same_load_as)
        if before is not None:
            printer_id, roll_id = before.printer_id, before.roll_id
            room_c, room_rh = before.room_c, before.room_rh
        printer = _printer(work, candidate, printer_id)
        roll = roll_for(work, candidate, roll_id)
        begun = begun_at or work.now
        work.say(f"a sitting with {candidate.name} at {printer.name}")
        for other in work.find(BenchRun, trial_id=candidate.trial_id, printer_id=printer.id, ended_at=None):
            if other.candidate_id == candidate.id:
                raise RefusedInput(
                    f"a sitting with {candidate.name} is open at {printer.name}.",
                    todo="Go on with it, or end it first.",
                )
            work.change(replace(other, ended_at=max(begun, other.begun_at)))
            work.say(f"and ended the one with {work.get(Candidate, other.candidate_id).name}")
        warm, moist = clean_climate(room_c, room_rh)
        run = BenchRun(
            id=records.new_id(),
            trial_id=candidate.trial_id,
            candidate_id=candidate.id,
            printer_id=printer.id,
            roll_id=roll.id if roll else None,
            begun_at=begun,
            recipe=before.recipe if before else candidate.recipe,
            ticks=_set_up(before) if before else (),
            room_c=warm,
            room_rh=moist,
            by=who,
        )
        return Acted(work.add(run), work.entry_id)


def end_run(records: Records, run_id: str, *, who: str, at: datetime | None = None) -> Acted[BenchRun]:
    """End a sitting; a sitting that has ended stays as it is.

    Raises
    ------
    RefusedInput
        It would end before it began, or before a sheet that was printed in it.
    """
    with records.work("ended", who=who) as work:
        run = work.get(BenchRun, run_id)
        open_trial(work, run.trial_id)
        if run.ended_at is not None:
            return Acted(run, work.entry_id)
        work.say(f"the sitting with {work.get(Candidate, run.candidate_id).name}")
        return Acted(work.change(replace(run, ended_at=max(at or work.now, run.begun_at))), work.entry_id)


def set_run(
    records: Records,
    run_id: str,
    *,
    who: str,
    recipe: Recipe | None = None,
    roll_id: str | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    words: str | None = None,
    seen: int | None = None,
) -> Acted[BenchRun]:
    """Write down what was really set, loaded and read off in a sitting; None leaves a part as it is.

    Raises
    ------
    RefusedInput
        The trial is not open, or the roll is of another medium.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the sitting after that revision.
    """
    with records.work("set down", who=who) as work:
        run = work.get(BenchRun, run_id)
        open_trial(work, run.trial_id)
        candidate = work.get(Candidate, run.candidate_id)
        roll = roll_for(work, candidate, roll_id) if roll_id else None
        warm, moist = clean_climate(room_c, room_rh)
        changed = replace(
            run,
            recipe=run.recipe if recipe is None else recipe,
            roll_id=roll.id if roll else run.roll_id,
            room_c=run.room_c if warm is None else warm,
            room_rh=run.room_rh if moist is None else moist,
            words=run.words if words is None else words,
        )
        parts = {
            "the settings": changed.recipe != run.recipe,
            "the roll": changed.roll_id != run.roll_id,
            "the room": (changed.room_c, changed.room_rh) != (run.room_c, run.room_rh),
            "remarks": changed.words != run.words,
        }
        told = " and ".join(name for name, differs in parts.items() if differs)
        work.say(f"{told} of the sitting with {candidate.name}")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def _same_load(work: Work, candidate: Candidate, run_id: str | None) -> BenchRun | None:
    """The sitting a load is taken over from."""
    if run_id is None:
        return None
    before = work.get(BenchRun, run_id)
    other = work.get(Candidate, before.candidate_id)
    if before.trial_id != candidate.trial_id or other.medium_id != candidate.medium_id:
        raise RefusedInput(
            f"{other.name} and {candidate.name} are not the same load.",
            todo="Begin a sitting of its own, and go through its list.",
        )
    return before


def _set_up(before: BenchRun) -> tuple[Tick, ...]:
    """The ticks of loading and setting, which hold for everything printed from one load."""
    return tuple(tick for tick in before.ticks if tick.step not in AFTER_SETTING_UP)


def _printer(work: Work, candidate: Candidate, printer_id: str | None) -> Printer:
    wanted = printer_id or candidate.printer_id
    if wanted is None:
        raise RefusedInput(
            f"no printer is named for {candidate.name}.", todo="Choose the printer you are standing at."
        )
    return work.get(Printer, wanted)
