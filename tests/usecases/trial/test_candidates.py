"""Candidates are named from the stock room, altered while nothing is printed, and withdrawn with a reason."""

from __future__ import annotations

from dataclasses import replace

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Lot
from laydown.trials.trial import Candidate, Plan, Trial
from laydown.usecases.trial.draw_sheets import draw_sheets
from laydown.usecases.trial.name_candidate import (
    alter_candidate,
    move_candidate,
    name_candidate,
    name_coated_arm,
)
from laydown.usecases.trial.withdraw_candidate import (
    readmit_candidate,
    strike_candidate,
    withdraw_candidate,
)
from laydown.usecases.trial.write_plan import write_plan
from laydown.usecases.undo import undo
from stocked_room import TRIAL, Room


def facts(room: Room) -> TrialFacts:
    with room.records.look() as look:
        return load_facts(look, TRIAL)


def test_a_candidate_takes_the_name_of_its_medium_and_the_last_place(any_room: Room) -> None:
    any_room.candidate("fenland", house=True)
    told = Candidate(id="", trial_id=TRIAL, medium_id="tidemill", name="")
    named = name_candidate(any_room.records, told, who="Ada").thing
    assert (named.name, named.position) == ("Tidemill Rag", 2)
    assert [one.name for one in facts(any_room).candidates] == ["Fenland", "Tidemill Rag"]


def test_lot_roll_and_medium_belong_together(room: Room) -> None:
    told = Candidate(id="", trial_id=TRIAL, medium_id="tidemill", name="T", lot_id="lot-fenland")
    with pytest.raises(BadSetting, match="another medium"):
        name_candidate(room.records, told, who="Ada")
    with pytest.raises(BadSetting, match="another lot"):
        name_candidate(room.records, replace(told, lot_id=None, roll_id="roll-tidemill"), who="Ada")


def test_the_house_medium_is_one(room: Room) -> None:
    room.candidate("fenland", house=True)
    room.candidate("tidemill", house=True)
    assert [one.name for one in facts(room).candidates if one.house] == ["Tidemill"]


def test_names_are_told_apart(room: Room) -> None:
    room.candidate("fenland")
    with pytest.raises(BadSetting, match="already"):
        room.candidate("fenland")


def test_the_coated_arm_is_the_same_in_all_but_the_coat(room: Room) -> None:
    plain = room.candidate("fenland", house=True)
    arm = name_coated_arm(room.records, plain.id, coat=Coat(product="Acrylic"), who="Ada").thing
    assert arm.twin_id == plain.id
    assert (arm.finish, arm.coat, arm.house) == ("coated", Coat(product="Acrylic"), False)
    same = {"medium_id", "lot_id", "roll_id", "printer_id", "recipe", "cure_hours"}
    assert all(getattr(arm, name) == getattr(plain, name) for name in same)
    with pytest.raises(RefusedInput, match="already"):
        name_coated_arm(room.records, plain.id, who="Ada")
    with pytest.raises(RefusedInput, match="coated itself"):
        name_coated_arm(room.records, arm.id, who="Ada")


def test_an_arm_keeps_its_medium_and_finish(room: Room) -> None:
    plain = room.candidate("fenland")
    arm = name_coated_arm(room.records, plain.id, who="Ada").thing
    with pytest.raises(BadSetting, match="other arm"):
        alter_candidate(room.records, replace(arm, finish="uncoated"), who="Ada")
    told = replace(plain, medium_id="tidemill", lot_id=None, roll_id=None)
    with pytest.raises(BadSetting, match="other arm"):
        alter_candidate(room.records, told, who="Ada")


def test_altering_keeps_what_it_does_not_ask_for(room: Room) -> None:
    plain = room.candidate("fenland")
    with room.records.look() as look:
        seen = look.revision(Candidate, plain.id)
    told = replace(plain, name="Fenland, spring lot", position=9, words="new", coat=Coat(product="X"))
    altered = alter_candidate(room.records, told, who="Ada", seen=seen).thing
    assert (altered.name, altered.position, altered.words, altered.coat) == (
        "Fenland, spring lot", 1, "new", None,
    )  # fmt: skip
    with pytest.raises(ChangedMeanwhile):
        alter_candidate(room.records, told, who="Bo", seen=seen)


@pytest.mark.parametrize("hours", [0, -1, 1e5])
def test_hours_that_cannot_be_are_refused(room: Room, hours: float) -> None:
    plain = room.candidate("fenland")
    with pytest.raises(BadSetting, match="cure"):
        alter_candidate(room.records, replace(plain, cure_hours=hours), who="Ada")


def test_candidates_move_one_place(room: Room) -> None:
    for medium in ("fenland", "tidemill", "gullwing"):
        room.candidate(medium)
    last = facts(room).candidates[-1]
    move_candidate(room.records, last.id, towards="up", who="Ada")
    assert [one.name for one in facts(room).candidates] == ["Fenland", "Gullwing", "Tidemill"]
    assert [one.position for one in facts(room).candidates] == [1, 2, 3]
    first = facts(room).candidates[0]
    with pytest.raises(RefusedInput, match="first already"):
        move_candidate(room.records, first.id, towards="up", who="Ada")


def test_withdrawing_needs_a_reason_and_can_be_taken_back(room: Room) -> None:
    plain = room.candidate("fenland")
    with pytest.raises(BadSetting, match="reason"):
        withdraw_candidate(room.records, plain.id, why="", who="Ada")
    act = withdraw_candidate(room.records, plain.id, why="curls.", who="Ada")
    assert (act.thing.withdrawn_why, act.thing.withdrawn_at is not None) == ("curls", True)
    with pytest.raises(RefusedInput, match="already"):
        withdraw_candidate(room.records, plain.id, why="curls", who="Ada")
    assert readmit_candidate(room.records, plain.id, who="Ada").thing == plain


def with_printed_sheet(room: Room) -> Candidate:
    house, other = room.candidate("fenland", house=True), room.candidate("tidemill")
    write_plan(room.records, Plan(id="", trial_id=TRIAL, sheets_per_candidate=2), who="Ada")
    draw_sheets(room.records, TRIAL, who="Ada")
    room.sealed()
    with room.records.look() as look:
        sheet = look.find(Sheet, candidate_id=house.id, use="test")[0]
    room.happened(sheet.id)
    assert other.position == 2
    return house


def test_a_printed_candidate_is_withdrawn_and_not_struck_off(room: Room) -> None:
    house = with_printed_sheet(room)
    with pytest.raises(RefusedInput, match="begun"):
        strike_candidate(room.records, house.id, who="Ada")
    assert withdraw_candidate(room.records, house.id, why="curls", who="Ada").thing.withdrawn_why


def test_what_was_printed_on_stays_what_it_was(room: Room) -> None:
    house = with_printed_sheet(room)
    with room.records.work("booked in", who="Ada") as work:
        work.add(Lot(id="lot-2", medium_id="fenland", code="L2"))
    with pytest.raises(RefusedInput, match="lot stays"):
        alter_candidate(room.records, replace(house, lot_id="lot-2", roll_id=None), who="Ada")
    assert alter_candidate(room.records, replace(house, words="seen"), who="Ada").thing.words == "seen"


def test_striking_off_takes_unprinted_sheets_along_and_undo_brings_them_back(room: Room) -> None:
    room.candidate("fenland", house=True)
    other = room.candidate("tidemill")
    write_plan(room.records, Plan(id="", trial_id=TRIAL, sheets_per_candidate=2), who="Ada")
    draw_sheets(room.records, TRIAL, who="Ada")
    before = facts(room)
    act = strike_candidate(room.records, other.id, who="Ada")
    assert {sheet.candidate_id for sheet in facts(room).sheets} == {before.candidates[0].id}
    undo(room.records, act.entry_id, who="Ada")
    assert facts(room) == before


def test_an_arm_is_struck_off_before_its_twin(room: Room) -> None:
    plain = room.candidate("fenland")
    arm = name_coated_arm(room.records, plain.id, who="Ada").thing
    with pytest.raises(RefusedInput, match="coated arm"):
        strike_candidate(room.records, plain.id, who="Ada")
    strike_candidate(room.records, arm.id, who="Ada")
    strike_candidate(room.records, plain.id, who="Ada")
    assert facts(room).candidates == ()


def test_a_closed_trial_takes_no_candidates(room: Room) -> None:
    with room.records.work("closed", who="Ada") as work:
        work.change(replace(work.get(Trial, TRIAL), closed_at=work.now))
    with pytest.raises(RefusedInput, match="closed"):
        room.candidate("fenland")
