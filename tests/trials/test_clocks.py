"""The clocks of a sheet: from print to cured, coated, dry; what may be done when; how old a reading is."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from a_small_trial import MONDAY, a_reading, a_trial, after, event, with_events
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.trials.clocks import Stage, reading_age, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import BenchRun

ORDER: tuple[Stage, ...] = ("planned", "curing", "cured", "drying", "dry")
HOURS = st.floats(0, 2000, allow_nan=False)


def _sheet(facts: TrialFacts, name: str = "rag") -> str:
    return f"s-{name}-1"


def _clocks(facts: TrialFacts, name: str, hours: float):
    return sheet_clocks(facts, facts.sheet(_sheet(facts, name)), now=after(hours))


def _printed(name: str, rh: float | None = None) -> TrialFacts:
    return with_events(a_trial(), event(f"s-{name}-1", "printed", MONDAY, rh=rh))


def _coated(at: float) -> TrialFacts:
    return with_events(_printed("canvas coated"), event("s-canvas coated-1", "coated", after(at)))


def test_what_is_not_printed_is_planned_and_nothing_may_be_done_with_it() -> None:
    clocks = _clocks(a_trial(), "rag", 0)
    assert (clocks.stage, clocks.ready_at, clocks.allowances) == ("planned", None, ())


def test_a_sheet_cures_in_a_day() -> None:
    """24 h before a chart is measured: common practice, no source."""
    facts = _printed("rag")
    assert [_clocks(facts, "rag", hours).stage for hours in (0, 23.99, 24)] == ["curing", "curing", "cured"]
    assert _clocks(facts, "rag", 0).ready_at == after(24)


def test_a_coated_arm_is_ready_when_its_coat_is_dry() -> None:
    facts = _coated(30)
    assert _clocks(_printed("canvas coated"), "canvas coated", 30).ready_at is None
    assert [_clocks(facts, "canvas coated", h).stage for h in (30, 53.9, 54)] == ["drying", "drying", "dry"]
    assert _clocks(facts, "canvas coated", 30).ready_at == after(54)


def test_a_coat_over_uncured_ink_is_not_dry_before_the_ink_had_its_time() -> None:
    facts = _coated(2)
    slow = replace(facts, trial=replace(facts.trial, cure_hours=60))
    clocks = _clocks(slow, "canvas coated", 30)
    assert (clocks.stage, clocks.dry_at) == ("drying", after(60))
    assert "before it had cured" in clocks.dry_why
    assert _clocks(facts, "canvas coated", 30).dry_at == after(26)


@pytest.mark.parametrize("rh", [45.1, 60.0])
def test_a_humid_room_doubles_the_cure(rh: float) -> None:
    """48 h instead of 24 h above about 45 % RH: common practice, no source."""
    clocks = _clocks(_printed("rag", rh), "rag", 0)
    assert clocks.cure_hours == 48
    assert f"{rh:g} % RH" in clocks.cure_why


@pytest.mark.parametrize("rh", [None, 20.0, 45.0])
def test_a_dry_or_unknown_room_does_not(rh: float | None) -> None:
    assert _clocks(_printed("rag", rh), "rag", 0).cure_hours == 24


def test_the_room_of_the_bench_run_stands_in_for_the_sheets_own() -> None:
    facts = _printed("rag")
    run = BenchRun(id="run", trial_id="t", candidate_id="c-rag", printer_id="p", begun_at=MONDAY, room_rh=55)
    sheets = tuple(replace(one, run_id="run") if one.id == "s-rag-1" else one for one in facts.sheets)
    in_run = replace(facts, runs=(run,), sheets=sheets)
    assert _clocks(in_run, "rag", 0).cure_hours == 48
    own = with_events(replace(in_run, events=()), event("s-rag-1", "printed", MONDAY, rh=40))
    assert _clocks(own, "rag", 0).cure_hours == 24


def _two_arms(rag: float | None, canvas: float | None, *, apart: float) -> TrialFacts:
    """The rag is printed first and the canvas so many hours later, each in a room of that humidity."""
    return with_events(
        a_trial(),
        event("s-rag-1", "printed", MONDAY, rh=rag),
        event("s-canvas-1", "printed", after(apart), rh=canvas),
    )


@pytest.mark.parametrize(("noted", "hours"), [(52.0, 48.0), (41.0, 24.0)])
def test_a_room_that_was_not_noted_is_the_one_noted_nearest_that_day(noted: float, hours: float) -> None:
    """Two arms of one day do not cure unlike long because one number was not typed."""
    for facts, told in (
        (_two_arms(noted, None, apart=3), "3 h before it"),
        (_two_arms(None, noted, apart=3), "3 h after it"),
        (_two_arms(noted, None, apart=0.5), "within the hour before it"),
    ):
        clocks = [_clocks(facts, name, 30) for name in ("rag", "canvas")]
        assert {one.cure_hours for one in clocks} == {hours}
        lent = next(one for one in clocks if "not noted" in one.cure_why)
        assert f"{noted:g} % RH (not noted at this print, but {told})" in lent.cure_why


def test_of_two_notes_the_last_one_before_the_print_speaks() -> None:
    facts = with_events(
        a_trial(),
        event("s-baryta-1", "printed", MONDAY, rh=60),
        event("s-rag-1", "printed", after(5)),
        event("s-canvas-1", "printed", after(6), rh=40),
    )
    assert _clocks(facts, "rag", 30).cure_hours == 48


def test_a_note_of_another_day_and_of_a_coat_say_nothing_of_the_room() -> None:
    """More than 12 h apart is another day (our own judgement); coats are put on elsewhere."""
    far = _two_arms(60, None, apart=12.1)
    assert _clocks(far, "canvas", 30).cure_hours == 24
    coat = with_events(_two_arms(None, None, apart=1), event("s-canvas coated-2", "coated", after(1), rh=60))
    assert "room humidity not noted" in _clocks(far, "canvas", 30).cure_why
    assert _clocks(coat, "rag", 30).cure_why == "the usual time of this trial; room humidity not noted"


def test_a_barrier_layer_lengthens_the_cure_and_holds_back_the_glazing() -> None:
    """Days, up to about two weeks, before a barrier medium is glazed: common practice, no source."""
    clocks = _clocks(_printed("baryta"), "baryta", 100)
    assert clocks.cure_hours == 48
    glaze = next(one for one in clocks.allowances if one.deed == "glaze")
    assert (glaze.now, glaze.since) == (False, after(14 * 24))


def test_humid_and_barrier_together_double_once() -> None:
    clocks = _clocks(_printed("baryta", 60), "baryta", 0)
    assert clocks.cure_hours == 48
    assert " and " in clocks.cure_why


def test_what_a_candidate_states_beats_every_rule() -> None:
    facts = _printed("baryta", 60)
    stated = replace(
        facts,
        candidates=tuple(replace(one, cure_hours=5, dry_hours=1) for one in facts.candidates),
    )
    clocks = _clocks(stated, "baryta", 0)
    assert (clocks.cure_hours, clocks.dry_hours) == (5, 1)
    assert "this candidate" in clocks.cure_why


def test_touching_waits_an_hour_and_again_while_a_coat_dries() -> None:
    def touch(facts: TrialFacts, hours: float) -> bool:
        allowed = _clocks(facts, "canvas coated", hours).allowances
        return next(one.now for one in allowed if one.deed == "touch")

    bare = _printed("canvas coated")
    assert [touch(bare, hours) for hours in (0.5, 1, 30)] == [False, True, True]
    assert [touch(_coated(30), hours) for hours in (31, 54)] == [False, True]


def test_coating_is_offered_once_cured_and_only_once() -> None:
    def deeds(facts: TrialFacts, name: str, hours: float) -> dict[str, bool]:
        return {one.deed: one.now for one in _clocks(facts, name, hours).allowances}

    assert not deeds(_printed("canvas coated"), "canvas coated", 23)["coat"]
    assert deeds(_printed("canvas coated"), "canvas coated", 24)["coat"]
    assert "coat" not in deeds(_coated(30), "canvas coated", 31)
    assert "coat" not in deeds(_printed("rag"), "rag", 30)
    assert not deeds(_printed("canvas coated"), "canvas coated", 999)["glaze"]
    assert deeds(_coated(30), "canvas coated", 54)["glaze"]


def test_a_spoiled_sheet_is_spoiled_for_good() -> None:
    facts = with_events(_printed("rag"), event("s-rag-1", "spoiled", after(3)))
    for hours in (4, 400):
        clocks = _clocks(facts, "rag", hours)
        assert (clocks.stage, clocks.allowances) == ("spoiled", ())


@settings(deadline=None)
@given(HOURS, HOURS, st.none() | HOURS, st.sampled_from(["rag", "baryta", "canvas coated"]))
def test_no_stage_goes_back_and_none_comes_out_of_order(
    first: float, then: float, coat: float | None, name: str
) -> None:
    facts = _printed(name)
    if coat is not None and name == "canvas coated":
        facts = with_events(facts, event("s-canvas coated-1", "coated", after(coat)))
    begin = max(coat or 0.0, 0.0)
    early, late = sorted((begin + first, begin + then))
    before, later = _clocks(facts, name, early), _clocks(facts, name, late)
    assert ORDER.index(before.stage) <= ORDER.index(later.stage)
    for old, new in zip(before.allowances, later.allowances, strict=True):
        assert (old.deed, old.now <= new.now) == (new.deed, True), "what is allowed stays allowed"
    if later.dry_at is not None and later.cured_at is not None:
        assert later.dry_at >= later.cured_at
    assert later.ready_at is None or (late >= (later.ready_at - MONDAY) / timedelta(hours=1)) == (
        later.stage in ("cured", "dry")
    )


@settings(deadline=None)
@given(st.floats(0, 100), st.floats(0, 100))
def test_a_damper_room_never_cures_sooner(dry: float, damp: float) -> None:
    dry, damp = sorted((dry, damp))
    for name in ("rag", "baryta"):
        assert (
            _clocks(_printed(name, dry), name, 0).cure_hours
            <= _clocks(_printed(name, damp), name, 0).cure_hours
        )


@settings(deadline=None)
@given(st.floats(0, 1000), st.floats(0, 1000))
def test_a_longer_cure_is_never_over_sooner(short: float, long: float) -> None:
    short, long = sorted((short, long))
    facts = _printed("rag")
    ends = [
        _clocks(replace(facts, trial=replace(facts.trial, cure_hours=hours)), "rag", 0).cured_at
        for hours in (short, long)
    ]
    assert ends[0] is not None
    assert ends[1] is not None
    assert ends[0] <= ends[1]


def test_a_reading_before_settling_is_early_and_says_so() -> None:
    facts = _printed("rag")
    early = reading_age(facts, a_reading("s-rag-1", after(5.5)))
    assert early is not None
    assert (early.early, early.hours, early.finish) == (True, 5.5, "uncoated")
    assert early.why == "read 5.5 h after it was printed, 24 h are wanted"
    late = reading_age(facts, a_reading("s-rag-1", after(24)))
    assert late is not None
    assert (late.early, late.why) == (False, "")


def test_a_reading_of_the_minute_of_the_coat_counts_as_coated() -> None:
    """Whether it was just before cannot be told; a wet coat must not pass for a settled bare print."""
    age = reading_age(_coated(30), a_reading("s-canvas coated-1", after(30)))
    assert age is not None
    assert (age.finish, age.early) == ("coated", True)


def test_readings_before_the_coat_are_uncoated_and_after_it_coated() -> None:
    facts = _coated(30)
    ages = [reading_age(facts, a_reading("s-canvas coated-1", after(hours))) for hours in (26, 31, 54)]
    assert [(age.finish, age.early) for age in ages if age] == [
        ("uncoated", False),
        ("coated", True),
        ("coated", False),
    ]
    assert ages[1] is not None
    assert ages[1].why == "read 1.0 h after it was coated, 24 h are wanted"
    assert ages[2] is not None
    assert ages[2].hours == 54, "age counts from printing"


def test_where_no_time_of_measurement_is_stated_the_receipt_stands_in_and_says_so() -> None:
    age = reading_age(_printed("rag"), a_reading("s-rag-1", after(30), stated=False))
    assert age is not None
    assert (age.measured_at_stated, age.hours) == (False, 30)


def test_without_a_sheet_or_a_print_there_is_no_age() -> None:
    assert reading_age(_printed("rag"), a_reading(None, after(30))) is None
    assert reading_age(a_trial(), a_reading("s-rag-1", after(30))) is None
