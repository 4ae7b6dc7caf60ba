"""What the printing station shows: the next sheet, the order by day, and each candidate with its recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from itertools import groupby

from laydown.records.look import Look
from laydown.report.moments import day_words, moment_short, zone
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import unfair_differences
from laydown.trials.out_of_turn import Departure, departures
from laydown.trials.print_order import loads_of, planned_turns, shares_of
from laydown.trials.recipe import NOTHING_SET, Recipe
from laydown.trials.recipes import LABELS, RecipeProblem, recipe_gaps, setting_words
from laydown.trials.shared_settings import problems_here
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.trial import Candidate
from laydown.usecases.bench.run_steps import prints_chart
from laydown.usecases.stock.roll_left import rolls_left
from laydown.web.views.roll_choices import Choice, left_words
from laydown.web.views.stock_words import stock_words
from laydown.web.views.test_form import FormToPrint, forms_to_print
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
    """A sheet in the print order or beside it; ``mark`` is the shape of its state.

    ``noted`` is what its printing says about day and turn, "" where the drawn order was kept.
    """

    id: str
    place: int
    code: str
    candidate: str
    use: str
    state: str
    mark: str
    words: str
    noted: str
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
class CandidateCard:
    """A candidate at the printing station. ``open_run`` is its open sitting, "" where there is none.

    ``settings`` is whether any setting is stated; ``ends`` names the candidate whose sitting at the same
    printer ends when one with this begins.
    """

    id: str
    name: str
    house: bool
    finish: str
    stock: str
    printer: str
    left: str
    glance: tuple[tuple[str, str], ...]
    settings: bool
    gaps: tuple[str, ...]
    problems: tuple[RecipeProblem, ...]
    printed: int
    total: int
    open_run: str
    ends: str
    runs: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class NextSheet:
    """The sheet whose turn it is, those that follow from the same load, and what speaks against it now."""

    code: str
    codes: tuple[str, ...]
    card: CandidateCard
    departures: tuple[Departure, ...]


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
    forms: tuple[FormToPrint, ...]
    unfair: tuple[str, ...]


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
        next=_next(facts, following, cards, now=now),
        days=_days(facts, states, following),
        others=tuple(_ordered(facts, sheet, states[sheet.id], following) for sheet in _beside(facts)),
        cards=cards,
        forms=forms_to_print(facts, following.code if following else ""),
        unfair=tuple(
            f"{one.what[:1].upper()}{one.what[1:]}: {one.why} {one.todo}"
            for one in unfair_differences(facts)
            if one.severity == "breaks the comparison"
        ),
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


def _when(facts: TrialFacts, event: SheetEvent, now: datetime) -> str:
    return moment_short(event.at, time_zone=facts.studio.time_zone, now=now)


def _card(look: Look, facts: TrialFacts, candidate: Candidate, *, now: datetime) -> CandidateCard:
    printer, recipe = facts.printer_of(candidate), candidate.recipe
    chart = prints_chart(facts, recipe)
    states = sheet_states(facts, now=now)
    tests = [one for one in facts.sheets_of(candidate.id) if one.use == "test"]
    runs = [run for run in facts.runs if run.candidate_id == candidate.id]
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    left = rolls_left(look, (roll,))[roll.id] if roll else None
    return CandidateCard(
        id=candidate.id,
        name=candidate.name,
        house=candidate.house,
        finish=candidate.finish,
        stock=stock_words(facts, candidate),
        printer=printer.name if printer else "",
        left=left_words(roll, left.length_mm, left.sheets, facts).lstrip(", ") if roll and left else "",
        glance=tuple((LABELS[name], setting_words(recipe, name)) for name in AT_A_GLANCE),
        settings=recipe != NOTHING_SET,
        gaps=tuple(gap.label for gap in recipe_gaps(candidate, printer=printer)),
        problems=problems_here(facts, candidate, recipe, printer=printer, for_chart=chart),
        printed=sum(states[one.id][0] == "printed" for one in tests),
        total=sum(states[one.id][0] != "spoiled" for one in tests),
        open_run=next((run.id for run in runs if run.ended_at is None), ""),
        ends=next(
            (
                facts.candidate(run.candidate_id).name
                for run in facts.runs
                if run.ended_at is None
                and run.printer_id == candidate.printer_id
                and run.candidate_id != candidate.id
            ),
            "",
        ),
        runs=tuple(_run_choice(facts, run, now) for run in reversed(runs)),
    )


def _run_choice(facts: TrialFacts, run: BenchRun, now: datetime) -> Choice:
    codes = [sheet.code for sheet in facts.sheets if sheet.run_id == run.id]
    when = moment_short(run.begun_at, time_zone=facts.studio.time_zone, now=now)
    told = ", ".join(codes) or "no sheet"
    return Choice(run.id, f"{when}, {run.by}: {told}")


def _next(
    facts: TrialFacts, following: Sheet | None, cards: Sequence[CandidateCard], *, now: datetime
) -> NextSheet | None:
    if following is None:
        return None
    card = next(one for one in cards if one.id == following.candidate_id)
    over = {event.sheet_id for event in facts.events if event.kind in ("printed", "spoiled")}
    codes = tuple(one.code for one in load_of(facts, following) if one.id not in over)
    against = departures(facts, following, at=now, zone=zone(facts.studio.time_zone))
    return NextSheet(following.code, codes or (following.code,), card, against)


def _beside(facts: TrialFacts) -> list[Sheet]:
    """Sheets without a turn: those never in the order first, then spoiled ones that lost theirs."""
    return sorted((one for one in facts.sheets if not one.place), key=lambda one: one.use == "test")


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
        noted=next((event.words for event in facts.events_of(sheet.id, "printed")), ""),
        is_next=sheet == following,
    )
