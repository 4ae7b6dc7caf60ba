"""What a trial would show is foreseen by the rules it will be judged by, for the findings its brief names."""

from __future__ import annotations

from dataclasses import replace

import pytest

from laydown.records.trial_facts import load_facts
from laydown.science.deciding.foresight import smallest_difference
from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.planning_spreads import planning_spreads
from laydown.trials.facts import TrialFacts
from laydown.trials.material import material_budgets
from laydown.trials.planning_times import MEASURE_MINUTES
from laydown.trials.trial import Brief, Plan, WantedDifference
from laydown.usecases.trial.change_brief import change_brief
from laydown.usecases.trial.foresee import MAIN, foresee
from laydown.usecases.trial.name_candidate import name_coated_arm
from laydown.usecases.trial.write_brief import write_brief
from laydown.usecases.trial.write_plan import write_plan
from stocked_room import BRIEF, TRIAL, Room


def facts(room: Room) -> TrialFacts:
    with room.records.look() as look:
        return load_facts(look, TRIAL)


def three(room: Room, brief: Brief = BRIEF) -> TrialFacts:
    for medium in ("fenland", "tidemill", "gullwing"):
        room.candidate(medium, house=medium == "fenland")
    write_brief(room.records, brief, who="Ada")
    write_plan(room.records, Plan(id="", trial_id=TRIAL), who="Ada")
    return facts(room)


def test_it_is_the_foresight_of_the_planning_spread(room: Room) -> None:
    seen = foresee(three(room))
    (row,) = seen.rows
    assert row.finding == "dmax_visual"
    spread = planning_spreads()["dmax_visual"]
    judged = sum(metric.judged for metric in METRICS.values())
    own = smallest_difference(spread.value, media=3, quantities_judged=judged)
    assert row.difference == pytest.approx(list(own.difference), rel=1e-9)
    assert row.same == pytest.approx(list(own.margin), rel=1e-9)
    assert (seen.media, seen.pairs, seen.findings) == (3, 3, judged)
    assert seen.sheets == tuple(range(2, 13))


def test_margins_of_the_brief_go_before_those_of_the_catalogue(room: Room) -> None:
    told = (
        WantedDifference(finding="dmax_visual", amount=0.02),
        WantedDifference(finding="gamut_volume", amount=0.08),
    )
    seen = foresee(three(room, replace(BRIEF, differences=told)))
    dmax, gamut = seen.rows
    assert (dmax.margin, dmax.unit, dmax.margin_source) == (0.02, "D", "this brief")
    # Shares are shown in per cent, margins and spreads alike.
    assert (gamut.margin, gamut.unit) == (pytest.approx(8.0), "%")
    assert gamut.spread == pytest.approx(100 * planning_spreads()["gamut_volume"].value)
    (usual,) = foresee(replace(facts(room), brief=BRIEF)).rows
    assert usual.margin == METRICS["dmax_visual"].margin.value
    assert usual.margin_source.startswith("default")


def test_a_change_of_the_brief_counts(room: Room) -> None:
    three(room)
    sealed = room.sealed()
    told = replace(sealed, differences=(WantedDifference(finding="opacity", amount=2.0),))
    change_brief(room.records, told, why="asked", who="Ada")
    assert [row.finding for row in foresee(facts(room)).rows] == ["opacity", "dmax_visual"]


def test_marks_turn_where_the_margin_is_reached(room: Room) -> None:
    told = (WantedDifference(finding="dmax_visual", amount=0.042),)
    seen = foresee(three(room, replace(BRIEF, differences=told)))
    (row,) = seen.rows
    # With three media (docs/methods/planning.md) a difference takes 5.3 times the spread with five sheets and
    # 4.1 with six, a sameness more than 4.5 with two and at most 3.4 with three; 0.042 D is 4.4 times.
    assert [row.tells(place) for place in range(11)] == [n >= 6 for n in seen.sheets]
    assert [row.calls_same(place) for place in range(11)] == [n >= 3 for n in seen.sheets]


def test_without_findings_in_the_brief_the_main_ones_are_shown(room: Room) -> None:
    seen = foresee(three(room, replace(BRIEF, criteria=())))
    assert not seen.named
    assert tuple(row.finding for row in seen.rows) == MAIN
    assert not {row.finding for row in seen.others} & set(MAIN)


def test_coated_and_uncoated_arms_are_not_compared_with_each_other(room: Room) -> None:
    before = three(room)
    for one in before.candidates:
        name_coated_arm(room.records, one.id, who="Ada")
    seen = foresee(facts(room))
    assert (len(facts(room).candidates), seen.media) == (6, 3)


def test_more_sheets_cost_what_the_budget_and_the_times_say(room: Room) -> None:
    told = three(room)
    seen = foresee(told)
    for cost in seen.costs[:4]:
        plan = replace(told.plan, sheets_per_candidate=cost.sheets, days=min(2, cost.sheets))
        budgets = material_budgets(replace(told, plan=plan))
        assert cost.longest_mm == max(one.length_mm for one in budgets)
        assert cost.in_all == 3 * cost.sheets
        assert cost.measure_minutes == 3 * cost.sheets * MEASURE_MINUTES.value
    assert seen.costs[0].short == ()
    # 20 ft do not hold twelve test prints of 480 mm with everything else (our own proposals for lengths).
    assert set(seen.costs[-1].short) == {"Fenland", "Tidemill", "Gullwing"}


def test_own_spreads_go_before_planning_values(room: Room) -> None:
    (row,) = foresee(three(room), own={"dmax_visual": 0.02}).rows
    assert (row.spread, row.spread_source) == (0.02, "the studio's own earlier trials")


def test_before_any_candidate_two_are_reckoned_with(room: Room) -> None:
    seen = foresee(facts(room))
    assert (seen.media, seen.pairs) == (2, 1)
    assert seen.costs[0].in_all == 0
