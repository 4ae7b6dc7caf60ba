"""The clocks of several trials as one iCalendar file (RFC 5545)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from icalendar import Calendar

from laydown.report.calendar_file import MAKER, calendar_file
from laydown.trials.calendar import TrialCalendar
from laydown.trials.facts import TrialFacts

NO_PLAN = TrialCalendar((), None, None, "")


def board_calendar(trials: Iterable[TrialFacts], *, made_at: datetime) -> bytes:
    """Every running clock as one file; what is planned but not printed has none.

    Parameters
    ----------
    trials
        Trials, or as much of them as their clocks ask for.
    made_at
        When the file is made; aware.

    Returns
    -------
    bytes
        As ``calendar_file`` writes it, and with the same identities of its events.
    """
    whole = Calendar()
    whole.add("prodid", MAKER)
    whole.add("version", "2.0")
    whole.add("calscale", "GREGORIAN")
    whole.add("name", "Board")
    for facts in trials:
        own = Calendar.from_ical(calendar_file(facts, NO_PLAN, made_at=made_at))
        for event in own.walk("VEVENT"):
            whole.add_component(event)
    written: bytes = whole.to_ical(sorted=True)
    return written
