"""Tick a step of a checklist, with what was read off there; the same tick sent again changes nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.checklist import Step
from laydown.trials.contradictions import CLOCK_LEEWAY
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import BenchRun, Tick
from laydown.trials.stock import RollUse
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.bench.roll_uses import rest_of_run
from laydown.usecases.bench.run_steps import noted_on, number_of, run_steps, wants_value


def tick_step(
    records: Records,
    run_id: str,
    step_id: str,
    *,
    who: str,
    value: str = "",
    skipped_why: str = "",
    at: datetime | None = None,
) -> Acted[BenchRun]:
    """Tick a step off, or skip it with a reason; what was noted goes to the room, the settings or the roll.

    A tablet that was out of reach sends its ticks later, with the time ``at`` they were made, and perhaps
    twice: a tick that is there already, or is older than the one that is there, changes nothing.

    Raises
    ------
    RefusedInput
        There is no such step, it may not be skipped, or the trial is not open.
    BadSetting
        A value is missing where the step is done only with one, or it is none that can be.
    """
    with records.work("skipped" if skipped_why else "ticked", who=who) as work:
        run, facts = _run(work, run_id)
        step = _step(facts, run, step_id)
        tick = Tick(
            step=step_id,
            at=_made_at(at, run, now=work.now),
            by=who,
            value=(skipped_why or value).strip(),
            skipped=bool(skipped_why),
        )
        _refuse(step, tick)
        there = next((one for one in run.ticks if one.step == step_id), None)
        if there is not None and (_same(there, tick) or there.at > tick.at):
            return Acted(run, work.entry_id)
        ticks = (*(one for one in run.ticks if one.step != step_id), tick)
        changed = replace(run, ticks=tuple(sorted(ticks, key=lambda one: one.at)))
        if not tick.skipped:
            changed = noted_on(changed, step, tick.value, planned=facts.candidate(run.candidate_id).recipe)
            _note_use(work, changed, step, tick)
        work.say(f"“{step.text}”" + (f": {tick.value}" if tick.value else ""))
        return Acted(work.change(changed), work.entry_id)


def untick_step(
    records: Records, run_id: str, step_id: str, *, who: str, ticked_at: datetime | None = None
) -> Acted[BenchRun]:
    """Take a tick back; ``ticked_at`` says which one, so that a newer one stays.

    What was noted with it stays until something else is noted; the use of the roll goes with the tick.

    Raises
    ------
    RefusedInput
        The trial is not open.
    """
    with records.work("took back", who=who) as work:
        run, facts = _run(work, run_id)
        there = next((one for one in run.ticks if one.step == step_id), None)
        if there is None or (ticked_at is not None and there.at != ticked_at):
            return Acted(run, work.entry_id)
        step = next((one for one in run_steps(facts, run) if one.id == step_id), None)
        work.say(f"the tick at “{step.text if step else step_id}”")
        if _is_use(step) and work.seek(RollUse, run.id) is not None:
            work.remove(RollUse, run.id)
        left = tuple(one for one in run.ticks if one.step != step_id)
        return Acted(work.change(replace(run, ticks=left)), work.entry_id)


def _run(work: Work, run_id: str) -> tuple[BenchRun, TrialFacts]:
    run = work.get(BenchRun, run_id)
    open_trial(work, run.trial_id)
    return run, load_facts(work, run.trial_id)


def _step(facts: TrialFacts, run: BenchRun, step_id: str) -> Step:
    for step in run_steps(facts, run):
        if step.id == step_id:
            return step
    raise RefusedInput("this checklist has no such step.", todo="Open the page again; the list has changed.")


def _refuse(step: Step, tick: Tick) -> None:
    if tick.skipped and not step.skippable:
        raise RefusedInput(f"“{step.text}” may not be skipped.", todo="Do it, or end the sitting.")
    if wants_value(step) and step.noted is not None and not tick.value:
        raise BadSetting(
            f"“{step.text}”: no number is given.",
            todo=f"Note the {step.noted.label}" + (", or skip it with a reason." if step.skippable else "."),
        )


def _made_at(at: datetime | None, run: BenchRun, *, now: datetime) -> datetime:
    """The time a tick was made; a tablet whose clock is wrong is not believed."""
    leeway = timedelta(hours=CLOCK_LEEWAY.value)
    if at is None or at > now + leeway or at < run.begun_at - leeway:
        return now
    return at


def _same(there: Tick, tick: Tick) -> bool:
    return (there.value, there.skipped) == (tick.value, tick.skipped)


def _is_use(step: Step | None) -> bool:
    return step is not None and step.noted is not None and step.noted.field in ("used_mm", "used_sheets")


def _note_use(work: Work, run: BenchRun, step: Step, tick: Tick) -> None:
    """Of what a sitting used in all, the part no sheet accounts for: leads, tails, warm-ups."""
    if not _is_use(step) or step.noted is None or run.roll_id is None:
        return
    rest = rest_of_run(work, run, step.noted.field, number_of(tick.value, step.noted.label), at=tick.at)
    there = work.seek(RollUse, run.id)
    if there is None and rest is not None:
        work.add(rest)
    elif rest is not None:
        work.change(rest)
    elif there is not None:
        work.remove(RollUse, run.id)
