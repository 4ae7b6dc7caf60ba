"""The calendar: the week as studios work it, moved by what happens, and the stop date in danger."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from a_small_trial import (
    MONDAY,
    a_reading,
    a_trial,
    after,
    all_printed,
    event,
    sealed,
    with_events,
    with_readings,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.trials.calendar import TrialCalendar, trial_calendar
from laydown.trials.diary import CalendarItem
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Brief, BriefChange
from laydown.trials.working_time import WorkingHours

BEFORE = MONDAY - timedelta(days=3)
EVERY_DAY = WorkingHours(weekdays=tuple(range(7)))


def _items(calendar: TrialCalendar) -> dict[str, CalendarItem]:
    assert len({item.id for item in calendar.items}) == len(calendar.items)
    return {item.id: item for item in calendar.items}


def _of(
    facts: TrialFacts, now: datetime = BEFORE, hours: WorkingHours | None = None
) -> dict[str, CalendarItem]:
    return _items(trial_calendar(facts, now=now, hours=hours or WorkingHours()))


def _studio_week() -> TrialFacts:
    """Four media and the house medium, five sheets each, one arm coated, working every day."""
    facts = a_trial()
    assert facts.plan is not None
    more = replace(facts.candidates[0], id="c-more", name="more", house=False)
    return replace(
        facts,
        sheets=(),
        plan=replace(facts.plan, sheets_per_candidate=5),
        candidates=(*facts.candidates, more),
    )


def test_the_week_is_the_one_studios_describe() -> None:
    """Days of a trial of four media and the house medium: common practice, no source.

    0 book in, 72 h rest, 3 setting sheets, 4 charts, 5 profiles, 5-6 test prints, 7 measure and coat,
    8-9 measure coated, 9-10 handling, 10 decision. By our figures the first printing day does not fit
    behind the profiles, so that printing begins a day later; the rest makes up for it.
    """
    facts = _studio_week()
    quick = replace(facts, media=tuple(replace(one, barrier=False) for one in facts.media))
    items = _of(quick, hours=EVERY_DAY)
    assert items["rest"].ends - items["rest"].begins == timedelta(hours=72)
    assert {name: (item.begins.date() - MONDAY.date()).days for name, item in items.items()} == {
        "book-in": 0,
        "rest": 0,
        "settings": 3,
        "charts": 4,
        "charts-cure": 4,
        "profiles": 5,
        "print-1": 6,
        "cure-1": 6,
        "print-2": 7,
        "cure-2": 7,
        "measure-uncoated": 8,
        "coat": 8,
        "dry": 8,
        "measure-coated": 9,
        "look": 9,
        "last": 9,
        "handling": 10,
        "decide": 10,
        "stop": 18,
    }


def test_free_days_are_free() -> None:
    items = _of(_studio_week())
    for item in items.values():
        if item.kind == "work":
            assert item.begins.weekday() < 5, item.id
            assert item.ends.weekday() < 5, item.id


def test_boxes_rest_one_day_and_what_came_earlier_has_rested() -> None:
    facts = a_trial()
    boxes = replace(facts, rolls=tuple(replace(roll, form="sheets") for roll in facts.rolls))
    rest = _of(boxes)["rest"]
    assert rest.ends - rest.begins == timedelta(hours=24)
    there = replace(facts, rolls=tuple(replace(roll, received=date(2026, 2, 20)) for roll in facts.rolls))
    assert "rest" not in _of(there)
    half = replace(facts, rolls=tuple(replace(roll, received=date(2026, 3, 1)) for roll in facts.rolls))
    assert _of(half)["rest"].ends == datetime(2026, 3, 4, 17, tzinfo=UTC), "72 h from closing time on Sunday"


def test_one_roll_that_is_late_holds_up_all() -> None:
    facts = a_trial()
    rolls = (facts.rolls[0], *(replace(roll, received=date(2026, 2, 20)) for roll in facts.rolls[1:]))
    assert _of(replace(facts, rolls=rolls))["rest"].ends == after(1 + 72)


def test_waits_are_as_long_as_the_clocks_say() -> None:
    items = _of(a_trial())
    assert items["cure-1"].ends - items["cure-1"].begins == timedelta(hours=48), "baryta has a barrier"
    assert items["dry"].ends - items["dry"].begins == timedelta(hours=24)
    bare = replace(a_trial(), media=tuple(replace(one, barrier=False) for one in a_trial().media))
    assert _of(bare)["cure-1"].ends - _of(bare)["cure-1"].begins == timedelta(hours=24)


def test_nothing_is_measured_before_it_has_cured_or_coated_before_either() -> None:
    items = _of(a_trial())
    cured = max(items["cure-1"].ends, items["cure-2"].ends)
    assert items["measure-uncoated"].begins >= cured
    assert items["coat"].begins >= cured
    assert items["dry"].begins == items["coat"].ends
    assert items["measure-coated"].begins >= items["dry"].ends
    assert items["print-2"].begins.date() > items["print-1"].begins.date()


def test_without_a_coated_arm_nothing_is_coated() -> None:
    facts = a_trial()
    bare = replace(facts, candidates=facts.candidates[:3], sheets=())
    assert not {"coat", "dry", "measure-coated"} & set(_of(bare))
    only = replace(facts, candidates=facts.candidates[3:], sheets=())
    assert "measure-uncoated" not in _of(only)
    assert "coat" in _of(only)


def test_a_plan_without_a_first_day_begins_on_the_next_working_day() -> None:
    facts = a_trial()
    assert facts.plan is not None
    loose = replace(facts, plan=replace(facts.plan, first_day=None))
    friday_evening = datetime(2026, 3, 6, 18, tzinfo=UTC)
    assert _of(loose, friday_evening)["book-in"].begins == datetime(2026, 3, 9, 9, tzinfo=UTC)


def test_without_a_plan_or_candidates_there_is_no_calendar_yet() -> None:
    empty = TrialCalendar((), None, None, "")
    assert trial_calendar(replace(a_trial(), plan=None), now=MONDAY) == empty
    assert trial_calendar(replace(a_trial(), candidates=(), sheets=()), now=MONDAY) == empty


def test_work_takes_as_long_as_the_planning_figures_say() -> None:
    """By hand: 4 sheets of 8 min and 4 loads of 6 min; 6 sheets of 10 min; 20 min and 2 sheets of 5 min.

    The canvas and its coated arm lie next to each other on one roll, so that each day has 3 loads.
    """
    items = _of(a_trial())
    minutes = {
        name: (items[name].ends - items[name].begins) / timedelta(minutes=1)
        for name in ("book-in", "settings", "charts", "profiles", "print-1", "print-2", "coat")
    }
    assert minutes == {
        "book-in": 60,
        "settings": 4 * 30,
        "charts": 4 * 45,
        "profiles": 4 * 45,
        "print-1": 4 * 8 + 3 * 6,
        "print-2": 4 * 8 + 3 * 6,
        "coat": 20 + 2 * 5,
    }
    uncoated, coated = items["measure-uncoated"], items["measure-coated"]
    assert WorkingHours().after(uncoated.begins, 1.0) == uncoated.ends
    assert WorkingHours().after(coated.begins, 1 / 3) == coated.ends


def test_boxes_cost_no_loading() -> None:
    facts = a_trial()
    boxes = replace(facts, rolls=tuple(replace(roll, form="sheets") for roll in facts.rolls))
    item = _of(boxes)["print-1"]
    assert item.ends - item.begins == timedelta(minutes=4 * 8)


def test_charts_wait_for_the_slowest_candidate() -> None:
    wait = _of(a_trial())["charts-cure"]
    assert wait.ends - wait.begins == timedelta(hours=48)
    quick = replace(a_trial(), media=tuple(replace(one, barrier=False) for one in a_trial().media))
    slow = replace(
        quick,
        candidates=tuple(replace(c, cure_hours=60) if c.name == "rag" else c for c in quick.candidates),
    )
    wait = _of(slow)["charts-cure"]
    assert wait.ends - wait.begins == timedelta(hours=60)
    assert _of(slow)["cure-1"].gate.startswith("60 h")


def test_what_leaves_no_record_goes_by_the_clock() -> None:
    assert _of(a_trial(), after(-0.1))["book-in"].state == "ahead"
    assert _of(a_trial(), after(0))["book-in"].state == "under way"
    assert _of(a_trial(), after(1))["book-in"].state == "taken as done"
    assert _of(a_trial(), after(1))["rest"].state == "under way"
    assert _of(a_trial(), after(73))["rest"].state == "taken as done"
    assert _of(a_trial(), after(73))["settings"].state == "under way"
    assert _of(a_trial(), after(24 * 6 + 3))["charts-cure"].state == "taken as done"


# ------------------------------------------------------------- what really happened


def test_prints_stand_at_their_own_times() -> None:
    printed = all_printed(a_trial(), after(50))
    items = _of(printed, after(51))
    assert (items["print-1"].state, items["print-1"].begins, items["print-1"].ends) == (
        "done",
        after(50),
        after(50),
    )
    assert items["cure-1"].state == "under way"
    assert items["cure-1"].ends == after(50 + 48)
    for name in ("book-in", "settings", "charts", "profiles"):
        assert items[name].state == "taken as done"
        assert items[name].ends <= after(50)


def test_a_printing_day_lasts_from_its_first_sheet_to_its_last() -> None:
    facts = a_trial()
    times = {"s-canvas-1": 50.0, "s-rag-1": 50.5, "s-canvas coated-1": 51.0, "s-baryta-1": 52.0}
    facts = with_events(facts, *(event(sheet, "printed", after(at)) for sheet, at in times.items()))
    items = _of(facts, after(60))
    assert (items["print-1"].begins, items["print-1"].ends) == (after(50), after(52))
    assert items["book-in"].ends <= after(50), "before the first of them"
    assert items["cure-1"].begins == after(52)


def test_a_print_before_the_plan_began_drags_the_preparations_with_it() -> None:
    facts = with_events(
        a_trial(),
        event("s-rag-1", "printed", after(-24)),
        event("s-canvas-1", "printed", after(-23.5)),
    )
    items = _of(facts, after(-23))
    assert items["book-in"].ends == after(-24)
    assert items["profiles"].ends == after(-24)
    assert {items[name].state for name in ("book-in", "settings", "charts", "profiles")} == {"taken as done"}
    assert "rest" not in items


def test_what_is_left_of_a_day_takes_its_share_of_the_time() -> None:
    """2 of 4 sheets are printed: half of 50 minutes is left, from now on."""
    facts = with_events(
        a_trial(),
        event("s-rag-1", "printed", after(100)),
        event("s-baryta-1", "printed", after(100.2)),
    )
    item = _of(facts, after(101))["print-1"]
    assert (item.begins, item.ends) == (after(100), after(101) + timedelta(minutes=25))


def test_the_first_reading_that_counts_is_when_a_sheet_was_measured() -> None:
    facts = all_printed(a_trial())
    bare = [sheet for sheet in facts.sheets if "coated" not in sheet.id]
    facts = with_readings(
        facts,
        *(a_reading(sheet.id, after(at)) for sheet in bare for at in (60, 50)),
    )
    item = _of(facts, after(70))["measure-uncoated"]
    assert (item.begins, item.ends) == (after(50), after(50))


def test_no_preparation_ends_after_the_first_print() -> None:
    items = _of(with_events(a_trial(), event("s-rag-1", "printed", after(110))), after(111))
    assert items["charts-cure"].ends == items["profiles"].ends == after(110)
    assert items["charts-cure"].state == "taken as done"


def test_of_two_coats_the_slower_is_waited_for() -> None:
    facts = a_trial()
    slow = replace(facts.candidates[3], id="c-slow", name="slow", dry_hours=36)
    both = _of(replace(facts, sheets=(), candidates=(*facts.candidates, slow)))
    assert both["dry"].gate.startswith("36 h")
    assert both["dry"].ends - both["dry"].begins == timedelta(hours=36)


def test_a_trial_of_sheets_that_are_all_spoiled_still_has_a_calendar() -> None:
    facts = with_events(a_trial(), *(event(sheet.id, "spoiled", MONDAY) for sheet in a_trial().sheets))
    items = _of(facts, after(1))
    assert "print-1" not in items
    assert items["charts-cure"].ends - items["charts-cure"].begins == timedelta(hours=24)
    assert "decide" in items


def test_a_day_half_printed_is_under_way_and_the_rest_lies_ahead() -> None:
    facts = with_events(a_trial(), event("s-rag-1", "printed", after(100)))
    items = _of(facts, after(101))
    assert (items["print-1"].state, items["print-1"].begins) == ("under way", after(100))
    assert items["print-1"].ends > after(101)
    assert items["cure-1"].ends >= items["print-1"].ends


def test_what_is_late_moves_on_and_takes_the_rest_along() -> None:
    planned = trial_calendar(a_trial(), now=BEFORE)
    late = trial_calendar(a_trial(), now=after(24 * 14))
    assert planned.decision is not None
    assert late.decision is not None
    assert _items(late)["print-1"].begins >= after(24 * 14)
    assert late.decision - planned.decision > timedelta(days=5)
    assert _items(late)["book-in"].state == "taken as done"


def test_coats_and_readings_are_done_when_all_are() -> None:
    facts = all_printed(a_trial())
    facts = with_events(facts, event("s-canvas coated-1", "coated", after(50)))
    items = _of(facts, after(60))
    assert items["coat"].state == "under way"
    facts = with_events(facts, event("s-canvas coated-2", "coated", after(51)))
    items = _of(facts, after(60))
    assert (items["coat"].state, items["coat"].begins, items["coat"].ends) == ("done", after(50), after(51))
    assert (items["dry"].state, items["dry"].ends) == ("under way", after(75))
    facts = with_readings(facts, *(a_reading(s.id, after(49)) for s in facts.sheets if "coated" not in s.id))
    items = _of(facts, after(76))
    assert (items["measure-uncoated"].state, items["measure-coated"].state) == ("done", "ahead")
    assert items["dry"].state == "done"
    facts = with_readings(facts, *(a_reading(s.id, after(77)) for s in facts.sheets if "coated" in s.id))
    assert _of(facts, after(78))["measure-coated"].state == "done"


def test_readings_that_do_not_count_leave_the_work_undone() -> None:
    facts = all_printed(a_trial())
    early = with_readings(facts, *(a_reading(sheet.id, after(2)) for sheet in facts.sheets))
    assert _of(early, after(3))["measure-uncoated"].state == "ahead"


def test_spoiled_and_withdrawn_are_not_waited_for() -> None:
    facts = with_events(all_printed(a_trial()), event("s-rag-1", "spoiled", after(1)))
    assert _of(facts, after(2))["print-1"].title == "Print day 1: 3 sheets"
    gone = replace(
        facts,
        candidates=tuple(
            replace(c, withdrawn_at=MONDAY) if c.finish == "coated" else c for c in facts.candidates
        ),
    )
    assert "coat" not in _of(gone, after(2))


# ------------------------------------------------------------- the stop date


def _stop(day: date | None) -> TrialFacts:
    return replace(a_trial(), brief=sealed(Brief(id="b", trial_id="t", stop_date=day)))


def test_a_stop_date_with_room_is_no_danger() -> None:
    calendar = trial_calendar(_stop(date(2026, 4, 30)), now=BEFORE)
    assert calendar.danger == ""
    assert calendar.stop == datetime(2026, 4, 30, 17, tzinfo=UTC)
    assert _items(calendar)["stop"].kind == "gate"


def test_a_missed_stop_date_is_said_in_days() -> None:
    free = trial_calendar(_stop(None), now=BEFORE)
    assert free.stop is None
    assert free.danger == ""
    assert "stop" not in _items(free)
    assert free.decision is not None
    end = free.decision.date()
    missed = trial_calendar(_stop(end - timedelta(days=3)), now=BEFORE)
    assert "missed by 3 days" in missed.danger
    assert f"{end.day} {end:%B %Y}" in missed.danger
    one = trial_calendar(_stop(end - timedelta(days=1)), now=BEFORE)
    assert "missed by 1 day:" in one.danger
    close = trial_calendar(_stop(end), now=BEFORE)
    assert "is close" in close.danger
    assert trial_calendar(_stop(end + timedelta(days=1)), now=BEFORE).danger == ""


def test_the_stop_date_in_force_counts() -> None:
    change = BriefChange(
        id="1",
        trial_id="t",
        at=MONDAY,
        by="Ada",
        field="stop_date",
        before="2026-03-06",
        after="2026-04-30",
        before_plain='"2026-03-06"',
        after_plain='"2026-04-30"',
        why="roll came late",
    )
    early = _stop(date(2026, 3, 6))
    assert trial_calendar(early, now=BEFORE).danger
    assert trial_calendar(replace(early, brief_changes=(change,)), now=BEFORE).danger == ""


def test_what_runs_on_does_not_press_on_the_stop_date() -> None:
    calendar = trial_calendar(a_trial(), now=BEFORE)
    last = _items(calendar)["last"]
    assert not last.counts
    assert calendar.decision is not None
    assert last.ends > calendar.decision
    assert _items(calendar)["decide"].begins == calendar.decision


# ------------------------------------------------------------- always


def test_the_studios_own_clock_and_hours_rule() -> None:
    zone = ZoneInfo("America/Los_Angeles")
    items = _of(a_trial(), hours=WorkingHours(zone=zone))
    assert items["book-in"].begins == datetime(2026, 3, 2, 17, tzinfo=UTC)
    assert all(item.begins.utcoffset() == timedelta(0) for item in items.values())


@settings(deadline=None, max_examples=40)
@given(
    st.integers(1, 6),
    st.integers(1, 4),
    st.floats(-200, 600),
    st.lists(st.floats(0, 300), max_size=8),
)
def test_whatever_happened_items_follow_each_other_and_nothing_undone_lies_in_the_past(
    sheets: int, days: int, hours: float, printed: list[float]
) -> None:
    facts = a_trial()
    assert facts.plan is not None
    if sheets >= days and not printed:
        facts = replace(facts, sheets=(), plan=replace(facts.plan, sheets_per_candidate=sheets, days=days))
    else:
        facts = with_events(
            facts, *(event(s.id, "printed", after(at)) for s, at in zip(facts.sheets, sorted(printed)))
        )
    now = max([after(hours), *(one.at for one in facts.events)])
    calendar = trial_calendar(facts, now=now)
    items = _items(calendar)
    for item in calendar.items:
        assert item.begins <= item.ends, item.id
        assert item.state != "done" or item.ends <= now, item.id
        if item.kind == "work" and item.state == "ahead":
            assert item.begins >= now, item.id
    assert list(calendar.items) == sorted(calendar.items, key=lambda item: item.begins)
    assert calendar.decision == max(item.ends for item in calendar.items if item.counts and item.id != "stop")
    assert items["measure-uncoated"].begins >= items["cure-1"].begins


@pytest.mark.parametrize("now", [BEFORE, after(24 * 4), after(24 * 30)])
def test_waiting_alone_never_brings_the_decision_nearer(now: datetime) -> None:
    earlier, later = (trial_calendar(a_trial(), now=at).decision for at in (now, now + timedelta(days=2)))
    assert earlier is not None
    assert later is not None
    assert earlier <= later
