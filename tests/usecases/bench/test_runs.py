"""Sittings at a printer: beginning, ticking, setting down, ending."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from bench_trial import RECIPE, BenchTrial, make_bench_trial
from laydown.kernel.errors import BadSetting, ChangedMeanwhile, LaydownError, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.sheets import BenchRun
from laydown.trials.stock import RollUse
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.bench.begin_run import begin_run, end_run, set_run
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.run_steps import (
    AFTER_SETTING_UP,
    NOWHERE,
    open_steps,
    prints_chart,
    run_steps,
    wants_value,
)
from laydown.usecases.bench.tick_step import tick_step, untick_step
from laydown.usecases.undo import undo
from ticking_clock import Clock


def kept(records: Records, run_id: str) -> BenchRun:
    with records.look() as look:
        return look.get(BenchRun, run_id)


def entries(records: Records) -> int:
    with records.look() as look:
        return len(look.entries(limit=500))


def test_a_sitting_begins_with_the_planned_recipe_printer_and_roll(
    any_records: Records,
) -> None:
    trial = make_bench_trial(any_records)
    run = begin_run(any_records, trial.rag, who="Ada", room_c=21.0, room_rh=48.0).thing
    assert kept(any_records, run.id) == run
    assert (run.recipe, run.printer_id, run.roll_id) == (RECIPE, trial.printer, "r-rag")
    assert (run.room_c, run.room_rh, run.by, run.ended_at) == (21.0, 48.0, "Ada", None)


def test_the_journal_says_who_began_what_where(records: Records, bench_trial: BenchTrial) -> None:
    acted = begin_run(records, bench_trial.rag, who="Ada")
    with records.look() as look:
        entry = look.entry(acted.entry_id)
    assert f"{entry.who} {entry.action} {entry.words}" == "Ada began a sitting with Fenland Rag at North wall"
    assert entry.trial_id == bench_trial.trial


def test_the_next_sitting_at_a_printer_ends_the_one_before(records: Records, bench_trial: BenchTrial) -> None:
    first = begin_run(records, bench_trial.rag, who="Ada").thing
    acted = begin_run(records, bench_trial.gloss, who="Ada")
    assert kept(records, first.id).ended_at == acted.thing.begun_at
    undo(records, acted.entry_id, who="Ada")
    assert kept(records, first.id).ended_at is None


def test_one_candidate_has_one_open_sitting_at_a_printer(records: Records, bench_trial: BenchTrial) -> None:
    begin_run(records, bench_trial.rag, who="Ada")
    with pytest.raises(RefusedInput, match="is open at North wall"):
        begin_run(records, bench_trial.rag, who="Ben")


@pytest.mark.parametrize("field", ["closed_at", "removed_at"])
def test_nothing_is_begun_in_a_trial_that_is_not_open(
    records: Records, bench_trial: BenchTrial, field: str
) -> None:
    with records.work("shut", who="Ada") as work:
        work.change(replace(work.get(Trial, bench_trial.trial), **{field: work.now}))
    with pytest.raises(RefusedInput) as refused:
        begin_run(records, bench_trial.rag, who="Ada")
    assert refused.value.todo


def test_a_withdrawn_candidate_is_not_printed(records: Records, bench_trial: BenchTrial) -> None:
    with records.work("withdrew", who="Ada") as work:
        work.change(replace(work.get(Candidate, bench_trial.rag), withdrawn_at=work.now))
    with pytest.raises(RefusedInput, match="withdrawn"):
        begin_run(records, bench_trial.rag, who="Ada")


def test_a_roll_of_another_medium_is_refused(records: Records, bench_trial: BenchTrial) -> None:
    with pytest.raises(BadSetting, match="not of the medium"):
        begin_run(records, bench_trial.rag, who="Ada", roll_id="r-gloss")


@pytest.mark.parametrize(("room_c", "room_rh"), [(451.0, None), (None, 130.0), (-40.0, None), (None, -1.0)])
def test_a_climate_no_room_has_is_refused(
    records: Records, bench_trial: BenchTrial, room_c: float | None, room_rh: float | None
) -> None:
    with pytest.raises(BadSetting, match="cannot be"):
        begin_run(records, bench_trial.rag, who="Ada", room_c=room_c, room_rh=room_rh)


def test_the_other_arm_of_a_load_takes_over_what_was_set_up(
    records: Records, bench_trial: BenchTrial
) -> None:
    first = begin_run(records, bench_trial.canvas, who="Ada", room_c=21.0, room_rh=48.0).thing
    tick_step(records, first.id, "gloves", who="Ada")
    tick_step(records, first.id, "media-setting", who="Ada", value="Canvas 3")
    tick_step(records, first.id, "print", who="Ada")
    second = begin_run(records, bench_trial.canvas_coated, who="Ada", same_load_as=first.id).thing
    assert {tick.step for tick in second.ticks} == {
        "room-temperature",
        "room-humidity",
        "gloves",
        "media-setting",
    }
    assert (second.room_c, second.room_rh, second.roll_id) == (21.0, 48.0, "r-canvas")
    assert second.recipe.media_setting == "Canvas 3"
    assert kept(records, first.id).ended_at is not None
    with pytest.raises(RefusedInput, match="not the same load"):
        begin_run(records, bench_trial.rag, who="Ada", same_load_as=second.id)


def test_the_steps_after_setting_up_are_steps_of_the_list(records: Records, bench_trial: BenchTrial) -> None:
    run = begin_run(records, bench_trial.canvas, who="Ada").thing
    steps = [step.id for step in run_steps(bench_trial.facts(records), run)]
    assert set(steps) >= AFTER_SETTING_UP
    assert steps[steps.index("print") :] == [step for step in steps if step in AFTER_SETTING_UP]


def test_a_room_given_at_the_beginning_is_not_asked_for_again(
    records: Records, bench_trial: BenchTrial
) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada", room_c=21.5, room_rh=48.0).thing
    assert {(tick.step, tick.value, tick.by) for tick in run.ticks} == {
        ("room-temperature", "21.5", "Ada"),
        ("room-humidity", "48", "Ada"),
    }
    asked = {step.id for step in open_steps(bench_trial.facts(records), run)}
    assert not asked & {"room-temperature", "room-humidity"}
    corrected = set_run(records, run.id, who="Ben", room_rh=52.0).thing
    (told,) = [tick for tick in corrected.ticks if tick.step == "room-humidity"]
    assert (told.value, told.by, corrected.room_rh) == ("52", "Ada", 52.0)


def test_a_room_set_down_later_is_a_step_done(records: Records, bench_trial: BenchTrial) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    told = set_run(records, run.id, who="Ben", room_c=22.0).thing
    assert [(tick.step, tick.value, tick.by) for tick in told.ticks] == [("room-temperature", "22", "Ben")]


def test_a_sitting_does_not_end_without_a_word_about_open_steps(
    records: Records, bench_trial: BenchTrial
) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    with pytest.raises(RefusedInput, match=r"none of the 2\d steps is ticked or skipped"):
        end_run(records, run.id, who="Ada")
    steps = run_steps(bench_trial.facts(records), run)
    for step in steps:
        if step.id not in ("gloves", "dust"):
            tick_step(records, run.id, step.id, who="Ada", value="48" if wants_value(step) else "")
    left = "2 steps are neither ticked nor skipped: “Put on clean gloves”, “Brush the printing side clean”."
    with pytest.raises(RefusedInput, match=re.escape(left)):
        end_run(records, run.id, who="Ada")
    assert kept(records, run.id).ended_at is None
    set_run(records, run.id, who="Ada", words="In a hurry.")
    acted = end_run(records, run.id, who="Ada", all_the_same=True)
    assert kept(records, run.id).ended_at is not None
    assert acted.thing.words == f"In a hurry.\nEnded although {left}"
    with records.look() as look:
        assert look.entry(acted.entry_id).words.endswith("“Brush the printing side clean”")


def test_a_sitting_ended_by_the_next_one_keeps_its_open_steps(
    records: Records, bench_trial: BenchTrial
) -> None:
    first = begin_run(records, bench_trial.rag, who="Ada").thing
    tick_step(records, first.id, "gloves", who="Ada")
    begin_run(records, bench_trial.gloss, who="Ada")
    assert re.search(r"^Ended although 2\d steps are neither", kept(records, first.id).words)


def test_a_sitting_with_all_steps_dealt_with_ends_at_once(records: Records, bench_trial: BenchTrial) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    for step in run_steps(bench_trial.facts(records), run):
        if step.skippable:
            tick_step(records, run.id, step.id, who="Ada", skipped_why="not today")
        else:
            tick_step(records, run.id, step.id, who="Ada")
    assert end_run(records, run.id, who="Ada").thing.words == ""


def test_an_ended_sitting_stays_as_it_ended(records: Records, bench_trial: BenchTrial, clock: Clock) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    ended = end_run(records, run.id, who="Ada", all_the_same=True).thing.ended_at
    count = entries(records)
    clock.advance(hours=1)
    assert end_run(records, run.id, who="Ben").thing.ended_at == ended
    assert entries(records) == count


def test_what_was_really_set_is_kept_beside_the_plan(records: Records, bench_trial: BenchTrial) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    set_run(records, run.id, who="Ada", recipe=replace(RECIPE, passes=12), room_c=22.5)
    assert kept(records, run.id).recipe.passes == 12
    assert kept(records, run.id).room_c == 22.5
    with records.look() as look:
        assert look.get(Candidate, bench_trial.rag).recipe == RECIPE


def test_two_tablets_do_not_overwrite_each_other(records: Records, bench_trial: BenchTrial) -> None:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    with records.look() as look:
        seen = look.revision(BenchRun, run.id)
    set_run(records, run.id, who="Ada", words="first", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        set_run(records, run.id, who="Ben", words="second", seen=seen)


# ---------------------------------------------------------------- ticks


@pytest.fixture
def run(records: Records, bench_trial: BenchTrial) -> BenchRun:
    return begin_run(records, bench_trial.rag, who="Ada").thing


def test_every_step_can_be_ticked_or_skipped(
    records: Records, bench_trial: BenchTrial, run: BenchRun
) -> None:
    for step in run_steps(bench_trial.facts(records), run):
        if step.noted is not None and step.noted.kind == "number":
            tick_step(
                records, run.id, step.id, who="Ada", value="48" if step.noted.field != "used_mm" else "0"
            )
        else:
            tick_step(records, run.id, step.id, who="Ada")
    ticked = {tick.step for tick in kept(records, run.id).ticks}
    assert ticked == {step.id for step in run_steps(bench_trial.facts(records), run)}


def test_the_same_tick_sent_twice_is_kept_once(
    records: Records, bench_trial: BenchTrial, run: BenchRun, clock: Clock
) -> None:
    at = records.now()
    first = tick_step(records, run.id, "gloves", who="Ada", at=at).thing
    count = entries(records)
    clock.advance(minutes=5)
    assert tick_step(records, run.id, "gloves", who="Ada", at=at).thing.ticks == first.ticks
    assert entries(records) == count


def test_a_tick_that_arrives_late_does_not_overwrite_a_newer_one(
    records: Records, run: BenchRun, clock: Clock
) -> None:
    made = records.now()
    clock.advance(minutes=10)
    tick_step(records, run.id, "room-humidity", who="Ben", value="52")
    tick_step(records, run.id, "room-humidity", who="Ada", value="47", at=made)
    assert kept(records, run.id).room_rh == 52.0


def test_a_tick_made_out_of_reach_carries_its_own_time(records: Records, run: BenchRun, clock: Clock) -> None:
    made = records.now()
    clock.advance(minutes=30)
    tick_step(records, run.id, "gloves", who="Ada", at=made)
    assert kept(records, run.id).ticks[0].at == made


@pytest.mark.parametrize("off", [timedelta(days=-30), timedelta(days=2)])
def test_a_tablet_with_a_wrong_clock_is_not_believed(
    records: Records, run: BenchRun, clock: Clock, off: timedelta
) -> None:
    tick_step(records, run.id, "gloves", who="Ada", at=clock.now + off)
    assert abs(kept(records, run.id).ticks[0].at - clock.now) < timedelta(minutes=1)


def test_a_noted_number_goes_to_the_room(records: Records, run: BenchRun) -> None:
    tick_step(records, run.id, "room-temperature", who="Ada", value="21,5")
    assert kept(records, run.id).room_c == 21.5


@pytest.mark.parametrize("value", ["", "warm", "400"])
def test_a_number_that_is_none_is_refused_in_a_sentence(records: Records, run: BenchRun, value: str) -> None:
    with pytest.raises(BadSetting) as refused:
        tick_step(records, run.id, "room-temperature", who="Ada", value=value)
    assert refused.value.todo
    assert kept(records, run.id).ticks == ()


def test_nothing_noted_means_as_planned(records: Records, run: BenchRun) -> None:
    tick_step(records, run.id, "media-setting", who="Ada", value="Velvet 1")
    assert kept(records, run.id).recipe.media_setting == "Velvet 1"
    tick_step(records, run.id, "media-setting", who="Ada")
    assert kept(records, run.id).recipe.media_setting == RECIPE.media_setting


@pytest.mark.parametrize(
    ("step", "value", "field", "kept_as"),
    [
        ("resolution-ppi", "1440", "resolution_ppi", 1440.0),
        ("direction", "both ways", "direction", "both ways"),
        ("cutter", "on", "cutter_off", False),
        ("cutter", "off", "cutter_off", True),
        ("intent", "perceptual", "intent", "perceptual"),
        ("colour-managed-once", "driver", "colour_managed_by", ("driver",)),
        ("colour-managed-once", NOWHERE, "colour_managed_by", ()),
        ("head-gap", "normal", "head_gap", "normal"),
    ],
)
def test_what_is_noted_at_a_step_is_kept_as_the_setting_it_is(
    records: Records, bench_trial: BenchTrial, step: str, value: str, field: str, kept_as: object
) -> None:
    run = begin_run(records, bench_trial.canvas, who="Ada").thing
    tick_step(records, run.id, step, who="Ada", value=value)
    assert getattr(kept(records, run.id).recipe, field) == kept_as


@pytest.mark.parametrize(
    ("step", "value"), [("direction", "sideways"), ("cutter", "maybe"), ("resolution-ppi", "a lot")]
)
def test_a_word_that_is_no_setting_is_refused(
    records: Records, bench_trial: BenchTrial, step: str, value: str
) -> None:
    run = begin_run(records, bench_trial.canvas, who="Ada").thing
    with pytest.raises(BadSetting):
        tick_step(records, run.id, step, who="Ada", value=value)


def test_only_some_steps_may_be_skipped_and_only_with_a_reason(records: Records, run: BenchRun) -> None:
    tick_step(records, run.id, "rested", who="Ada", skipped_why="was open already")
    assert kept(records, run.id).ticks[0].skipped
    with pytest.raises(RefusedInput, match="may not be skipped"):
        tick_step(records, run.id, "nozzles", who="Ada", skipped_why="in a hurry")


def test_a_step_that_is_not_on_the_list_is_refused(records: Records, run: BenchRun) -> None:
    with pytest.raises(RefusedInput, match="no such step"):
        tick_step(records, run.id, "dance", who="Ada")


def test_a_tick_is_taken_back_but_not_a_newer_one(records: Records, run: BenchRun, clock: Clock) -> None:
    old = tick_step(records, run.id, "gloves", who="Ada").thing.ticks[0].at
    untick_step(records, run.id, "gloves", who="Ada", ticked_at=old)
    assert kept(records, run.id).ticks == ()
    tick_step(records, run.id, "gloves", who="Ada")
    untick_step(records, run.id, "gloves", who="Ada", ticked_at=old)
    assert len(kept(records, run.id).ticks) == 1


def test_what_was_used_besides_the_sheets_is_taken_from_the_roll_once(
    records: Records, bench_trial: BenchTrial, run: BenchRun
) -> None:
    def used() -> float:
        with records.look() as look:
            return sum(use.length_mm or 0 for use in look.find(RollUse, roll_id="r-rag"))

    print_sheet(records, bench_trial.sheet(records, "rag").id, run_id=run.id, who="Ada")
    assert used() == 480.0
    tick_step(records, run.id, "used", who="Ada", value="700")
    assert used() == 700.0
    tick_step(records, run.id, "used", who="Ada", value="650")
    assert used() == 650.0
    untick_step(records, run.id, "used", who="Ada")
    assert used() == 480.0
    with pytest.raises(BadSetting, match="less was used in all"):
        tick_step(records, run.id, "used", who="Ada", value="100")


def test_a_chart_is_told_from_a_picture(records: Records, bench_trial: BenchTrial) -> None:
    facts = bench_trial.facts(records)
    assert not prints_chart(facts, RECIPE)
    charted = replace(facts, trial=replace(facts.trial, chart_name="chart 1", chart_sha256="ab" * 32))
    assert not prints_chart(charted, RECIPE)
    assert prints_chart(charted, replace(RECIPE, file_sha256="ab" * 32))
    assert prints_chart(charted, replace(RECIPE, file_name="", file_sha256=""))


def test_every_refusal_says_what_to_do(records: Records, bench_trial: BenchTrial, run: BenchRun) -> None:
    for attempt in (
        lambda: begin_run(records, bench_trial.rag, who="Ada"),
        lambda: tick_step(records, run.id, "dance", who="Ada"),
        lambda: begin_run(records, "nobody", who="Ada"),
    ):
        with pytest.raises(LaydownError) as refused:
            attempt()
        assert refused.value.todo
