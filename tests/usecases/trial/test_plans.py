"""A plan is written, its order drawn and drawn again until a sheet is printed; then sheets are added."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import draw_order, shares_of
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Plan
from laydown.usecases.trial.draw_sheets import (
    add_sheets,
    begun_sheet,
    draw_sheets,
    drawn_as_planned,
    is_added,
    seed_of_day,
)
from laydown.usecases.trial.withdraw_candidate import withdraw_candidate
from laydown.usecases.trial.write_plan import write_plan
from laydown.usecases.undo import undo
from stocked_room import TRIAL, Room

PLAN = Plan(id="", trial_id=TRIAL, sheets_per_candidate=4, days=2, seed=7, spare_sheets=1)


def facts(room: Room) -> TrialFacts:
    with room.records.look() as look:
        return load_facts(look, TRIAL)


def planned(room: Room) -> TrialFacts:
    for medium in ("fenland", "tidemill", "gullwing"):
        room.candidate(medium, house=medium == "fenland")
    write_plan(room.records, PLAN, who="Ada")
    return facts(room)


def drawn(room: Room) -> TrialFacts:
    planned(room)
    draw_sheets(room.records, TRIAL, who="Ada")
    return facts(room)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"sheets_per_candidate": 0}, "0 sheets"),
        ({"sheets_per_candidate": 51, "days": 1}, "51 sheets"),
        ({"days": 0}, "0 printing days"),
        ({"days": 5}, "do not reach for 5 days"),
        ({"seed": -1}, "seed -1"),
        ({"seed": 2**31}, "out of range"),
        ({"spare_sheets": -1}, "-1 spare"),
        ({"chart_length_mm": 0.0}, "length of the chart: 0 mm"),
        ({"chart_length_mm": float("nan")}, "length of the chart: nan mm"),
    ],
)
def test_plans_that_cannot_be_are_refused(room: Room, wrong: dict[str, int], words: str) -> None:
    with pytest.raises(BadSetting, match=words):
        write_plan(room.records, replace(PLAN, **wrong), who="Ada")


def test_one_trial_has_one_plan(any_room: Room) -> None:
    first = write_plan(any_room.records, PLAN, who="Ada")
    second = write_plan(any_room.records, replace(PLAN, why="money"), who="Ada")
    assert (second.thing.id, second.thing.why) == (first.thing.id, "money")
    with any_room.records.look() as look:
        assert look.count(Plan) == 1
        assert look.entry(second.entry_id).words == "the plan: why so many"


def test_two_tablets_do_not_overwrite_each_other(room: Room) -> None:
    plan = write_plan(room.records, PLAN, who="Ada").thing
    with room.records.look() as look:
        seen = look.revision(Plan, plan.id)
    write_plan(room.records, replace(PLAN, days=1), who="Bo", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        write_plan(room.records, replace(PLAN, days=3), who="Ada", seen=seen)


def test_the_order_is_drawn_as_anybody_can_draw_it_again(any_room: Room) -> None:
    shares = shares_of(planned(any_room))
    sheets = draw_sheets(any_room.records, TRIAL, who="Ada").thing
    tests = [sheet for sheet in sheets if sheet.use == "test"]
    turns = draw_order(shares, days=2, seed=7, way=PLAN.order)
    assert [(s.place, s.day, s.candidate_id, s.code) for s in tests] == [
        (t.place, t.day, t.candidate_id, t.code) for t in turns
    ]
    spares = [sheet for sheet in sheets if sheet.use == "spare"]
    assert Counter(sheet.candidate_id for sheet in spares) == {share.candidate_id: 1 for share in shares}
    assert {sheet.place for sheet in spares} == {0}
    now = facts(any_room)
    assert drawn_as_planned(now)
    assert now.plan is not None
    assert now.plan.drawn_at is not None
    assert len({sheet.code for sheet in now.sheets}) == 15


def test_drawing_waits_for_a_plan_and_two_candidates(room: Room) -> None:
    room.candidate("fenland")
    with pytest.raises(RefusedInput, match="no plan"):
        draw_sheets(room.records, TRIAL, who="Ada")
    write_plan(room.records, PLAN, who="Ada")
    with pytest.raises(RefusedInput, match="two candidates"):
        draw_sheets(room.records, TRIAL, who="Ada")


def test_an_order_is_drawn_again_and_undone(room: Room) -> None:
    before = drawn(room)
    write_plan(room.records, replace(PLAN, seed=8), who="Ada")
    assert not drawn_as_planned(facts(room))
    act = draw_sheets(room.records, TRIAL, who="Ada")
    now = facts(room)
    assert len(now.sheets) == len(before.sheets)
    assert not {sheet.id for sheet in now.sheets} & {sheet.id for sheet in before.sheets}
    assert drawn_as_planned(now)
    undo(room.records, act.entry_id, who="Ada")
    assert facts(room).sheets == before.sheets


def test_plan_and_order_are_written_in_one_act(room: Room) -> None:
    before = drawn(room)
    act = draw_sheets(room.records, TRIAL, told=replace(PLAN, days=4, seed=9), who="Ada")
    now = facts(room)
    assert now.plan is not None
    assert (now.plan.days, now.plan.seed, drawn_as_planned(now)) == (4, 9, True)
    assert {sheet.day for sheet in now.sheets if sheet.use == "test"} == {1, 2, 3, 4}
    undo(room.records, act.entry_id, who="Ada")
    assert facts(room) == before


def test_setting_sheets_are_not_drawn_away(room: Room) -> None:
    before = drawn(room)
    candidate, used = before.candidates[0], {sheet.code for sheet in before.sheets}
    code = next(one for one in ("C2", "E3", "H4", "J5") if one not in used)
    with room.records.work("added", who="Ada", trial_id=TRIAL) as work:
        work.add(Sheet(id="s", trial_id=TRIAL, candidate_id=candidate.id, code=code, use="setting"))
    draw_sheets(room.records, TRIAL, who="Ada")
    codes = [sheet.code for sheet in facts(room).sheets]
    assert "s" in {sheet.id for sheet in facts(room).sheets}
    assert len(codes) == len(set(codes))


def printed(room: Room) -> TrialFacts:
    first = drawn(room).sheets[0]
    room.sealed()
    sheet = next(one for one in facts(room).sheets if one.place == 1)
    assert first.trial_id == TRIAL
    room.happened(sheet.id)
    return facts(room)


def test_an_order_that_is_being_printed_stands(room: Room) -> None:
    begun = begun_sheet(printed(room))
    assert begun is not None
    assert begun.place == 1
    with pytest.raises(RefusedInput, match=f"sheet {begun.code} has been begun.*further day"):
        draw_sheets(room.records, TRIAL, who="Ada")
    with pytest.raises(RefusedInput, match="stands as it was drawn"):
        write_plan(room.records, replace(PLAN, seed=8), who="Ada")
    assert write_plan(room.records, replace(PLAN, why="money"), who="Ada").thing.why == "money"


def test_sheets_are_added_on_a_further_day_and_marked(any_room: Room) -> None:
    before = printed(any_room)
    house, other, _ = before.candidates
    added = add_sheets(any_room.records, TRIAL, {house.id: 1, other.id: 2}, who="Ada").thing
    assert Counter(sheet.candidate_id for sheet in added) == {house.id: 1, other.id: 2}
    assert [sheet.place for sheet in added] == [13, 14, 15]
    assert {sheet.day for sheet in added} == {3}
    assert all(is_added(sheet) for sheet in added)
    now = facts(any_room)
    assert len({sheet.code for sheet in now.sheets}) == len(now.sheets)
    assert drawn_as_planned(now)
    shares = [
        replace(share, sheets={house.id: 1, other.id: 2}.get(share.candidate_id, 0))
        for share in shares_of(now)
    ]
    again = draw_order(shares, days=1, seed=seed_of_day(PLAN, 3), way=PLAN.order)
    assert [turn.candidate_id for turn in again] == [sheet.candidate_id for sheet in added]


def test_added_sheets_need_an_order_the_house_and_candidates_of_the_trial(room: Room) -> None:
    with pytest.raises(RefusedInput, match="no order"):
        add_sheets(room.records, TRIAL, {"x": 1}, who="Ada")
    house, other, third = drawn(room).candidates
    with pytest.raises(BadSetting, match="house medium"):
        add_sheets(room.records, TRIAL, {other.id: 1}, who="Ada")
    with pytest.raises(RefusedInput, match="no sheet"):
        add_sheets(room.records, TRIAL, {house.id: 0}, who="Ada")
    withdraw_candidate(room.records, third.id, why="curls", who="Ada")
    with pytest.raises(RefusedInput, match="no sheet"):
        add_sheets(room.records, TRIAL, {house.id: 1, third.id: 1}, who="Ada")
