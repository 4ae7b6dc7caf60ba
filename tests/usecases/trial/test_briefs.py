"""A brief is written freely, sealed once, and changed only with date and reason after that."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, Contradiction, RefusedInput
from laydown.records.trial_facts import load_facts
from laydown.trials.brief_changes import brief_in_force
from laydown.trials.seals import seal_holds
from laydown.trials.trial import Brief, BriefChange, Gate, WantedDifference
from laydown.usecases.trial.change_brief import change_brief
from laydown.usecases.trial.seal_brief import seal_brief
from laydown.usecases.trial.write_brief import write_brief
from laydown.usecases.undo import undo
from stocked_room import BRIEF, TRIAL, Room
from ticking_clock import Clock


def kept(room: Room) -> Brief:
    with room.records.look() as look:
        (brief,) = look.find(Brief, trial_id=TRIAL)
    return brief


def in_force(room: Room) -> Brief:
    with room.records.look() as look:
        facts = load_facts(look, TRIAL)
    assert facts.brief is not None
    return brief_in_force(facts.brief, facts.brief_changes)


def test_a_draft_is_written_again_and_again(room: Room) -> None:
    first = room.brief()
    again = write_brief(room.records, replace(BRIEF, sizes="A2"), who="Bo").thing
    assert (again.id, kept(room).sizes) == (first.id, "A2")


def test_a_draft_may_be_undone(room: Room) -> None:
    act = write_brief(room.records, BRIEF, who="Ada")
    undo(room.records, act.entry_id, who="Ada")
    with room.records.look() as look:
        assert look.count(Brief) == 0


def test_what_cannot_stand_is_refused_with_every_slip(room: Room) -> None:
    wrong = replace(
        BRIEF,
        gates=(Gate(name="Flat"), Gate(name="flat")),
        differences=(WantedDifference(finding="opacity", amount=-1),),
    )
    with pytest.raises(BadSetting, match=r"twice.*above 0"):
        write_brief(room.records, wrong, who="Ada")


def test_two_tablets_do_not_overwrite_each_other(room: Room) -> None:
    brief = room.brief()
    with room.records.look() as look:
        seen = look.revision(Brief, brief.id)
    write_brief(room.records, replace(BRIEF, sizes="A2"), who="Bo", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        write_brief(room.records, replace(BRIEF, sizes="A1"), who="Ada", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        seal_brief(room.records, TRIAL, who="Ada", seen=seen)
    assert kept(room).sealed_at is None


def test_a_sealed_brief_answers_to_its_seal_after_it_was_read_back(any_room: Room) -> None:
    sealed = any_room.sealed()
    assert seal_holds(kept(any_room))
    assert kept(any_room) == sealed


def test_nothing_is_sealed_without_a_question_or_twice(room: Room) -> None:
    with pytest.raises(RefusedInput, match="no brief"):
        seal_brief(room.records, TRIAL, who="Ada")
    write_brief(room.records, replace(BRIEF, question=""), who="Ada")
    with pytest.raises(BadSetting, match="question"):
        seal_brief(room.records, TRIAL, who="Ada")
    room.sealed()
    with pytest.raises(RefusedInput, match="already"):
        seal_brief(room.records, TRIAL, who="Ada")


def test_a_seal_cannot_be_undone_nor_written_over(room: Room) -> None:
    room.brief()
    act = seal_brief(room.records, TRIAL, who="Ada")
    with pytest.raises(RefusedInput, match="cannot be undone"):
        undo(room.records, act.entry_id, who="Ada")
    with pytest.raises(RefusedInput, match="sealed"):
        write_brief(room.records, replace(BRIEF, sizes="A2"), who="Ada")


def test_a_sealed_brief_is_changed_part_by_part(any_room: Room) -> None:
    room = any_room
    sealed = room.sealed()
    wanted = replace(sealed, sizes="A2", gates=(*sealed.gates, Gate(name="No flakes")))
    made = change_brief(room.records, wanted, why="the client asked", who="Bo").thing
    assert [(one.field, one.part, one.by, one.why) for one in made] == [
        ("sizes", "", "Bo", "the client asked"),
        ("gates", "No flakes", "Bo", "the client asked"),
    ]
    assert in_force(room) == wanted
    assert kept(room) == sealed


def test_a_change_needs_a_reason_a_seal_and_a_difference(room: Room) -> None:
    brief = room.brief()
    with pytest.raises(RefusedInput, match="not sealed"):
        change_brief(room.records, replace(brief, sizes="A2"), why="x", who="Ada")
    room.sealed()
    with pytest.raises(BadSetting, match="reason"):
        change_brief(room.records, replace(brief, sizes="A2"), why=" ", who="Ada")
    with pytest.raises(RefusedInput, match="nothing differs"):
        change_brief(room.records, brief, why="x", who="Ada")


def test_two_changes_from_one_page_do_not_cover_each_other(room: Room) -> None:
    sealed = room.sealed()
    change_brief(room.records, replace(sealed, sizes="A2"), why="x", who="Bo", seen=0)
    with pytest.raises(ChangedMeanwhile):
        change_brief(room.records, replace(sealed, judges="Cy"), why="x", who="Ada", seen=0)


def test_changes_are_undone_from_the_top(room: Room) -> None:
    sealed = room.sealed()
    first = change_brief(room.records, replace(sealed, sizes="A2"), why="x", who="Ada")
    second = change_brief(room.records, replace(sealed, sizes="A1"), why="y", who="Ada")
    with pytest.raises(Contradiction, match="later change"):
        undo(room.records, first.entry_id, who="Ada")
    undo(room.records, second.entry_id, who="Ada")
    assert in_force(room).sizes == "A2"
    undo(room.records, first.entry_id, who="Ada")
    assert in_force(room) == sealed


def test_a_clock_put_back_does_not_turn_the_order_of_changes_round(room: Room, clock: Clock) -> None:
    sealed = room.sealed()
    change_brief(room.records, replace(sealed, sizes="A2"), why="x", who="Ada")
    clock.now -= timedelta(hours=3)
    change_brief(room.records, replace(sealed, sizes="A1"), why="y", who="Ada")
    assert in_force(room).sizes == "A1"
    with room.records.look() as look:
        assert look.count(BriefChange, trial_id=TRIAL) == 2


def test_the_journal_says_what_was_changed_and_why(room: Room) -> None:
    sealed = room.sealed()
    act = change_brief(
        room.records, replace(sealed, gates=(Gate(name="No flakes"),)), why="They fell off.", who="Ada"
    )
    with room.records.look() as look:
        entry = look.entry(act.entry_id)
    told = f"{entry.who} {entry.action} {entry.words}"
    assert told == "Ada changed the brief: must-have Lies flat, must-have No flakes, because They fell off"
