"""What the page of the print order shows: the ways to order, the order by day, and what was added."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby

from laydown.kernel.errors import BadSetting
from laydown.report.moments import moment_words
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import (
    OrderChoice,
    Share,
    Turn,
    loads_of,
    order_choices,
    planned_turns,
    shares_of,
)
from laydown.trials.sheets import Sheet
from laydown.trials.trial import OrderKind, Plan
from laydown.usecases.trial.draw_sheets import begun_sheet, drawn_as_planned, is_added, seed_of_day
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class WayChoice:
    """One way of ordering, with its price and what it gives and gives up."""

    way: OrderKind
    chosen: bool
    loads: int
    minutes: int
    gains: str
    loses: str


@dataclass(frozen=True, slots=True)
class TurnLine:
    """One sheet in its turn; ``load`` names what is loaded before it, "" where it stays."""

    place: int
    code: str
    candidate: str
    house: bool
    load: str
    state: str


@dataclass(frozen=True, slots=True)
class DayList:
    """The sheets of one day; ``seed`` is stated for a day that was added later."""

    day: int
    added: bool
    seed: int | None
    lines: tuple[TurnLine, ...]


@dataclass(frozen=True, slots=True)
class SpareLine:
    """A spare sheet, or a spoiled one that lost its turn; ``state`` is what became of it."""

    code: str
    candidate: str
    state: str


@dataclass(frozen=True, slots=True)
class CandidateChoice:
    """A candidate of which sheets can be added."""

    id: str
    name: str
    house: bool


@dataclass(frozen=True, slots=True)
class OrderView:
    """The print order. ``stands`` is the code of a sheet that was begun: the order is then added to."""

    frame: TrialFrame
    candidates: tuple[CandidateChoice, ...]
    sheets_each: int
    days: int
    seed: int
    spares: int
    choices: tuple[WayChoice, ...]
    drawn_when: str
    stale: bool
    stands: str
    day_lists: tuple[DayList, ...]
    spare_lines: tuple[SpareLine, ...]
    loads: int
    in_all: int
    sealed: bool
    written: bool
    revision: int
    refusal: str = ""


def order_view(
    facts: TrialFacts, *, revision: int, now: datetime, typed: Plan | None = None, refusal: str = ""
) -> OrderView:
    """What the page shows; ``typed`` is the plan of a refused form."""
    plan = typed or facts.plan or Plan(id="", trial_id=facts.trial.id)
    drawn = any(sheet.place for sheet in facts.sheets)
    begun = begun_sheet(facts) if drawn else None
    shares = shares_of(facts)
    turns = planned_turns(facts) if drawn else ()
    rolls = [load for load in loads_of(turns, shares) if load.on_roll]
    zone = facts.studio.time_zone
    return OrderView(
        frame=trial_frame(facts, now=now, here="plan"),
        candidates=_choosable(facts),
        sheets_each=plan.sheets_per_candidate,
        days=plan.days,
        seed=plan.seed,
        spares=plan.spare_sheets,
        choices=_choices(facts, plan),
        drawn_when=moment_words(plan.drawn_at, time_zone=zone) if drawn and plan.drawn_at else "",
        stale=drawn and begun is None and not drawn_as_planned(facts),
        stands=begun.code if begun else "",
        day_lists=_days(facts, turns, shares, plan),
        spare_lines=tuple(
            SpareLine(one.code, facts.candidate(one.candidate_id).name, _state(facts, one))
            for one in facts.sheets
            if not one.place and one.use in ("spare", "test")
        ),
        loads=len(rolls),
        in_all=len(turns),
        sealed=facts.brief is not None and facts.brief.sealed_at is not None,
        written=facts.plan is not None,
        revision=revision,
        refusal=refusal,
    )


def _choosable(facts: TrialFacts) -> tuple[CandidateChoice, ...]:
    return tuple(
        CandidateChoice(one.id, one.name, one.house) for one in facts.candidates if one.withdrawn_at is None
    )


def _choices(facts: TrialFacts, plan: Plan) -> tuple[WayChoice, ...]:
    """The ways side by side, counted for this trial where that can be done."""
    supposed = tuple(replace(share, sheets=plan.sheets_per_candidate) for share in shares_of(facts))
    days = max(1, min(plan.days, plan.sheets_per_candidate))
    try:
        found = order_choices(supposed, days=days, seed=plan.seed)
    except BadSetting:
        found = order_choices((), days=1, seed=0)
    return tuple(_way(one, plan.order) for one in found)


def _way(one: OrderChoice, chosen: OrderKind) -> WayChoice:
    return WayChoice(one.way, one.way == chosen, one.loads, round(one.minutes), one.gains, one.loses)


def _days(
    facts: TrialFacts, turns: tuple[Turn, ...], shares: tuple[Share, ...], plan: Plan
) -> tuple[DayList, ...]:
    sheets = {sheet.place: sheet for sheet in facts.sheets if sheet.place}
    loads = loads_of(turns, shares)
    first = {load.places[0]: load for load in loads}
    several = len({load.printer for load in loads}) > 1
    lists = []
    for day, group in groupby(turns, key=lambda turn: turn.day):
        lines = []
        for turn in group:
            candidate = facts.candidate(turn.candidate_id)
            load = first.get(turn.place)
            printer = facts.printer_of(candidate)
            where = f" on {printer.name}" if several and printer else ""
            verb = "load" if load is None or load.on_roll else "feed from"
            told = "" if load is None else f"{verb} {_stock(facts, turn)}{where}"
            state = _state(facts, sheets[turn.place])
            lines.append(TurnLine(turn.place, turn.code, candidate.name, candidate.house, told, state))
        added = is_added(sheets[lines[0].place])
        lists.append(
            DayList(
                day=day,
                added=added,
                seed=seed_of_day(plan, day) if added else None,
                lines=tuple(lines),
            )
        )
    return tuple(lists)


def _stock(facts: TrialFacts, turn: Turn) -> str:
    """What is loaded, as it is called: the medium, and the roll's own mark where it has one."""
    candidate = facts.candidate(turn.candidate_id)
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    form = "roll" if roll is None or roll.form == "roll" else "box"
    mark = f", {form} {roll.code}" if roll and roll.code else ""
    return f"{facts.medium_of(candidate).name}{mark}"


def _state(facts: TrialFacts, sheet: Sheet) -> str:
    """What has become of a sheet, in a word."""
    kinds = {event.kind for event in facts.events_of(sheet.id)}
    if facts.candidate(sheet.candidate_id).withdrawn_at is not None:
        return "withdrawn"
    return "spoiled" if "spoiled" in kinds else "printed" if "printed" in kinds else ""
