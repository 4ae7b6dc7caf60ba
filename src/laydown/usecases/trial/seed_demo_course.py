"""How the demo trial went at the printer: which sheet was printed when, and what befell it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import groupby

from laydown.trials.checklist import Step, checklist
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import Turn, draw_order, shares_of, sheet_codes
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, Tick
from laydown.trials.stock import RollUse
from laydown.usecases.bench.spoil_sheet import replaced_words
from laydown.usecases.trial.draw_sheets import ADDED, seed_of_day
from laydown.usecases.trial.seed_demo_stock import PRINTER_ID

BENCH = "Joris"
FIRST_PRINT = datetime(2026, 2, 9, 9, 0, tzinfo=UTC)
COATED = datetime(2026, 2, 11, 15, 0, tzinfo=UTC)
APART = timedelta(minutes=20)
_ROOM = ((21.2, 43.0), (20.8, 42.0), (21.5, 44.0))  # by day; below 45 % RH, so that 24 h are enough


@dataclass(frozen=True, slots=True)
class DemoCourse:
    """What happened at the printer, every tuple in the order it happened."""

    runs: tuple[BenchRun, ...]
    sheets: tuple[Sheet, ...]
    events: tuple[SheetEvent, ...]
    uses: tuple[RollUse, ...]


@dataclass(frozen=True, slots=True)
class _Printing:
    """One sheet at the printer."""

    sheet: Sheet
    at: datetime
    spoiled: str = ""


def demo_course(facts: TrialFacts, *, spoiled_candidate: str, added: dict[str, int]) -> DemoCourse:
    """The course of a trial with a plan and candidates but no sheets yet.

    The second sheet of ``spoiled_candidate`` is spoiled and its spare printed in its place; ``added`` are
    sheets of a further day, by candidate.
    """
    planned = list(_planned(facts, added))
    printings, replaced = _printings(planned, spoiled_candidate)
    sittings = [
        list(own) for _, own in groupby(printings, key=lambda one: (one.sheet.day, one.sheet.candidate_id))
    ]
    runs = [_run(facts, own, f"demo-run-{number}") for number, own in enumerate(sittings, start=1)]
    sat = {one.sheet.id: run for run, own in zip(runs, sittings, strict=True) for one in own}
    sheets = tuple(_after(sheet, replaced, sat) for sheet in planned)
    events = sorted(_events(facts, printings), key=lambda event: (event.at, event.id))
    return DemoCourse(tuple(runs), sheets, tuple(events), tuple(_uses(facts, printings, sat)))


def _planned(facts: TrialFacts, added: dict[str, int]) -> Iterator[Sheet]:
    """Every sheet as drawn: the tests of the plan, its spares, and those of the further day."""
    plan = facts.plan
    assert plan is not None
    shares = shares_of(facts)
    turns = draw_order(shares, days=plan.days, seed=plan.seed, way=plan.order)
    yield from (_sheet(facts, turn) for turn in turns)
    taken = [turn.code for turn in turns]
    owners = [share.candidate_id for share in shares for _ in range(plan.spare_sheets)]
    codes = sheet_codes(len(owners), seed=plan.seed, taken=taken)
    for owner, code in zip(owners, codes, strict=True):
        yield Sheet(
            id=f"demo-sheet-{code}", trial_id=facts.trial.id, candidate_id=owner, code=code, use="spare"
        )
    day, last = plan.days + 1, len(turns)
    more = [replace(share, sheets=added.get(share.candidate_id, 0)) for share in shares]
    later = draw_order(more, days=1, seed=seed_of_day(plan, day), way=plan.order, taken=[*taken, *codes])
    for turn in later:
        yield replace(_sheet(facts, replace(turn, place=last + turn.place, day=day)), words=ADDED)


def _sheet(facts: TrialFacts, turn: Turn) -> Sheet:
    return Sheet(
        id=f"demo-sheet-{turn.code}",
        trial_id=facts.trial.id,
        candidate_id=turn.candidate_id,
        code=turn.code,
        place=turn.place,
        day=turn.day,
    )


def _printings(
    planned: Sequence[Sheet], spoiled_candidate: str
) -> tuple[list[_Printing], tuple[Sheet, Sheet]]:
    """Sheets in the order they were printed, and the spoiled one with the spare in its place."""
    bad = [one for one in planned if one.candidate_id == spoiled_candidate and one.place][1]
    spare = next(one for one in planned if one.candidate_id == spoiled_candidate and one.use == "spare")
    printings, day, at = [], 0, FIRST_PRINT
    for sheet in sorted((one for one in planned if one.place), key=lambda one: one.place):
        if sheet.day != day:
            day, at = sheet.day, FIRST_PRINT + timedelta(days=sheet.day - 1)
        if sheet.id == bad.id:
            why = "a lid was opened while it printed; a smear across the middle"
            printings.append(_Printing(sheet, at, replaced_words(why, spare.code)))
            at += APART
            sheet = replace(spare, place=bad.place, day=bad.day)  # noqa: PLW2901 - the spare is printed now
        printings.append(_Printing(sheet, at))
        at += APART
    return printings, (bad, spare)


def _after(sheet: Sheet, replaced: tuple[Sheet, Sheet], sat: dict[str, BenchRun]) -> Sheet:
    """A sheet as it is kept after printing, the spoiled one and its spare having changed places."""
    bad, spare = replaced
    if sheet.id == bad.id:
        sheet = replace(sheet, place=0, words=f"Replaced by {spare.code}.")
    elif sheet.id == spare.id:
        words = f"Takes the place of {bad.code}."
        sheet = replace(sheet, use="test", place=bad.place, day=bad.day, words=words)
    run = sat.get(sheet.id)
    return sheet if run is None else replace(sheet, run_id=run.id, roll_id=run.roll_id)


def _run(facts: TrialFacts, own: Sequence[_Printing], run_id: str) -> BenchRun:
    """One sitting: sheets of one candidate printed one after another."""
    candidate = facts.candidate(own[0].sheet.candidate_id)
    room_c, room_rh = _ROOM[own[0].sheet.day - 1]
    medium, printer = facts.medium_of(candidate), facts.printer_of(candidate)
    begun = own[0].at - timedelta(minutes=12)
    steps = checklist(facts, candidate, printer=printer, medium=medium, for_chart=True)
    ticks = [
        Tick(step=step.id, at=begun + timedelta(seconds=30 * turn), by=BENCH, value=_noted(step, own))
        for turn, step in enumerate(steps)
    ]
    return BenchRun(
        id=run_id,
        trial_id=facts.trial.id,
        candidate_id=candidate.id,
        printer_id=PRINTER_ID,
        roll_id=candidate.roll_id,
        begun_at=begun,
        ended_at=own[-1].at + timedelta(minutes=7),
        recipe=candidate.recipe,
        ticks=tuple(ticks),
        room_c=room_c,
        room_rh=room_rh,
        by=BENCH,
    )


def _noted(step: Step, own: Sequence[_Printing]) -> str:
    """What was written down at a step: what was read off, else what was expected."""
    if step.noted is None:
        return ""
    room_c, room_rh = _ROOM[own[0].sheet.day - 1]
    read_off = {
        "rested_hours": "168",
        "room_c": f"{room_c:g}",
        "room_rh": f"{room_rh:g}",
        "used_sheets": f"{len(own)}",
        "used_mm": f"{len(own) * 480:g}",
        "nozzles": "whole",
    }
    planned = step.expected.removesuffix(step.noted.unit).strip() if step.noted.unit else step.expected
    return read_off.get(step.noted.field, planned)


def _events(facts: TrialFacts, printings: Sequence[_Printing]) -> Iterator[SheetEvent]:
    coated = 0
    for one in printings:
        sheet = one.sheet
        room_c, room_rh = _ROOM[sheet.day - 1]
        yield SheetEvent(
            id=f"demo-printed-{sheet.code}", trial_id=facts.trial.id, sheet_id=sheet.id, at=one.at,
            kind="printed", by=BENCH, room_c=room_c, room_rh=room_rh,
        )  # fmt: skip
        if one.spoiled:
            yield SheetEvent(
                id=f"demo-spoiled-{sheet.code}", trial_id=facts.trial.id, sheet_id=sheet.id,
                at=one.at + timedelta(minutes=9), kind="spoiled", by=BENCH, words=one.spoiled,
            )  # fmt: skip
        candidate = facts.candidate(sheet.candidate_id)
        if candidate.finish == "coated":
            yield SheetEvent(
                id=f"demo-coated-{sheet.code}", trial_id=facts.trial.id, sheet_id=sheet.id,
                at=COATED + timedelta(minutes=15 * coated), kind="coated", by=BENCH, room_c=21.5,
                room_rh=44.0, coat=candidate.coat,
            )  # fmt: skip
            coated += 1


def _uses(facts: TrialFacts, printings: Sequence[_Printing], sat: dict[str, BenchRun]) -> Iterator[RollUse]:
    """One use for each printing, under its id, as the bench notes them."""
    forms = {roll.id: roll.form for roll in facts.rolls}
    plan = facts.plan
    for one in printings:
        roll_id = sat[one.sheet.id].roll_id
        assert roll_id is not None
        by_length = forms[roll_id] == "roll"
        yield RollUse(
            id=f"demo-printed-{one.sheet.code}",
            roll_id=roll_id,
            at=one.at,
            length_mm=plan.sheet_length_mm if plan and by_length else None,
            sheets=None if by_length else 1,
            trial_id=facts.trial.id,
            words=f"sheet {one.sheet.code}",
        )
