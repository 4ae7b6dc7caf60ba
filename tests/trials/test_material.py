"""Material against the roll or box at hand; the usual trial roll, boxes, arms that share a roll."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_small_trial import MONDAY, a_trial
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.trials.facts import TrialFacts
from laydown.trials.material import MaterialBudget, material_budget, material_budgets
from laydown.trials.stock import RollUse
from laydown.trials.trial import OrderKind

METRE = 1000.0


def _planned(*, order: OrderKind = "randomised, grouped within day", **changes: object) -> TrialFacts:
    """Five sheets each over two days, not drawn yet; no candidate shares a roll."""
    facts = a_trial()
    assert facts.plan is not None
    plan = replace(facts.plan, sheets_per_candidate=5, order=order, **changes)  # type: ignore[arg-type]  # by name
    return replace(facts, plan=plan, sheets=(), candidates=facts.candidates[:2])


def _of(facts: TrialFacts, name: str = "rag") -> MaterialBudget:
    return material_budget(facts, next(one for one in facts.candidates if one.name == name))


def _lengths(budget: MaterialBudget) -> dict[str, float]:
    return {item.name: item.length_mm / METRE for item in budget.items}


def test_a_candidate_needs_about_five_metres_before_spare_and_gaps() -> None:
    """Trade practice for a 17 in roll: 0.3 + 0.6 + 2.4 + 0.3 + 0.6 + 0.4 m, and 0.4 m of leads and tails.

    Common practice, no source. That sum counts two loads; a trial over two days has four, of 0.2 m each.
    """
    told = _lengths(_of(_planned()))
    assert told == pytest.approx(
        {
            "setting": 0.3,
            "chart": 0.6,
            "test": 2.4,
            "strips": 0.3,
            "handling": 0.6,
            "fading": 0.4,
            "spare": 0.48,
            "leads and tails": 0.8,
            "gaps": 0.15,
        }
    )
    assert sum(told.values()) - told["spare"] - told["gaps"] - 0.4 == pytest.approx(5.0)


def test_the_usual_trial_roll_holds_a_grouped_order_and_not_a_free_one() -> None:
    """17 in x 20 ft = 432 x 6096 mm."""
    grouped = _of(_planned())
    assert (grouped.fits, grouped.loads) == (True, 4)
    assert grouped.left == pytest.approx(6096 - 6030)
    assert grouped.words == "Needs 6.03 m; the roll holds 6.10 m; 0.07 m left over."
    free = _of(_planned(order="randomised, blocked by day", seed=3))
    assert free.fits is False
    assert free.loads > 4
    assert "fewer of leads and tails" in free.leave_out[0]
    assert "missing" in free.words


@pytest.mark.parametrize(
    ("width", "length", "sheets"),
    [(329, 483, 14), (210, 297, 25)],
)
def test_boxes_are_counted_in_sheets(width: float, length: float, sheets: int) -> None:
    """12 to 15 sheets of A3+ or 25 of A4 for a candidate: common practice, no source."""
    facts = _planned()
    boxes = tuple(
        replace(roll, form="sheets", width_mm=width, length_mm=length, sheets=25) for roll in facts.rolls
    )
    budget = _of(replace(facts, rolls=boxes))
    assert (budget.form, budget.sheets, budget.length_mm, budget.loads) == ("sheets", sheets, 0, 0)
    assert budget.left == 25 - sheets
    assert budget.fits
    assert {item.name for item in budget.items} >= {"test", "spare", "handling"}


def test_a_small_box_says_what_is_missing_and_never_takes_repeats() -> None:
    facts = _planned()
    boxes = tuple(replace(roll, form="sheets", width_mm=329, length_mm=483, sheets=9) for roll in facts.rolls)
    budget = _of(replace(facts, rolls=boxes))
    assert budget.fits is False
    assert budget.words.startswith("Needs 14 sheets; the box holds 9 sheets; 5 sheets missing. First cut")
    assert [words.split(" (")[0] for words in budget.leave_out[:3]] == [
        "cut the handling scraps from setting and warm-up sheets",
        "cut the fading strips from the chart after it is measured",
        "read the control patches on the test prints instead of strips",
    ]
    assert "Keep every repeat" in budget.words


def test_when_nothing_helps_another_roll_of_the_lot_does() -> None:
    facts = _planned()
    short = tuple(replace(roll, length_mm=2000.0) for roll in facts.rolls)
    budget = _of(replace(facts, rolls=short))
    assert "same lot" in budget.leave_out[-1]


def test_narrow_sheets_lie_side_by_side_within_a_load() -> None:
    """On 432 mm, 5 mm free at each edge and 10 mm between: two of 206 mm, one of 207 mm."""
    assert _of(_planned(sheet_width_mm=206.0)).across == 2
    assert _of(_planned(sheet_width_mm=207.0)).across == 1
    assert _of(_planned()).across == 1
    rows = {item.name: item.n for item in _of(_planned(sheet_width_mm=200.0)).items}
    assert (rows["test"], rows["spare"]) == (2 + 1, 1), "3 and 2 sheets on two days: 2 rows and 1"


def test_sheets_of_different_loads_cannot_lie_side_by_side() -> None:
    free = _of(_planned(order="randomised, blocked by day", seed=3, sheet_width_mm=200.0))
    assert next(item.n for item in free.items if item.name == "test") > 3


def test_a_printer_narrower_than_the_roll_counts() -> None:
    facts = _planned(sheet_width_mm=200.0)
    narrow = replace(facts, printers=tuple(replace(one, widest_mm=330.0) for one in facts.printers))
    assert _of(narrow).across == 1


def test_a_printer_that_states_its_lead_and_tail_is_believed() -> None:
    facts = _planned()
    stated = replace(facts, printers=tuple(replace(one, lead_mm=30.0, tail_mm=0.0) for one in facts.printers))
    item = next(item for item in _of(stated).items if item.name == "leads and tails")
    assert (item.each_mm, item.stated) == (30, True)


def test_what_the_plan_states_beats_the_default_and_says_so() -> None:
    items = {item.name: item for item in _of(_planned(chart_length_mm=900.0, strip_length_mm=150.0)).items}
    assert (items["chart"].length_mm, items["chart"].stated) == (900, True)
    assert (items["strips"].n, items["strips"].each_mm) == (3, 50)
    assert items["chart"].source == "stated in the plan"
    assert "common practice" in items["handling"].source
    assert items["handling"].field == "handling_length_mm"


def test_every_default_names_its_source() -> None:
    for item in _of(_planned()).items:
        assert "common practice, no source" in item.source, item.name


def test_arms_of_one_roll_are_counted_together_and_share_the_setting_sheet() -> None:
    facts = a_trial()
    bare, coated = _of(facts, "canvas"), _of(facts, "canvas coated")
    assert bare.shared_with == ("canvas coated",)
    assert bare.left == coated.left == pytest.approx(6096 - bare.length_mm - coated.length_mm)
    assert _lengths(bare)["setting"] == 0.3
    assert _lengths(coated)["setting"] == 0
    assert bare.words == coated.words
    assert bare.words.startswith("Arms on it need")


def test_a_load_is_paid_by_the_arm_that_begins_it() -> None:
    """Two arms in turns on one roll, two days: each day is one load, begun by the bare arm."""
    facts = a_trial()
    arms = facts.candidates[2:]
    kept = tuple(sheet for sheet in facts.sheets if "canvas" in sheet.id)
    both = replace(facts, candidates=arms, sheets=kept)
    assert (_of(both, "canvas").loads, _of(both, "canvas coated").loads) == (2 + 2, 0)


def test_an_arm_whose_twin_was_withdrawn_prints_its_own_setting_sheet() -> None:
    facts = a_trial()
    gone = replace(
        facts,
        candidates=tuple(
            replace(one, withdrawn_at=MONDAY) if one.name == "canvas" else one for one in facts.candidates
        ),
    )
    assert _lengths(_of(gone, "canvas coated"))["setting"] == 0.3
    assert _of(gone, "canvas coated").shared_with == ()


def test_uses_by_others_are_gone_and_ones_own_are_not_counted_twice() -> None:
    facts = _planned()
    at = datetime(2026, 2, 1, tzinfo=UTC)
    own = RollUse(id="1", roll_id="r-m-rag", at=at, length_mm=1000, trial_id="t")
    other = RollUse(id="2", roll_id="r-m-rag", at=at, length_mm=500)
    elsewhere = RollUse(id="3", roll_id="r-m-baryta", at=at, length_mm=2000)
    rag = facts.candidates[0]
    assert material_budget(facts, rag, uses=[own, other, elsewhere]).holds == 6096 - 500


def test_without_a_roll_nothing_is_guessed() -> None:
    facts = _planned()
    bare = replace(facts, candidates=tuple(replace(one, roll_id=None) for one in facts.candidates))
    budget = _of(bare)
    assert (budget.holds, budget.left, budget.fits) == (None, None, None)
    assert "not stated" in budget.words
    assert "; a usual trial roll of 20 ft (6.1 m) would do" in budget.words
    long = replace(_planned(setting_length_mm=400.0), candidates=bare.candidates)
    assert "; not even a usual trial roll" in _of(long).words
    box = replace(facts, rolls=tuple(replace(r, form="sheets", length_mm=483) for r in facts.rolls))
    assert _of(box).fits is None
    assert "not stated" in _of(box).words


def test_without_a_plan_its_defaults_stand() -> None:
    facts = replace(_planned(), plan=None)
    assert _lengths(_of(facts))["test"] == pytest.approx(2.4)
    assert _of(facts).loads == 4


def test_withdrawn_candidates_have_no_budget() -> None:
    facts = a_trial()
    gone = replace(
        facts, candidates=(replace(facts.candidates[0], withdrawn_at=MONDAY), *facts.candidates[1:])
    )
    assert [one.candidate_id for one in material_budgets(gone)] == [c.id for c in facts.candidates[1:]]


@settings(deadline=None, max_examples=50)
@given(
    st.integers(2, 12),
    st.integers(1, 2),
    st.integers(0, 5),
    st.floats(0, 60_000),
    st.sampled_from(["randomised, blocked by day", "randomised, grouped within day", "as listed"]),
)
def test_the_sums_are_right_and_what_is_missing_is_answered(
    sheets: int, days: int, spare: int, length: float, order: OrderKind
) -> None:
    facts = _planned(order=order)
    assert facts.plan is not None
    facts = replace(
        facts,
        plan=replace(facts.plan, sheets_per_candidate=sheets, days=days, spare_sheets=spare),
        rolls=tuple(replace(roll, length_mm=length) for roll in facts.rolls),
    )
    budget = _of(facts)
    for item in budget.items:
        assert item.length_mm == pytest.approx(item.n * item.each_mm)
    assert budget.length_mm == pytest.approx(sum(item.length_mm for item in budget.items))
    assert budget.left is not None
    assert budget.left == pytest.approx(length - budget.length_mm)
    assert budget.fits == (budget.left >= 0)
    assert bool(budget.leave_out) == (not budget.fits)
    rows = {item.name: item.n for item in budget.items}
    assert (rows["test"], rows["spare"]) == (sheets, spare)
