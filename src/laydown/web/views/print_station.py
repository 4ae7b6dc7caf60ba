"""What the printing station shows: the next sheet, the order by day, and each candidate with its recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from itertools import groupby

from laydown.records.look import Look
from laydown.report.lengths import run_words
from laydown.report.moments import day_words, moment_short
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import unfair_differences
from laydown.trials.print_order import loads_of, planned_turns, shares_of
from laydown.trials.recipe import Recipe
from laydown.trials.recipes import LABELS, recipe_gaps, recipe_problems, setting_words
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Lot, Roll
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.usecases.bench.run_steps import prints_chart
from laydown.usecases.stock.roll_left import rolls_left
from laydown.web.room_climate import degree_sign
from laydown.web.views.candidates import roll_words, stock_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

# What tells two recipes apart at a glance; the rest stands on the recipe's own page.
AT_A_GLANCE = (
    "media_setting",
    "quality",
    "resolution_ppi",
    "black_ink",
    "head_gap",
    "profile_name",
    "intent",
)
NOT_STATED = "not stated"


@dataclass(frozen=True, slots=True)
class OrderedSheet:
    """A sheet in the print order or beside it; ``mark`` is the shape of its state."""

    id: str
    place: int
    code: str
    candidate: str
    use: str
    state: str
    mark: str
    words: str
    is_next: bool


@dataclass(frozen=True, slots=True)
class LoadBlock:
    """Sheets printed one after another without changing what is loaded."""

    stock: str
    arms: int
    sheets: tuple[OrderedSheet, ...]


@dataclass(frozen=True, slots=True)
class DayBlock:
    """One printing day."""

    name: str
    done: int
    total: int
    loads: tuple[LoadBlock, ...]
    has_next: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """Something to choose from a list."""

    id: str
    words: str


@dataclass(frozen=True, slots=True)
class CandidateCard:
    """A candidate at the printing station. ``open_run`` is its open sitting, "" where there is none."""

    id: str
    name: str
    house: bool
    finish: str
    stock: str
    printer: str
    printer_id: str
    roll_id: str
    left: str
    rolls: tuple[Choice, ...]
    glance: tuple[tuple[str, str], ...]
    settings: tuple[tuple[str, str], ...]
    gaps: tuple[str, ...]
    problems: tuple[str, ...]
    printed: int
    total: int
    open_run: str
    runs: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class NextSheet:
    """The sheet whose turn it is, and how many follow before something else is loaded."""

    code: str
    codes: tuple[str, ...]
    card: CandidateCard


@dataclass(frozen=True, slots=True)
class PrintView:
    """The station. ``problem`` is why a form was refused, "" where none was."""

    frame: TrialFrame
    trial_id: str
    problem: str
    sealed: bool
    drawn: bool
    told: str
    next: NextSheet | None
    days: tuple[DayBlock, ...]
    others: tuple[OrderedSheet, ...]
    cards: tuple[CandidateCard, ...]
    unfair: tuple[str, ...]
    printers: tuple[Choice, ...]
    degrees: str


def print_view(look: Look, facts: TrialFacts, *, now: datetime, problem: str = "") -> PrintView:
    """The station of a trial."""
    states = sheet_states(facts, now=now)
    cards = tuple(_card(look, facts, one, now=now) for one in facts.candidates if one.withdrawn_at is None)
    following = next_sheet(facts)
    frame = trial_frame(facts, now=now, here="print")
    printed = sum(states[sheet.id][0] == "printed" for sheet in facts.sheets if sheet.place)
    total = sum(1 for sheet in facts.sheets if sheet.place and states[sheet.id][0] != "spoiled")
    return PrintView(
        frame=frame,
        trial_id=facts.trial.id,
        problem=problem,
        sealed=facts.brief is not None and facts.brief.sealed_at is not None,
        drawn=any(sheet.place for sheet in facts.sheets),
        told=f"{printed} of {total} sheets printed",
        next=_next(facts, following, cards),
        days=_days(facts, states, following),
        others=tuple(
            _ordered(facts, sheet, states[sheet.id], following) for sheet in facts.sheets if not sheet.place
        ),
        cards=cards,
        unfair=tuple(
            f"{one.what[:1].upper()}{one.what[1:]}: {one.why} {one.todo}"
            for one in unfair_differences(facts)
            if one.severity == "breaks the comparison"
        ),
        printers=tuple(Choice(one.id, one.name) for one in look.find(Printer, order=("name", "id"))),
        degrees=degree_sign(facts.studio.units),
    )


def next_sheet(facts: TrialFacts) -> Sheet | None:
    """The first sheet in the print order that is neither printed nor spoiled nor withdrawn."""
    over = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    gone = {one.id for one in facts.candidates if one.withdrawn_at is not None}
    waiting = (one for one in facts.sheets if one.place and one.use == "test")
    return next((one for one in waiting if one.id not in over and one.candidate_id not in gone), None)


def load_of(facts: TrialFacts, sheet: Sheet) -> tuple[Sheet, ...]:
    """The sheets from this one on that are printed before anything else is loaded."""
    turns = planned_turns(facts)
    places = next(
        (load.places for load in loads_of(turns, shares_of(facts)) if sheet.place in load.places), ()
    )
    return tuple(
        one
        for one in facts.sheets
        if one.place in places and one.place >= sheet.place and one.candidate_id == sheet.candidate_id
    )


def sheet_states(facts: TrialFacts, *, now: datetime) -> dict[str, tuple[str, str]]:
    """For each sheet, printed, spoiled or waiting; and when, or why."""
    found = {sheet.id: ("waiting", "") for sheet in facts.sheets}
    for event in facts.events:
        if event.kind == "printed" and found[event.sheet_id][0] == "waiting":
            found[event.sheet_id] = ("printed", _when(facts, event, now))
        elif event.kind == "spoiled":
            found[event.sheet_id] = ("spoiled", event.words)
    return found


def settings_of(recipe: Recipe) -> tuple[tuple[str, str], ...]:
    """Every setting that is stated, in words."""
    told = ((LABELS[item.name], setting_words(recipe, item.name)) for item in fields(Recipe))
    return tuple((label, words) for label, words in told if words != NOT_STATED)


def roll_choices(look: Look, candidate: Candidate, facts: TrialFacts) -> tuple[Choice, ...]:
    """The rolls and boxes of a candidate's medium, with what is left of each."""
    lots = {lot.id: lot for lot in look.find(Lot, medium_id=candidate.medium_id)}
    rolls = look.find_any(Roll, "lot_id", lots, order=("lot_id", "code", "id"))
    left = rolls_left(look, rolls)
    return tuple(
        Choice(
            roll.id,
            f"lot {lots[roll.lot_id].code}, {roll_words(roll, units=facts.studio.units)}"
            + left_words(roll, left[roll.id].length_mm, left[roll.id].sheets, facts),
        )
        for roll in rolls
    )


def left_words(roll: Roll, length_mm: float | None, sheets: int | None, facts: TrialFacts) -> str:
    """What is left of a roll or box, "" where that is not known."""
    if roll.form == "roll" and length_mm is not None:
        return f", about {run_words(max(length_mm, 0.0), units=facts.studio.units)} left"
    if roll.form == "sheets" and sheets is not None:
        return f", {max(sheets, 0)} left"
    return ""


def _when(facts: TrialFacts, event: SheetEvent, now: datetime) -> str:
    return moment_short(event.at, time_zone=facts.studio.time_zone, now=now)


def _card(look: Look, facts: TrialFacts, candidate: Candidate, *, now: datetime) -> CandidateCard:
    printer, medium = facts.printer_of(candidate), facts.medium_of(candidate)
    recipe = candidate.recipe
    chart = prints_chart(facts, recipe)
    states = sheet_states(facts, now=now)
    tests = [one for one in facts.sheets_of(candidate.id) if one.use == "test"]
    runs = [run for run in facts.runs if run.candidate_id == candidate.id]
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    left = rolls_left(look, (roll,))[roll.id] if roll else None
    problems = recipe_problems(recipe, medium, printer, for_chart=chart)
    return CandidateCard(
        id=candidate.id,
        name=candidate.name,
        house=candidate.house,
        finish=candidate.finish,
        stock=stock_words(facts, candidate),
        printer=printer.name if printer else "",
        printer_id=candidate.printer_id or "",
        roll_id=candidate.roll_id or "",
        left=left_words(roll, left.length_mm, left.sheets, facts).lstrip(", ") if roll and left else "",
        rolls=roll_choices(look, candidate, facts),
        glance=tuple((LABELS[name], setting_words(recipe, name)) for name in AT_A_GLANCE),
        settings=settings_of(recipe),
        gaps=tuple(gap.label for gap in recipe_gaps(candidate, printer=printer)),
        problems=tuple(f"{one.what[:1].upper()}{one.what[1:]}. {one.why} {one.todo}" for one in problems),
        printed=sum(states[one.id][0] == "printed" for one in tests),
        total=sum(states[one.id][0] != "spoiled" for one in tests),
        open_run=next((run.id for run in runs if run.ended_at is None), ""),
        runs=tuple(_run_choice(facts, run, now) for run in reversed(runs)),
    )


def _run_choice(facts: TrialFacts, run: BenchRun, now: datetime) -> Choice:
    codes = [sheet.code for sheet in facts.sheets if sheet.run_id == run.id]
    when = moment_short(run.begun_at, time_zone=facts.studio.time_zone, now=now)
    told = ", ".join(codes) or "no sheet"
    return Choice(run.id, f"{when}, {run.by}: {told}")


def _next(facts: TrialFacts, following: Sheet | None, cards: Sequence[CandidateCard]) -> NextSheet | None:
    if following is None:
        return None
    card = next(one for one in cards if one.id == following.candidate_id)
    over = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    codes = tuple(one.code for one in load_of(facts, following) if one.id not in over)
    return NextSheet(following.code, codes or (following.code,), card)


def _days(
    facts: TrialFacts, states: dict[str, tuple[str, str]], following: Sheet | None
) -> tuple[DayBlock, ...]:
    ordered = [sheet for sheet in facts.sheets if sheet.place]
    stock_of = {share.candidate_id: share.stock for share in shares_of(facts)}
    first = facts.plan.first_day if facts.plan else None
    blocks = []
    for day, group in groupby(ordered, key=lambda sheet: sheet.day):
        sheets = list(group)
        loads = []
        for _, batch in groupby(sheets, key=lambda one: stock_of.get(one.candidate_id, one.candidate_id)):
            loaded = list(batch)
            candidate = facts.candidate(loaded[0].candidate_id)
            loads.append(
                LoadBlock(
                    stock_words(facts, candidate),
                    len({one.candidate_id for one in loaded}),
                    tuple(_ordered(facts, one, states[one.id], following) for one in loaded),
                )
            )
        counted = [states[one.id][0] for one in sheets]
        when = f", {day_words(first + timedelta(days=day - 1))}" if first and day == 1 else ""
        blocks.append(
            DayBlock(
                name=f"Day {day}{when}",
                done=counted.count("printed"),
                total=len(counted) - counted.count("spoiled"),
                loads=tuple(loads),
                has_next=following in sheets,
            )
        )
    return tuple(blocks)


def _ordered(
    facts: TrialFacts, sheet: Sheet, state: tuple[str, str], following: Sheet | None
) -> OrderedSheet:
    marks = {"printed": "●", "spoiled": "×", "waiting": "○"}
    candidate = facts.candidate(sheet.candidate_id)
    withdrawn = candidate.withdrawn_at is not None and state[0] == "waiting"
    return OrderedSheet(
        id=sheet.id,
        place=sheet.place,
        code=sheet.code,
        candidate=candidate.name,
        use=sheet.use,
        state="withdrawn" if withdrawn else state[0],
        mark="–" if withdrawn else marks[state[0]],
        words=state[1],
        is_next=sheet == following,
    )
