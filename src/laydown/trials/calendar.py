"""The calendar of a trial: what is worked on when, what is waited for, and whether the stop date holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from laydown.trials.brief_changes import brief_in_force
from laydown.trials.clocks import reading_age
from laydown.trials.diary import CalendarItem, Diary
from laydown.trials.facts import TrialFacts
from laydown.trials.planning_times import (
    BOOK_IN_HOURS,
    CHART_HOURS,
    CLOSE_HOURS,
    COAT_MINUTES,
    COAT_SETUP_MINUTES,
    DARK_WEEKS,
    HANDLING_HOURS,
    LOOK_HOURS,
    MEASURE_MINUTES,
    PROFILE_HOURS,
    SETTING_HOURS,
    SHEET_MINUTES,
    WINDOW_WEEKS,
)
from laydown.trials.print_order import LOAD_MINUTES, loads_of, planned_turns, shares_of
from laydown.trials.resting import rest_hours
from laydown.trials.route import is_usable
from laydown.trials.sheets import Sheet
from laydown.trials.working_time import USUAL_HOURS, WorkingHours


@dataclass(frozen=True, slots=True)
class TrialCalendar:
    """A trial's calendar in order of time.

    ``decision`` is when everything that the decision waits for is over, ``stop`` the closing hour of the
    stop date. ``danger`` is a sentence where they clash or nearly do, else "".
    """

    items: tuple[CalendarItem, ...]
    decision: datetime | None
    stop: datetime | None
    danger: str


def trial_calendar(facts: TrialFacts, *, now: datetime, hours: WorkingHours = USUAL_HOURS) -> TrialCalendar:
    """The calendar of a trial from its plan and candidates, moved along by what really happened.

    Day 0 is the plan's first day, or the next working day where it states none. Prints, coats and readings
    that are recorded stand at their own times; what is still to print, coat or read is never put into the
    past. About booking in, settings, charts and profiles a trial may record nothing: they are taken as done
    when their time has passed or a test sheet is printed. How long work takes is our own planning figure,
    good enough to see whether a week is enough and for nothing else.

    Parameters
    ----------
    facts
        The trial. Without a plan or candidates there is no calendar yet.
    now
        The present moment, aware.
    hours
        Working hours, days and time zone.

    Returns
    -------
    TrialCalendar
        Items in order of time, the decision they lead to, and the danger to the stop date.

    Raises
    ------
    BadSetting
        The plan's print order cannot be drawn.
    """
    candidates = tuple(one for one in facts.candidates if one.withdrawn_at is None)
    if facts.plan is None or not candidates:
        return TrialCalendar((), None, None, "")
    diary = Diary(facts, candidates, _sheets(facts), now, hours)
    begun = _prepare(diary)
    settled = _print(diary, begun)
    measured = _coat_and_measure(diary, settled)
    decision = _finish(diary, measured)
    stop = _stop(facts, hours)
    if stop is not None:
        diary.add(
            "stop", "Stop date", stop, stop, "gate", "decide, or say why not yet", "Fixed in the brief."
        )
    items = tuple(sorted(diary.items, key=lambda item: item.begins))
    return TrialCalendar(items, decision, stop, _danger(decision, stop, hours))


def _sheets(facts: TrialFacts) -> tuple[Sheet, ...]:
    """Test sheets as drawn, or as the plan would draw them; those that were spoiled or withdrawn are gone."""
    gone = {candidate.id for candidate in facts.candidates if candidate.withdrawn_at is not None}
    spoiled = {event.sheet_id for event in facts.events if event.kind == "spoiled"}
    kept = [sheet for sheet in facts.sheets if sheet.use == "test"]
    if not kept:
        kept = [
            Sheet(
                id=f"planned-{turn.place}",
                trial_id=facts.trial.id,
                candidate_id=turn.candidate_id,
                code=turn.code,
                place=turn.place,
                day=turn.day,
            )
            for turn in planned_turns(facts)
        ]
    return tuple(sheet for sheet in kept if sheet.candidate_id not in gone and sheet.id not in spoiled)


def _prepare(diary: Diary) -> datetime:
    """Book in, rest, settings, charts, profiles; returns when test prints may begin."""
    facts, hours = diary.facts, diary.hours
    count = len(diary.candidates)
    first_day = facts.plan.first_day if facts.plan else None
    opening = hours.opening(first_day) if first_day else diary.first_print or diary.now
    booked = diary.unrecorded(
        "book-in",
        "Book in, photograph labels",
        opening,
        BOOK_IN_HOURS.value,
        "",
        "A label thrown away is a lot nobody can name again.",
    )
    rested = _rested(diary, booked)
    if rested > booked:
        over = diary.first_print is not None or rested <= diary.now
        diary.add(
            "rest",
            "Media rest in the room, wrapped",
            booked,
            rested,
            "wait",
            f"{rest_hours('roll'):g} h a roll, {rest_hours('sheets'):g} h a box",
            "Cold or damp media curl, strike the head and take ink differently.",
            state="taken as done" if over else "ahead",
        )
    set_up = diary.unrecorded(
        "settings",
        "Nozzle, gap, feed; print setting sheets",
        max(rested, booked),
        SETTING_HOURS.value * count,
        "nozzle pattern whole",
        "A wrong media setting cannot be mended by a profile.",
    )
    charts = diary.unrecorded(
        "charts",
        "Judge setting sheets, calibrate, print charts",
        hours.next_day(set_up),
        CHART_HOURS.value * count,
        "recipe locked",
        "Setting sheets are judged after a night; colour moves most in the first hour.",
    )
    slowest = max((one.cure_hours for one in diary.clocks.values()), default=facts.trial.cure_hours)
    cured = charts + timedelta(hours=slowest)
    if diary.first_print is not None:
        cured = min(cured, diary.first_print)
    if cured > charts:
        diary.add(
            "charts-cure",
            "Charts cure",
            charts,
            cured,
            "wait",
            "cured before they are measured",
            "A profile from a chart that was still moving is wrong for good.",
            state="taken as done" if cured <= diary.now else "ahead",
        )
    return diary.unrecorded(
        "profiles",
        "Measure charts, build profiles",
        cured,
        PROFILE_HOURS.value * count,
        "one profile for each candidate, kept",
        "Profiles of unlike origin make an unfair comparison.",
    )


def _rested(diary: Diary, booked: datetime) -> datetime:
    """When the last roll or box has rested; those received earlier have rested since."""
    rolls = {roll.id: roll for roll in diary.facts.rolls}
    ends = []
    for candidate in diary.candidates:
        roll = rolls.get(candidate.roll_id or "")
        received = diary.hours.closing(roll.received) if roll and roll.received else booked
        rest = timedelta(hours=rest_hours(roll.form if roll else "roll"))
        ends.append(min(received, booked) + rest)
    rested = max(ends)
    return min(rested, diary.first_print) if diary.first_print is not None else rested


def _print(diary: Diary, begun: datetime) -> datetime:
    """Each printing day and its cure; returns when all sheets are cured."""
    hours, earliest, cured = diary.hours, begun, begun
    for day in sorted({sheet.day for sheet in diary.sheets}):
        sheets = [sheet for sheet in diary.sheets if sheet.day == day]
        needed = _printing_hours(diary, day, len(sheets))
        if not hours.fits_today(max(earliest, diary.now), needed):
            earliest = hours.next_day(max(earliest, diary.now))
        done = [at for sheet in sheets if (at := diary.clocks[sheet.id].printed_at) is not None]
        printed = diary.recorded(
            f"print-{day}",
            f"Print day {day}: {len(sheets)} sheets",
            done,
            len(sheets),
            earliest,
            needed,
            "brief sealed, recipe locked, nozzle pattern whole",
            "In random order, the house medium on every day, so that drift falls on all alike.",
        )
        ends = max(
            diary.clocks[sheet.id].cured_at or printed + timedelta(hours=diary.clocks[sheet.id].cure_hours)
            for sheet in sheets
        )
        diary.add(
            f"cure-{day}",
            f"Day {day} cures",
            printed,
            max(printed, ends),
            "wait",
            f"{max(diary.clocks[sheet.id].cure_hours for sheet in sheets):g} h before measuring and coating",
            "What is measured too early has not settled; nothing can be seen that says it has.",
            state="done" if len(done) == len(sheets) and ends <= diary.now else "ahead",
        )
        cured = max(cured, ends)
        earliest = hours.next_day(printed)
    return cured


def _printing_hours(diary: Diary, day: int, sheets: int) -> float:
    turns = planned_turns(diary.facts)
    rolls = [load for load in loads_of(turns, shares_of(diary.facts)) if load.day == day and load.on_roll]
    return (sheets * SHEET_MINUTES.value + len(rolls) * LOAD_MINUTES.value) / 60


def _coat_and_measure(diary: Diary, cured: datetime) -> datetime:
    """Measure the uncoated arms, coat and dry and measure the coated ones; returns when all are measured."""
    finish = {candidate.id: candidate.finish for candidate in diary.candidates}
    uncoated = [sheet for sheet in diary.sheets if finish[sheet.candidate_id] == "uncoated"]
    coated = [sheet for sheet in diary.sheets if finish[sheet.candidate_id] == "coated"]
    at = cured
    if uncoated:
        at = _measure(diary, "measure-uncoated", "Measure uncoated sheets", uncoated, at)
    if not coated:
        return at
    done = [when for sheet in coated if (when := diary.clocks[sheet.id].coated_at) is not None]
    ended = diary.recorded(
        "coat",
        f"Coat {len(coated)} sheets",
        done,
        len(coated),
        at,
        (COAT_SETUP_MINUTES.value + COAT_MINUTES.value * len(coated)) / 60,
        "cured; data sheet read, ventilation and protection in place",
        "A coat changes the measurement: judge in the state in which work is delivered.",
    )
    dry = max(
        diary.clocks[sheet.id].dry_at or ended + timedelta(hours=diary.clocks[sheet.id].dry_hours)
        for sheet in coated
    )
    diary.add(
        "dry",
        "Coat dries",
        ended,
        max(ended, dry),
        "wait",
        f"{max(diary.clocks[sheet.id].dry_hours for sheet in coated):g} h before measuring",
        "A coat that is still drying changes gloss and black.",
        state="done" if len(done) == len(coated) and dry <= diary.now else "ahead",
    )
    return _measure(diary, "measure-coated", "Measure coated sheets", coated, max(ended, dry))


def _measure(diary: Diary, name: str, title: str, sheets: list[Sheet], earliest: datetime) -> datetime:
    facts = diary.facts
    first: dict[str, datetime] = {}
    for sheet in sheets:
        for reading in facts.readings_of(sheet.id):
            age = reading_age(facts, reading)
            if age is not None and is_usable(facts, reading_id=reading.id):
                first[sheet.id] = min(age.measured_at, first.get(sheet.id, age.measured_at))
    return diary.recorded(
        name,
        title,
        list(first.values()),
        len(sheets),
        earliest,
        len(sheets) * MEASURE_MINUTES.value / 60,
        "settled, all at one age",
        "Readings of other ages are not comparable.",
    )


def _finish(diary: Diary, measured: datetime) -> datetime:
    """What follows the measurements; returns when the decision may be taken."""
    looked = diary.unrecorded_after(
        "look",
        "Look: blind, under the stated lights",
        measured,
        LOOK_HOURS.value,
        "settled; codes hidden",
        "Buyers look; they do not measure.",
    )
    handled = diary.unrecorded_after(
        "handling",
        "Handling tests",
        looked,
        HANDLING_HOURS.value,
        "cured samples only",
        "A print that scuffs or cracks is returned, whatever its colour.",
    )
    diary.add(
        "last",
        "Window strips, then a dark rest",
        measured,
        measured + timedelta(weeks=WINDOW_WEEKS.value + DARK_WEEKS.value),
        "wait",
        "read at 2, 4, 8 and 13 weeks",
        "A comparison that runs on after the decision, without life claims.",
        counts=False,
    )
    return diary.add(
        "decide",
        "Decide",
        handled,
        handled,
        "gate",
        "must-haves first, then the weights of the brief",
        "Provisional: what runs on is marked as running.",
    )


def _stop(facts: TrialFacts, hours: WorkingHours) -> datetime | None:
    if facts.brief is None:
        return None
    day = brief_in_force(facts.brief, facts.brief_changes).stop_date
    return hours.closing(day) if day else None


def _danger(decision: datetime, stop: datetime | None, hours: WorkingHours) -> str:
    if stop is None:
        return ""
    spare = stop - decision
    told, end = (f"{day.day} {day:%B %Y}" for day in (hours.day_of(stop), hours.day_of(decision)))
    if spare >= timedelta(hours=CLOSE_HOURS.value):
        return ""
    if spare >= timedelta(0):
        return f"The stop date {told} is close: the decision falls on {end}, with less than a day to spare."
    late = (hours.day_of(decision) - hours.day_of(stop)).days
    over = f"{late} day{'s' if late > 1 else ''}" if late else "some hours"
    return (
        f"The stop date {told} will be missed by {over}: the decision falls on {end}. "
        f"Begin earlier, print on fewer days, or change the date in the brief and say why."
    )
