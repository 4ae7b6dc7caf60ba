"""Working hours: nights, free days and the change of the clocks."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.trials.working_time import USUAL_HOURS, WorkingHours

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)
HOURS = st.floats(-500, 500, allow_nan=False)


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        (at(2, 8), at(2, 9)),
        (at(2, 12), at(2, 12)),
        (at(2, 17), at(3, 9)),
        (at(6, 18), at(9, 9)),  # Friday evening to Monday
        (at(7, 10), at(9, 9)),  # Saturday
    ],
)
def test_work_begins_when_somebody_is_there(moment: datetime, expected: datetime) -> None:
    assert USUAL_HOURS.next_moment(moment) == expected


@pytest.mark.parametrize(
    ("moment", "hours", "expected"),
    [
        (at(2, 9), 8, at(2, 17)),
        (at(2, 9), 8.5, at(3, 9, 30)),
        (at(2, 16), 3, at(3, 11)),
        (at(6, 16), 2, at(9, 10)),
        (at(6, 16), 10, at(10, 10)),
        (at(2, 20), 0, at(3, 9)),
    ],
)
def test_nights_and_free_days_do_not_count(moment: datetime, hours: float, expected: datetime) -> None:
    assert USUAL_HOURS.after(moment, hours) == expected


def test_the_next_day_is_never_today() -> None:
    assert USUAL_HOURS.next_day(at(2, 8)) == at(3, 9)
    assert USUAL_HOURS.next_day(at(6, 8)) == at(9, 9)


def test_what_fits_today() -> None:
    assert USUAL_HOURS.fits_today(at(2, 9), 8)
    assert not USUAL_HOURS.fits_today(at(2, 9), 8.1)
    assert USUAL_HOURS.fits_today(at(2, 18), 8), "begun tomorrow, over tomorrow"


def test_the_clock_on_the_wall_rules_when_clocks_change() -> None:
    """In Berlin the night to 29 March 2026 is an hour short (last Sunday of March, EU rule)."""
    berlin = WorkingHours(zone=ZoneInfo("Europe/Berlin"))
    friday = datetime(2026, 3, 27, 8, tzinfo=UTC)  # 9:00 there
    assert berlin.next_moment(friday - timedelta(hours=3)) == friday
    assert berlin.next_day(friday) == datetime(2026, 3, 30, 7, tzinfo=UTC)  # 9:00 there again
    assert berlin.after(friday, 9) == datetime(2026, 3, 30, 8, tzinfo=UTC)


@settings(deadline=None)
@given(HOURS, st.floats(0, 60), st.floats(0, 60))
def test_more_work_never_ends_sooner_and_always_within_working_hours(
    start: float, less: float, more: float
) -> None:
    less, more = sorted((less, more))
    moment = MONDAY + timedelta(hours=start)
    short, long = USUAL_HOURS.after(moment, less), USUAL_HOURS.after(moment, more)
    assert moment <= short <= long
    for end in (short, long):
        assert end.weekday() < 5
        assert time(9) <= end.time() <= time(17)
    assert USUAL_HOURS.after(short, more - less) >= long - timedelta(milliseconds=1)


def test_hours_that_make_no_sense_are_refused() -> None:
    with pytest.raises(BadSetting, match="cannot end at"):
        WorkingHours(begins=time(17), ends=time(9))
    with pytest.raises(BadSetting, match="no working day"):
        WorkingHours(weekdays=())
    with pytest.raises(BadSetting, match="no working day"):
        WorkingHours(weekdays=(9,))
