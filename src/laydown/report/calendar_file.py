"""The calendar of a trial as an iCalendar file (RFC 5545), for the wall, the desk or the telephone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from icalendar import Alarm, Calendar, Event

from laydown.report.wording import display_name
from laydown.trials.calendar import TrialCalendar
from laydown.trials.clocks import Stage, sheet_clocks
from laydown.trials.diary import CalendarItem
from laydown.trials.facts import TrialFacts

MEDIA_TYPE = "text/calendar; charset=utf-8"
MAKER = "-//Laydown//Calendar of a trial//EN"

_CLOCKS: dict[Stage, tuple[str, str]] = {
    "curing": ("cured", "Cured: may be measured, or coated. Follow the coating's data sheet."),
    "drying": ("dry", "The coat is dry: may be measured."),
}


def calendar_file(facts: TrialFacts, calendar: TrialCalendar, *, made_at: datetime) -> bytes:
    """The calendar and the running clocks of a trial as one file.

    Importing it again moves what has moved: every event keeps its identity. Clocks ring when the last sheet
    of a candidate printed on one day has cured or dried; what is over at ``made_at`` has no clock any more.

    Parameters
    ----------
    facts
        The trial.
    calendar
        Its calendar.
    made_at
        When the file is made; aware. It stands in the file, and the same input gives the same bytes.

    Returns
    -------
    bytes
        UTF-8, lines of at most 75 octets ended by CR LF, all times in UTC.
    """
    made = made_at.astimezone(UTC).replace(microsecond=0)
    whole = Calendar()
    whole.add("prodid", MAKER)
    whole.add("version", "2.0")
    whole.add("calscale", "GREGORIAN")
    name = display_name(facts.trial.name)
    whole.add("name", name)
    for item in calendar.items:
        whole.add_component(_event(item, facts.trial.id, name, made))
    for event in _clocks(facts, name, made):
        whole.add_component(event)
    written: bytes = whole.to_ical(sorted=True)
    return written


def _event(item: CalendarItem, trial_id: str, name: str, made: datetime) -> Event:
    event = _blank(f"{item.id}.{trial_id}", f"{display_name(item.title)} ({name})", item.begins, made)
    if item.ends > item.begins:  # an event without an end is a moment; one that ends as it begins is no event
        event.add("dtend", _second(item.ends))
    told = [display_name(item.why), f"To go on: {display_name(item.gate)}." if item.gate else ""]
    event.add("description", "\n".join(line for line in told if line))
    event.add("categories", [item.kind])
    event.add("status", "CONFIRMED" if item.state in ("done", "under way") else "TENTATIVE")
    event.add("transp", "OPAQUE" if item.kind == "work" else "TRANSPARENT")
    return event


def _clocks(facts: TrialFacts, name: str, made: datetime) -> Iterator[Event]:
    ends: dict[tuple[Stage, str, int], list[tuple[datetime, str]]] = defaultdict(list)
    withdrawn = {one.id for one in facts.candidates if one.withdrawn_at is not None}
    for sheet in facts.sheets:
        if sheet.candidate_id in withdrawn:
            continue
        clocks = sheet_clocks(facts, sheet, now=made)
        end = clocks.cured_at if clocks.stage == "curing" else clocks.dry_at
        if clocks.stage in _CLOCKS and end is not None and end > made:
            ends[clocks.stage, sheet.candidate_id, sheet.day].append((end, sheet.code))
    for (stage, candidate_id, day), sheets in ends.items():
        word, what = _CLOCKS[stage]
        medium = display_name(facts.candidate(candidate_id).name)
        codes = ", ".join(code for _, code in sheets)
        last = max(end for end, _ in sheets)
        uid = f"{word}-{day}.{candidate_id}.{facts.trial.id}"
        event = _blank(uid, f"{medium}: {codes} {word} ({name})", last, made)
        event.add("description", what)
        event.add("categories", ["clock"])
        event.add("status", "CONFIRMED")
        event.add("transp", "TRANSPARENT")
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", f"{medium}: {codes} {word}")
        alarm.add("trigger", timedelta(0))
        event.add_component(alarm)
        yield event


def _blank(uid: str, summary: str, begins: datetime, made: datetime) -> Event:
    event = Event()
    event.add("uid", f"{uid}@laydown")
    event.add("dtstamp", made)
    event.add("dtstart", _second(begins))
    event.add("summary", summary)
    return event


def _second(moment: datetime) -> datetime:
    """In UTC and whole seconds, as the format wants it."""
    return moment.astimezone(UTC).replace(microsecond=0)
