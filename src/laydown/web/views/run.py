"""What the page of a sitting shows: one step a line, the sheets to print, how it was really set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.lengths import length_words
from laydown.report.moments import moment_short, zone
from laydown.trials.checklist import COOLEST_C, WARMEST_C, Step
from laydown.trials.facts import TrialFacts
from laydown.trials.out_of_turn import Departure, departures
from laydown.trials.sheets import BenchRun, Sheet, Tick
from laydown.trials.stock import Roll
from laydown.trials.trial import Plan
from laydown.usecases.bench.roll_uses import planned_length_mm
from laydown.usecases.bench.run_steps import CHOICES, run_steps, wants_value
from laydown.usecases.stock.roll_left import rolls_left
from laydown.web.room_climate import degree_sign, room_words, warmth_words
from laydown.web.views.notes import NotesView, notes_view
from laydown.web.views.print_station import load_of, sheet_states
from laydown.web.views.roll_choices import RollChoices, left_words, roll_choices
from laydown.web.views.run_recipe import AsSet, as_set
from laydown.web.views.stock_words import roll_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of the list. ``options`` are the words to choose from, none where it is typed.

    ``wants`` says that it is done only with a value; ``said`` is when, by whom, and what was noted.
    """

    id: str
    number: int
    text: str
    why: str
    caution: str
    expected: str
    label: str
    unit: str
    options: tuple[str, ...]
    wants: bool
    notes: bool
    skippable: bool
    state: str
    said: str
    ticked_at: str
    is_next: bool


@dataclass(frozen=True, slots=True)
class SheetHere:
    """A sheet of this candidate. ``departures`` warn before it is printed out of its drawn day or turn.

    ``noted`` is what its printing says of that afterwards.
    """

    id: str
    code: str
    href: str
    state: str
    mark: str
    said: str
    use: str
    in_load: bool
    departures: tuple[Departure, ...]
    noted: str


@dataclass(frozen=True, slots=True)
class OtherArm:
    """Another candidate printed from the same load: its sheets that wait, and its open sitting or ""."""

    id: str
    name: str
    codes: tuple[str, ...]
    open_run: str


@dataclass(frozen=True, slots=True)
class StepFold:
    """The list as it folds: what is done, the step done last (to take back) and the next one, what comes."""

    done: tuple[StepLine, ...]
    now: tuple[StepLine, ...]
    later: tuple[StepLine, ...]


@dataclass(frozen=True, slots=True)
class RunView:
    """The page of a sitting. ``problem`` is why a form was refused, ``at`` the step or sheet it is about.

    ``steps`` folds but for the one done last and the next one; ``waiting`` counts the sheets of
    this load that wait. ``corrects`` names the parts of the room that can be corrected: the others are still
    to be read off, at their steps.
    """

    frame: TrialFrame
    run_id: str
    trial_id: str
    candidate: str
    candidate_id: str
    printer: str
    roll: str
    room: str
    begun: str
    ended: str
    by: str
    remarks: str
    problem: str
    at: str
    where: str
    typed: Mapping[str, str]
    steps: StepFold
    count: int
    done: int
    waiting: int
    sheets: tuple[SheetHere, ...]
    later: tuple[SheetHere, ...]
    arms: tuple[OtherArm, ...]
    length: str
    sealed: bool
    set: AsSet
    rolls: RollChoices
    roll_id: str
    corrects: frozenset[str]
    degrees: str
    notes: NotesView
    seen: int


def _place(at: str, sheets: Sequence[SheetHere]) -> str:
    """The place on the page that a refusal is about; "end" is asked at the top."""
    if at in ("room", "end"):
        return at
    return f"sheet-{at}" if any(sheet.id == at for sheet in sheets) else f"step-{at}"


def run_view(
    look: Look,
    facts: TrialFacts,
    run: BenchRun,
    *,
    now: datetime,
    problem: str = "",
    at: str = "",
    typed: Mapping[str, str] | None = None,
    find: str = "",
) -> RunView:
    """The page of a sitting; ``find`` looks for a roll."""
    candidate = facts.candidate(run.candidate_id)
    units, there = facts.studio.units, facts.studio.time_zone
    steps = step_lines(facts, run, now=now)
    sheets = _sheets(facts, run, now=now)
    printer = next((one.name for one in facts.printers if one.id == run.printer_id), "")
    length = planned_length_mm(facts.plan or Plan(id="", trial_id=facts.trial.id), "test")
    return RunView(
        frame=trial_frame(facts, now=now, here="print"),
        run_id=run.id,
        trial_id=facts.trial.id,
        candidate=candidate.name,
        candidate_id=candidate.id,
        printer=printer,
        roll=_roll(look, facts, run),
        room=room_words(run.room_c, run.room_rh, units=units),
        begun=moment_short(run.begun_at, time_zone=there, now=now),
        ended=moment_short(run.ended_at, time_zone=there, now=now) if run.ended_at else "",
        by=run.by,
        remarks=run.words,
        problem=problem,
        at=at,
        where=_place(at, sheets),
        typed=typed or {},
        steps=_folded(steps, ended=run.ended_at is not None),
        count=len(steps),
        done=sum(step.state != "open" for step in steps),
        waiting=sum(one.in_load and one.state == "waiting" for one in sheets),
        sheets=tuple(one for one in sheets if one.in_load or one.state != "waiting"),
        later=tuple(one for one in sheets if not one.in_load and one.state == "waiting"),
        arms=_arms(facts, run),
        length=length_words(length, units=units) if length else "",
        sealed=facts.brief is not None and facts.brief.sealed_at is not None,
        set=as_set(facts, run, now=now),
        rolls=roll_choices(look, candidate, facts, keep=run.roll_id, printer_id=run.printer_id, find=find),
        roll_id=run.roll_id or "",
        corrects=_corrects(run),
        degrees=degree_sign(units),
        notes=notes_view(look, about=run.id, back=f"/bench/{run.id}", studio=facts.studio),
        seen=look.revision(BenchRun, run.id),
    )


def _folded(steps: Sequence[StepLine], *, ended: bool) -> StepFold:
    done = tuple(step for step in steps if step.state != "open")
    if ended:
        return StepFold(done, (), tuple(step for step in steps if step.state == "open"))
    last = max(done, key=lambda step: step.ticked_at, default=None)
    return StepFold(
        tuple(step for step in done if step is not last),
        tuple(step for step in steps if step is last or step.is_next),
        tuple(step for step in steps if step.state == "open" and not step.is_next),
    )


def _corrects(run: BenchRun) -> frozenset[str]:
    room = {"warmth": run.room_c, "humidity": run.room_rh}
    return frozenset(name for name, value in room.items() if value is not None or run.ended_at is not None)


def step_lines(facts: TrialFacts, run: BenchRun, *, now: datetime) -> tuple[StepLine, ...]:
    """The checklist with its ticks; the first open step is the next one."""
    ticks = {tick.step: tick for tick in run.ticks}
    steps = run_steps(facts, run)
    following = next((step.id for step in steps if step.id not in ticks), "")
    gaps = next((one.head_gaps for one in facts.printers if one.id == run.printer_id), ())
    return tuple(
        _step(facts, step, ticks.get(step.id), gaps, number, is_next=step.id == following, now=now)
        for number, step in enumerate(steps, start=1)
    )


def tick_words(facts: TrialFacts, step: Step, tick: Tick, *, now: datetime) -> str:
    """When a step was ticked, by whom, and what was noted."""
    when = moment_short(tick.at, time_zone=facts.studio.time_zone, now=now).removeprefix("today ")
    told = f"skipped: {tick.value}" if tick.skipped else _value_words(facts, step, tick.value)
    return ", ".join(part for part in (f"{when} {tick.by}".strip(), told) if part)


def _step(
    facts: TrialFacts,
    step: Step,
    tick: Tick | None,
    gaps: Sequence[str],
    number: int,
    *,
    is_next: bool,
    now: datetime,
) -> StepLine:
    field = step.noted.field if step.noted else ""
    units = facts.studio.units
    unit = {"room_c": degree_sign(units), "used_mm": "in" if units == "inch" else "mm"}.get(
        field, step.noted.unit if step.noted else ""
    )
    expected = step.expected
    if field == "room_c":
        low, high = (warmth_words(one.value, units=units) for one in (COOLEST_C, WARMEST_C))
        expected = f"{low} to {high}"
    return StepLine(
        id=step.id,
        number=number,
        text=step.text,
        why=step.why,
        caution=step.caution,
        expected=expected,
        label=step.noted.label if step.noted else "",
        unit=unit,
        options=tuple(gaps) if field == "head_gap" else CHOICES.get(field, ()),
        wants=wants_value(step),
        notes=step.noted is not None,
        skippable=step.skippable,
        state="open" if tick is None else "skipped" if tick.skipped else "done",
        said="" if tick is None else tick_words(facts, step, tick, now=now),
        ticked_at="" if tick is None else tick.at.isoformat(),
        is_next=is_next,
    )


def _value_words(facts: TrialFacts, step: Step, value: str) -> str:
    if not value or step.noted is None:
        return ""
    if step.noted.field == "room_c":
        return warmth_words(float(value.replace(",", ".")), units=facts.studio.units)
    if step.noted.field == "used_mm":
        return length_words(float(value.replace(",", ".")), units=facts.studio.units)
    return f"{value} {step.noted.unit}".strip()


def _roll(look: Look, facts: TrialFacts, run: BenchRun) -> str:
    roll = look.seek(Roll, run.roll_id)
    if roll is None:
        return ""
    left = rolls_left(look, (roll,))[roll.id]
    return roll_words(roll, units=facts.studio.units) + left_words(roll, left.length_mm, left.sheets, facts)


def _sheets(facts: TrialFacts, run: BenchRun, *, now: datetime) -> tuple[SheetHere, ...]:
    """The sheets of the candidate: printed in this sitting, in this load, and those of later loads."""
    states = sheet_states(facts, now=now)
    own = [
        one
        for one in facts.sheets_of(run.candidate_id)
        if states[one.id][0] == "waiting" or one.run_id == run.id
    ]
    first = next((one for one in own if one.place and states[one.id][0] == "waiting"), None)
    load = {one.id for one in load_of(facts, first)} if first else set()
    return tuple(_sheet(facts, one, states[one.id], load, now=now) for one in own)


def _arms(facts: TrialFacts, run: BenchRun) -> tuple[OtherArm, ...]:
    own = facts.candidate(run.candidate_id)
    over = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    found = []
    for one in facts.candidates:
        same_roll = one.roll_id in (run.roll_id, own.roll_id)
        if one.id == own.id or one.medium_id != own.medium_id or one.withdrawn_at or not same_roll:
            continue
        codes = tuple(s.code for s in facts.sheets_of(one.id) if s.place and s.id not in over)
        opened = next((r.id for r in facts.runs if r.candidate_id == one.id and r.ended_at is None), "")
        if codes:
            found.append(OtherArm(one.id, one.name, codes, opened))
    return tuple(found)


def _sheet(
    facts: TrialFacts, sheet: Sheet, state: tuple[str, str], load: set[str], *, now: datetime
) -> SheetHere:
    waits = state[0] == "waiting"
    marks = {"printed": "●", "spoiled": "×", "waiting": "○"}
    return SheetHere(
        id=sheet.id,
        code=sheet.code,
        href=f"/trials/{facts.trial.id}/sheets/{sheet.id}",
        state=state[0],
        mark=marks[state[0]],
        said=state[1],
        use=sheet.use if sheet.use != "test" else "",
        in_load=sheet.id in load or (not load and bool(sheet.place)),
        departures=(departures(facts, sheet, at=now, zone=zone(facts.studio.time_zone)) if waits else ()),
        noted=next((event.words for event in facts.events_of(sheet.id, "printed")), ""),
    )
