"""Draw the print order of a trial, and add sheets to it later."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import Turn, draw_order, shares_of, sheet_codes
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Plan
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.trial.write_plan import keep_plan

ADDED = "added later"


def draw_sheets(
    records: Records, trial_id: str, *, told: Plan | None = None, who: str, seen: int | None = None
) -> Acted[tuple[Sheet, ...]]:
    """Draw the order the plan asks for: test sheets with their turn, and spares without one.

    An order that was drawn before and of which nothing is printed gives way to the new one. A plan ``told``
    is kept first, in the same act (see ``write_plan``).

    Raises
    ------
    RefusedInput
        There are not two candidates yet, or something has happened to a sheet.
    """
    with records.work("drew", who=who) as work:
        open_trial(work, trial_id)
        _refuse_if_begun(load_facts(work, trial_id))
        if told is not None:
            keep_plan(work, told, new_id=records.new_id(), seen=seen)
        facts = load_facts(work, trial_id)
        plan = _plan_to_draw(facts)
        for sheet in _replaced(facts):
            work.remove(Sheet, sheet.id)
        taken = [sheet.code for sheet in facts.sheets if sheet not in _replaced(facts)]
        turns = draw_order(shares_of(facts), days=plan.days, seed=plan.seed, way=plan.order, taken=taken)
        sheets = [_sheet(records.new_id(), trial_id, turn) for turn in turns]
        sheets += _spares(records, facts, plan, [*taken, *(sheet.code for sheet in sheets)])
        for sheet in sheets:
            work.add(sheet)
        work.change(replace(plan, drawn_at=work.now))
        again = " again" if _replaced(facts) else ""
        days = f"{plan.days} day{'s' if plan.days > 1 else ''}"
        work.say(f"the print order{again}: {len(turns)} sheets over {days}, {plan.order}, seed {plan.seed}")
        return Acted(tuple(sheets), work.entry_id)


def add_sheets(
    records: Records, trial_id: str, wanted: Mapping[str, int], *, who: str
) -> Acted[tuple[Sheet, ...]]:
    """Add sheets after those that were drawn, on a further day; ``wanted`` says how many of which candidate.

    They are drawn with the plan's way of ordering and the seed that `seed_of_day` gives, and marked.

    Raises
    ------
    RefusedInput
        No order was drawn yet, nothing is wanted, or a candidate is not in the trial.
    BadSetting
        The house medium would miss that day.
    """
    with records.work("added", who=who) as work:
        open_trial(work, trial_id)
        facts = load_facts(work, trial_id)
        plan = facts.plan
        drawn = [sheet for sheet in facts.sheets if sheet.place > 0]
        if plan is None or not drawn:
            raise RefusedInput("no order was drawn yet.", todo="Draw it first, with as many as you need.")
        shares = [replace(share, sheets=wanted.get(share.candidate_id, 0)) for share in shares_of(facts)]
        count = sum(share.sheets for share in shares)
        if count == 0 or count != sum(wanted.values()):
            raise RefusedInput(
                "no sheet of a candidate that is in the trial.", todo="Say how many of which candidate."
            )
        day, last = 1 + max(sheet.day for sheet in drawn), max(sheet.place for sheet in drawn)
        turns = draw_order(
            shares,
            days=1,
            seed=seed_of_day(plan, day),
            way=plan.order,
            taken=[sheet.code for sheet in facts.sheets],
        )
        sheets = tuple(
            work.add(
                _sheet(records.new_id(), trial_id, replace(turn, place=last + turn.place, day=day), ADDED)
            )
            for turn in turns
        )
        work.say(f"{count} sheet{'s' if count > 1 else ''} on day {day}")
        return Acted(sheets, work.entry_id)


def seed_of_day(plan: Plan, day: int) -> int:
    """The seed of a day that was added later: the plan's, and the number of the day on top."""
    return plan.seed + day


def drawn_as_planned(facts: TrialFacts) -> bool:
    """Whether the order as drawn is what plan and candidates ask for now; days added later do not count."""
    plan = facts.plan
    if plan is None:
        return False
    turns = draw_order(shares_of(facts), days=plan.days, seed=plan.seed, way=plan.order)
    drawn = [
        sheet for sheet in facts.sheets if sheet.use == "test" and sheet.place > 0 and not is_added(sheet)
    ]
    # A spare that took a turn left behind it a spoiled sheet without one.
    spares = [
        sheet for sheet in facts.sheets if sheet.use == "spare" or (sheet.use == "test" and not sheet.place)
    ]
    return len(spares) == plan.spare_sheets * len(shares_of(facts)) and [
        (sheet.place, sheet.day, sheet.candidate_id) for sheet in drawn
    ] == [(turn.place, turn.day, turn.candidate_id) for turn in turns]


def is_added(sheet: Sheet) -> bool:
    """Whether a sheet was added to an order that had been drawn."""
    return sheet.words == ADDED


def begun_sheet(facts: TrialFacts) -> Sheet | None:
    """The first test or spare sheet to which something has happened."""
    touched = {event.sheet_id for event in facts.events} | {reading.sheet_id for reading in facts.readings}
    return next((one for one in facts.sheets if one.id in touched or one.run_id is not None), None)


def _plan_to_draw(facts: TrialFacts) -> Plan:
    if facts.plan is None:
        raise RefusedInput("there is no plan yet.", todo="Say first how many sheets, and why.")
    if len(shares_of(facts)) < 2:
        raise RefusedInput(
            "there are not two candidates to compare.", todo="Name them first, the house medium among them."
        )
    return facts.plan


def _refuse_if_begun(facts: TrialFacts) -> None:
    begun = begun_sheet(facts)
    if begun is not None:
        raise RefusedInput(
            f"sheet {begun.code} has been begun, so the order stands as it was drawn.",
            todo="Add sheets on a further day instead, or withdraw a candidate with the reason.",
        )


def _replaced(facts: TrialFacts) -> tuple[Sheet, ...]:
    return tuple(sheet for sheet in facts.sheets if sheet.use in ("test", "spare"))


def _sheet(sheet_id: str, trial_id: str, turn: Turn, words: str = "") -> Sheet:
    return Sheet(
        id=sheet_id,
        trial_id=trial_id,
        candidate_id=turn.candidate_id,
        code=turn.code,
        place=turn.place,
        day=turn.day,
        words=words,
    )


def _spares(records: Records, facts: TrialFacts, plan: Plan, taken: Sequence[str]) -> list[Sheet]:
    """Spares have a code and no turn: they are printed where a sheet is spoiled."""
    owners = [share.candidate_id for share in shares_of(facts) for _ in range(plan.spare_sheets)]
    codes = sheet_codes(len(owners), seed=plan.seed, taken=taken)
    return [
        Sheet(
            id=records.new_id(),
            trial_id=facts.trial.id,
            candidate_id=owner,
            code=code,
            use="spare",
        )
        for owner, code in zip(owners, codes, strict=True)
    ]
