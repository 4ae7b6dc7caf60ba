"""Begin and end a sitting at a printer with one candidate."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.sheets import BenchRun, Tick
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.open_trial import candidate_at_work, open_trial
from laydown.usecases.bench.roll_uses import roll_for
from laydown.usecases.bench.run_steps import AFTER_SETTING_UP, open_steps, run_steps, with_room


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

    The recipe begins as the planned one. A sitting of the same trial that is still open at this printer ends,
    with its open steps kept in its remarks: one thing is loaded at a time. A room given here is not asked for
    again. ``same_load_as`` names a sitting with the other arm of the same roll: printer, roll, room, settings
    and every step before the printing are taken over from it.

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
            left = left_words(load_facts(work, other.trial_id), other)
            work.change(_ended(other, begun, left))
            work.say(f"and ended the one with {work.get(Candidate, other.candidate_id).name}{_told(left)}")
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
            by=who,
        )
        return Acted(work.add(with_room(run, warm, moist, at=begun, by=who)), work.entry_id)


def end_run(
    records: Records, run_id: str, *, who: str, at: datetime | None = None, all_the_same: bool = False
) -> Acted[BenchRun]:
    """End a sitting; a sitting that has ended stays as it is.

    With ``all_the_same`` it ends though steps are neither ticked nor skipped; which ones is kept with it.

    Raises
    ------
    RefusedInput
        Steps are neither ticked nor skipped.
    """
    with records.work("ended", who=who) as work:
        run = work.get(BenchRun, run_id)
        open_trial(work, run.trial_id)
        if run.ended_at is not None:
            return Acted(run, work.entry_id)
        left = left_words(load_facts(work, run.trial_id), run)
        if left and not all_the_same:
            raise RefusedInput(left, todo="Tick or skip them, or end the sitting all the same; that is kept.")
        work.say(f"the sitting with {work.get(Candidate, run.candidate_id).name}{_told(left)}")
        return Acted(work.change(_ended(run, at or work.now, left)), work.entry_id)


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
            with_room(run, warm, moist, at=work.now, by=who),
            recipe=run.recipe if recipe is None else recipe,
            roll_id=roll.id if roll else run.roll_id,
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


def left_words(facts: TrialFacts, run: BenchRun) -> str:
    """Which steps of a sitting are neither ticked nor skipped, in a sentence; "" where all are dealt with."""
    left, steps = open_steps(facts, run), run_steps(facts, run)
    if not left:
        return ""
    if len(left) == len(steps):
        return f"none of the {len(steps)} steps is ticked or skipped."
    are = "step is" if len(left) == 1 else "steps are"
    return f"{len(left)} {are} neither ticked nor skipped: {', '.join(f'“{step.text}”' for step in left)}."


def _ended(run: BenchRun, at: datetime, left: str) -> BenchRun:
    """The sitting as it ended; what was left undone stands in its remarks."""
    told = f"Ended although {left}" if left else ""
    return replace(run, ended_at=max(at, run.begun_at), words="\n".join(filter(None, (run.words, told))))


def _told(left: str) -> str:
    return f"; {left.removesuffix('.')}" if left else ""


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
