"""What the page of the calendar shows: every step with its gate, and a drawn line of time."""

from __future__ import annotations

from calendar import day_name
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from laydown.report.moments import day_words, moment_short, zone
from laydown.trials.calendar import TrialCalendar, trial_calendar
from laydown.trials.diary import CalendarItem
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Studio
from laydown.trials.working_time import WorkingHours
from laydown.web.views.trial_frame import TrialFrame, trial_frame

ROW = 26
TOP = 34
WIDTH = 1000
ASIDE = 7  # between a bar and its name
LABEL_EVERY = 78  # a day's name needs as much room
MOST_LINES = 45  # more days are drawn as lines only where they are named


@dataclass(frozen=True, slots=True)
class CalendarLine:
    """One step, in words."""

    title: str
    begins: str
    begins_iso: str
    ends: str
    kind: str
    state: str
    gate: str
    why: str
    counts: bool


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """The steps that begin on one day; ``today`` marks it."""

    words: str
    today: bool
    lines: tuple[CalendarLine, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One step drawn: its row, from where to where, and how; its title stands behind or before it."""

    y: int
    x: float
    width: float
    title: str
    title_x: float
    title_before: bool
    kind: str
    over: bool


@dataclass(frozen=True, slots=True)
class Tick:
    """A line across all rows: a day's beginning, now, or the stop date; ``words`` may be empty."""

    x: float
    words: str
    kind: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """The drawn calendar, in its own units: 1 is a pixel at full size."""

    width: int
    height: int
    bars: tuple[Bar, ...]
    ticks: tuple[Tick, ...]
    words: str


@dataclass(frozen=True, slots=True)
class CalendarView:
    """The calendar of a trial. ``beyond`` are steps that run on long after the decision, not drawn."""

    frame: TrialFrame
    days: tuple[CalendarDay, ...]
    timeline: Timeline | None
    beyond: tuple[CalendarLine, ...]
    decision: str
    stop: str
    danger: str
    first_day: str
    revision: int
    written: bool
    working_hours: str
    refusal: str = ""


def studio_hours(studio: Studio, *, now: datetime) -> WorkingHours:
    """The usual working hours by the clock on the studio's wall."""
    here: tzinfo | None = zone(studio.time_zone) or now.astimezone().tzinfo
    return WorkingHours(zone=here) if here else WorkingHours()


def calendar_view(
    facts: TrialFacts, *, revision: int, now: datetime, typed: str | None = None, refusal: str = ""
) -> CalendarView:
    """What the page shows; ``typed`` is the first day of a refused form."""
    hours = studio_hours(facts.studio, now=now)
    told = trial_calendar(facts, now=now, hours=hours)
    first = facts.plan.first_day.isoformat() if facts.plan and facts.plan.first_day else ""
    drawn = [item for item in told.items if item.counts]
    near = [item for item in drawn if not _is_far(item, told, drawn)]
    return CalendarView(
        frame=trial_frame(facts, now=now, here="plan"),
        days=_days(drawn, facts.studio, hours, now),
        timeline=_timeline(near, told, hours, now) if drawn else None,
        beyond=tuple(_line(item, facts.studio, now) for item in told.items if not item.counts),
        decision=day_words(hours.day_of(told.decision)) if told.decision else "",
        stop=day_words(hours.day_of(told.stop)) if told.stop else "",
        danger=told.danger,
        first_day=first if typed is None else typed,
        revision=revision,
        written=facts.plan is not None,
        working_hours=_hours_words(hours),
        refusal=refusal,
    )


def _hours_words(hours: WorkingHours) -> str:
    """Such as "9:00 to 17:00, Monday to Friday"."""
    names = [day_name[number] for number in sorted(hours.weekdays)]
    run = len(names) > 2 and hours.weekdays == tuple(range(min(hours.weekdays), max(hours.weekdays) + 1))
    days = f"{names[0]} to {names[-1]}" if run else ", ".join(names)
    return f"{hours.begins.hour}:{hours.begins:%M} to {hours.ends.hour}:{hours.ends:%M}, {days}"


def _is_far(item: CalendarItem, told: TrialCalendar, items: Sequence[CalendarItem]) -> bool:
    """Whether a stop date lies so far beyond the decision that drawing it would squeeze all else."""
    if told.decision is None or item.begins <= told.decision:
        return False
    span = told.decision - min(one.begins for one in items)
    return item.begins - told.decision > span + timedelta(days=2)


def _days(
    items: Sequence[CalendarItem], studio: Studio, hours: WorkingHours, now: datetime
) -> tuple[CalendarDay, ...]:
    """Every day on which something begins, and today where it lies between them."""
    today = hours.day_of(now)
    by_day: dict[date, list[CalendarLine]] = {}
    for item in items:
        by_day.setdefault(hours.day_of(item.begins), []).append(_line(item, studio, now))
    if by_day and min(by_day) <= today <= max(by_day):
        by_day.setdefault(today, [])
    return tuple(
        CalendarDay(f"{day:%A}, {day_words(day)}", day == today, tuple(by_day[day])) for day in sorted(by_day)
    )


def _line(item: CalendarItem, studio: Studio, now: datetime) -> CalendarLine:
    zone_name = studio.time_zone
    ends = moment_short(item.ends, time_zone=zone_name, now=now) if item.ends != item.begins else ""
    return CalendarLine(
        title=item.title,
        begins=f"{item.begins.astimezone(zone(zone_name)):%H:%M}",
        begins_iso=item.begins.isoformat(),
        ends=ends,
        kind=item.kind,
        state=item.state,
        gate=item.gate,
        why=item.why,
        counts=item.counts,
    )


def _timeline(
    items: Sequence[CalendarItem], told: TrialCalendar, hours: WorkingHours, now: datetime
) -> Timeline:
    first = hours.day_of(min(item.begins for item in items))
    last = hours.day_of(max(item.ends for item in items)) + timedelta(days=1)
    days = max((last - first).days, 1)
    begin = datetime.combine(first, datetime.min.time(), hours.zone)
    end = datetime.combine(last, datetime.min.time(), hours.zone)

    def x(moment: datetime) -> float:
        share = (moment - begin) / (end - begin)
        return round(WIDTH * min(max(share, 0.0), 1.0), 1)

    every = -(-days * LABEL_EVERY // WIDTH)
    ticks = []
    for number in range(days + 1):
        day = first + timedelta(days=number)
        at = datetime.combine(day, datetime.min.time(), hours.zone)
        words = f"{day:%a} {day.day} {day:%b}" if number % every == 0 and number < days else ""
        if words or days <= MOST_LINES:
            ticks.append(Tick(x(at), words, "day"))
    if begin <= now < end:
        ticks.append(Tick(x(now), "now", "now"))
    if told.stop is not None and begin <= told.stop < end:
        ticks.append(Tick(x(told.stop), "stop date", "stop"))
    bars = tuple(_bar(item, row, x(item.begins), x(item.ends)) for row, item in enumerate(items))
    words = f"{len(bars)} steps from {day_words(first)} to {day_words(last - timedelta(days=1))}"
    return Timeline(WIDTH, TOP + ROW * len(bars) + 10, bars, tuple(ticks), words)


def _bar(item: CalendarItem, row: int, x: float, end: float) -> Bar:
    """A bar with its title behind it, or before it where there is more room."""
    width = max(round(end - x, 1), 3.0)
    before = x + width > 0.6 * WIDTH
    half = 8.0 if item.kind == "gate" else 0.0
    return Bar(
        y=TOP + ROW * row,
        x=x,
        width=width,
        title=item.title,
        title_x=round(x - half - ASIDE if before else x + max(width, half) + ASIDE, 1),
        title_before=before,
        kind=item.kind,
        over=item.state in ("done", "taken as done"),
    )
