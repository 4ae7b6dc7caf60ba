"""How much material a candidate needs, against the roll or the box at hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.science.forms.bare_edges import GAP_MM, LEAD_MM, SIDE_MM, TAIL_MM
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import Load, Turn, draw_order, loads_of, planned_turns, shares_of
from laydown.trials.stock import Roll, RollUse, StockForm
from laydown.trials.trial import Candidate, Plan

ItemName = Literal[
    "setting", "chart", "test", "strips", "handling", "fading", "spare", "leads and tails", "gaps"
]

PROPOSED = "our proposal for a 17 in roll; put the length into the plan to overwrite it"
SETTING_MM = Constant(300.0, "mm", PROPOSED, "common practice, no source")
CHART_MM = Constant(600.0, "mm", PROPOSED, "common practice, no source")
SHEET_MM = Constant(480.0, "mm", f"2.4 m for five prints; {PROPOSED}", "common practice, no source")
STRIPS_MM = Constant(300.0, "mm", f"three strips; {PROPOSED}", "common practice, no source")
HANDLING_MM = Constant(600.0, "mm", PROPOSED, "common practice, no source")
FADING_MM = Constant(400.0, "mm", PROPOSED, "common practice, no source")
TRIAL_ROLL_WIDTH_MM = Constant(432.0, "mm", "17 in; the usual trial roll", "common practice, no source")
TRIAL_ROLL_LENGTH_MM = Constant(6096.0, "mm", "20 ft; the usual trial roll", "common practice, no source")
A3_PLUS_MM = (329.0, 483.0)  # a box without a stated size; 13 x 19 in
STRIPS = 3
SCRAPS = 3
LOADS_BEFORE = 2  # setting sheets on one day, charts on the next


@dataclass(frozen=True, slots=True)
class MaterialItem:
    """One need: so many pieces of such a length, or so many sheets of a box, and where the figure is from.

    ``field`` is the field of the plan or the printer that overwrites it, "" where there is none; ``stated``
    says that it did. Of ``length_mm`` and ``sheets`` the one that does not apply is 0.
    """

    name: ItemName
    n: int
    each_mm: float
    length_mm: float
    sheets: int
    source: str
    stated: bool
    field: str


@dataclass(frozen=True, slots=True)
class MaterialBudget:
    """What one candidate needs and, where its roll or box is named, whether that is there.

    ``length_mm`` counts for a roll, ``sheets`` for a box; ``holds`` and ``left`` are in mm or in sheets, None
    where not known. ``shared_with`` names other candidates on the same roll or box; what they need is
    counted in ``left``, ``fits`` and ``words``. ``leave_out`` says what to do without, in that order.
    """

    candidate_id: str
    form: StockForm
    items: tuple[MaterialItem, ...]
    length_mm: float
    sheets: int
    loads: int
    across: int
    holds: float | None
    left: float | None
    fits: bool | None
    shared_with: tuple[str, ...]
    leave_out: tuple[str, ...]
    words: str


def material_budgets(facts: TrialFacts, *, uses: Sequence[RollUse] = ()) -> tuple[MaterialBudget, ...]:
    """The budget of every candidate that has not been withdrawn."""
    return tuple(
        material_budget(facts, candidate, uses=uses)
        for candidate in facts.candidates
        if candidate.withdrawn_at is None
    )


def material_budget(
    facts: TrialFacts, candidate: Candidate, *, uses: Sequence[RollUse] = ()
) -> MaterialBudget:
    """What a candidate needs for the whole trial, against what its roll or box holds.

    Lengths come from the plan, and where it states none from common practice for a 17 in roll. Loads come
    from the print order: every load loses a lead and a tail. The setting sheets and the charts are one load
    each before it. Sheets narrower than half the roll lie side by side, within one load.

    Parameters
    ----------
    facts
        The trial; without a plan, the plan's defaults stand.
    candidate
        Whose need.
    uses
        What was taken from rolls and boxes. What this trial took itself is not taken off again: the budget
        holds the whole trial.

    Returns
    -------
    MaterialBudget
        Never proposes fewer repeats, and never gives up the spare without saying so.

    Raises
    ------
    BadSetting
        The plan's print order cannot be drawn.
    """
    roll = _roll(facts, candidate)
    arms = [candidate, *_sharing(facts, candidate)]
    turns = planned_turns(facts)
    needs = {arm.id: _items(facts, arm, roll, turns) for arm in arms}
    form: StockForm = roll.form if roll else "roll"
    total = {arm_id: _sum(items, form) for arm_id, items in needs.items()}
    holds = _holds(roll, uses, facts.trial.id)
    left = None if holds is None else holds - sum(total.values())
    own = needs[candidate.id]
    missing = -left if left is not None and left < 0 else 0.0
    leave_out = _leave_out(facts, arms, roll, needs, missing) if missing else ()
    return MaterialBudget(
        candidate_id=candidate.id,
        form=form,
        items=own,
        length_mm=sum(item.length_mm for item in own),
        sheets=sum(item.sheets for item in own),
        loads=_loads(own),
        across=_across(facts, candidate, roll),
        holds=holds,
        left=left,
        fits=None if left is None else left >= 0,
        shared_with=tuple(arm.name for arm in arms[1:]),
        leave_out=leave_out,
        words=_words(form, sum(total.values()), holds, left, len(arms), leave_out),
    )


def _roll(facts: TrialFacts, candidate: Candidate) -> Roll | None:
    return next((roll for roll in facts.rolls if roll.id == candidate.roll_id), None)


def _sharing(facts: TrialFacts, candidate: Candidate) -> list[Candidate]:
    return [
        other
        for other in facts.candidates
        if candidate.roll_id is not None
        and other.roll_id == candidate.roll_id
        and other.id != candidate.id
        and other.withdrawn_at is None
    ]


def _plan(facts: TrialFacts) -> Plan:
    return facts.plan or Plan(id="", trial_id=facts.trial.id)


def _items(
    facts: TrialFacts, candidate: Candidate, roll: Roll | None, turns: Sequence[Turn]
) -> tuple[MaterialItem, ...]:
    if roll is not None and roll.form == "sheets":
        return _items_of_box(facts, candidate, roll)
    return _items_of_roll(facts, candidate, roll, turns)


def _items_of_roll(
    facts: TrialFacts, candidate: Candidate, roll: Roll | None, turns: Sequence[Turn]
) -> tuple[MaterialItem, ...]:
    plan = _plan(facts)
    across = _across(facts, candidate, roll)
    loads = [load for load in loads_of(turns, shares_of(facts)) if _begins(load, turns, candidate)]
    rows = _rows(turns, loads_of(turns, shares_of(facts)), candidate, across)
    if not turns:
        rows = math.ceil(plan.sheets_per_candidate / across)
    arm = any(one.id == candidate.twin_id and one.withdrawn_at is None for one in facts.candidates)
    sheet_mm = plan.sheet_length_mm or SHEET_MM.value
    pieces = [
        _piece("setting", 0 if arm else 1, plan, "setting_length_mm", SETTING_MM),
        _piece("chart", 1, plan, "chart_length_mm", CHART_MM),
        _rowed("test", rows, sheet_mm, plan),
        _piece("strips", STRIPS, plan, "strip_length_mm", STRIPS_MM),
        _piece("handling", SCRAPS, plan, "handling_length_mm", HANDLING_MM),
        _piece("fading", 1, plan, "fading_length_mm", FADING_MM),
        _rowed("spare", math.ceil(plan.spare_sheets / across), sheet_mm, plan),
    ]
    printer = facts.printer_of(candidate)
    lead = printer.lead_mm if printer else None
    tail = printer.tail_mm if printer else None
    each = (LEAD_MM.value if lead is None else lead) + (TAIL_MM.value if tail is None else tail)
    begun = (len(loads) if turns else plan.days) + (0 if arm else LOADS_BEFORE)
    stated = lead is not None and tail is not None
    source = "stated for the printer" if stated else f"{LEAD_MM.source} ({LEAD_MM.certainty})"
    cuts = sum(piece.n for piece in pieces)
    return (
        *pieces,
        MaterialItem("leads and tails", begun, each, begun * each, 0, source, stated, "lead_mm, tail_mm"),
        MaterialItem("gaps", cuts, GAP_MM.value, cuts * GAP_MM.value, 0, _source(GAP_MM), False, ""),
    )


def _piece(name: ItemName, n: int, plan: Plan, field: str, usual: Constant) -> MaterialItem:
    """A need whose length in the plan is for all its pieces together."""
    told: float | None = getattr(plan, field)
    length = (usual.value if told is None else told) if n else 0.0
    source = "stated in the plan" if told is not None else _source(usual)
    if not n:
        source = "printed with its uncoated arm"
    return MaterialItem(name, n, length / n if n else 0.0, length, 0, source, told is not None, field)


def _rowed(name: ItemName, rows: int, each: float, plan: Plan) -> MaterialItem:
    told = plan.sheet_length_mm is not None
    source = "stated in the plan" if told else _source(SHEET_MM)
    return MaterialItem(name, rows, each, rows * each, 0, source, told, "sheet_length_mm")


def _items_of_box(facts: TrialFacts, candidate: Candidate, box: Roll) -> tuple[MaterialItem, ...]:
    """Sheets of a box: test prints and spares one each, the rest by area of a piece of 17 in roll."""
    plan = _plan(facts)
    on_roll = _items_of_roll(facts, candidate, None, ())
    width, length = box.width_mm or A3_PLUS_MM[0], box.length_mm or A3_PLUS_MM[1]
    counts = {"test": plan.sheets_per_candidate, "spare": plan.spare_sheets}
    found = []
    for item in on_roll:
        if item.name in ("leads and tails", "gaps"):
            continue
        by_area = math.ceil(item.length_mm * TRIAL_ROLL_WIDTH_MM.value / (width * length))
        sheets = counts.get(item.name, by_area)
        source = "stated in the plan" if item.name in counts else item.source
        found.append(MaterialItem(item.name, sheets, 0.0, 0.0, sheets, source, item.stated, item.field))
    return tuple(found)


def _source(usual: Constant) -> str:
    return f"{usual.source} ({usual.certainty})"


def _across(facts: TrialFacts, candidate: Candidate, roll: Roll | None) -> int:
    """How many sheets lie side by side; 1 where the sheet's width is not stated."""
    sheet = _plan(facts).sheet_width_mm
    if not sheet or (roll is not None and roll.form == "sheets"):
        return 1
    printer = facts.printer_of(candidate)
    side = SIDE_MM.value if printer is None or printer.side_margin_mm is None else printer.side_margin_mm
    wide = (roll.width_mm if roll else None) or TRIAL_ROLL_WIDTH_MM.value
    if printer is not None and printer.widest_mm is not None:
        wide = min(wide, printer.widest_mm)
    return max(1, math.floor((wide - 2 * side + GAP_MM.value) / (sheet + GAP_MM.value)))


def _begins(load: Load, turns: Sequence[Turn], candidate: Candidate) -> bool:
    first = next(turn for turn in turns if turn.place == load.places[0])
    return first.candidate_id == candidate.id


def _rows(turns: Sequence[Turn], loads: Sequence[Load], candidate: Candidate, across: int) -> int:
    owner = {turn.place: turn.candidate_id for turn in turns}
    each = (sum(owner[place] == candidate.id for place in load.places) for load in loads)
    return sum(math.ceil(sheets / across) for sheets in each)


def _loads(items: Sequence[MaterialItem]) -> int:
    return sum(item.n for item in items if item.name == "leads and tails")


def _sum(items: Sequence[MaterialItem], form: StockForm) -> float:
    return sum(item.length_mm if form == "roll" else item.sheets for item in items)


def _holds(roll: Roll | None, uses: Sequence[RollUse], trial_id: str) -> float | None:
    if roll is None:
        return None
    gone = [use for use in uses if use.roll_id == roll.id and use.trial_id != trial_id]
    if roll.form == "sheets":
        return None if roll.sheets is None else roll.sheets - sum(use.sheets or 0 for use in gone)
    return None if roll.length_mm is None else roll.length_mm - sum(use.length_mm or 0.0 for use in gone)


def _leave_out(
    facts: TrialFacts,
    arms: Sequence[Candidate],
    roll: Roll | None,
    needs: dict[str, tuple[MaterialItem, ...]],
    missing: float,
) -> tuple[str, ...]:
    """What to do without until it fits: reloads first, then what can be cut from other sheets."""
    form: StockForm = roll.form if roll else "roll"
    found = []
    saved = _saved_by_grouping(facts, arms, roll, needs) if form == "roll" else 0.0
    if saved > 0:
        found.append(f"group sheets within the day: {_amount(saved, form)} fewer of leads and tails")
        missing -= saved
    for name, instead in EXPENDABLE.items():
        if missing <= 0:
            return tuple(found)
        freed = sum(
            item.length_mm if form == "roll" else item.sheets
            for items in needs.values()
            for item in items
            if item.name == name
        )
        if freed:
            found.append(f"{instead} ({_amount(freed, form)})")
            missing -= freed
    if missing > 0:
        found.append("get another roll or box of the same lot; fewer repeats would tell nothing apart")
    return tuple(found)


def _saved_by_grouping(
    facts: TrialFacts,
    arms: Sequence[Candidate],
    roll: Roll | None,
    needs: dict[str, tuple[MaterialItem, ...]],
) -> float:
    """How much shorter it gets with each candidate's sheets of a day together."""
    plan = _plan(facts)
    if facts.plan is None or any(sheet.place for sheet in facts.sheets):
        return 0.0
    turns = draw_order(shares_of(facts), days=plan.days, seed=plan.seed, way="randomised, grouped within day")
    grouped = sum(_sum(_items(facts, arm, roll, turns), "roll") for arm in arms)
    return sum(_sum(items, "roll") for items in needs.values()) - grouped


def _words(
    form: StockForm,
    needed: float,
    holds: float | None,
    left: float | None,
    arms: int,
    leave_out: Sequence[str],
) -> str:
    needs = f"{'Arms on it need' if arms > 1 else 'Needs'} {_amount(needed, form)}"
    if holds is None or left is None:
        if form == "sheets":
            return f"{needs}. How many the box holds is not stated."
        spare = TRIAL_ROLL_LENGTH_MM.value - needed
        usual = f"{'a' if spare >= 0 else 'not even a'} usual trial roll of 20 ft (6.1 m) would do"
        return f"{needs}. What the roll holds is not stated; {usual}."
    held = f"the {'roll' if form == 'roll' else 'box'} holds {_amount(max(holds, 0), form)}"
    if left >= 0:
        return f"{needs}; {held}; {_amount(left, form)} left over."
    told = f"{needs}; {held}; {_amount(-left, form)} missing."
    return f"{told} First {'; then '.join(leave_out)}. Keep every repeat; the spare is yours to give up."


def _amount(value: float, form: StockForm) -> str:
    if form == "roll":
        return f"{value / 1000:.2f} m"
    return f"{value:.0f} sheet{'' if value == 1 else 's'}"


EXPENDABLE: dict[ItemName, str] = {
    "handling": "cut the handling scraps from setting and warm-up sheets",
    "fading": "cut the fading strips from the chart after it is measured",
    "strips": "read the control patches on the test prints instead of strips",
}
