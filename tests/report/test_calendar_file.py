"""The iCalendar file: parsed back, held against RFC 5545, and the same bytes for the same trial."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar

from laydown.report.calendar_file import calendar_file
from laydown.trials.calendar import trial_calendar
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.studio import Studio
from laydown.trials.trial import Brief, Candidate, Plan, Trial

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)
NAME = "Größe; \\ Samt,\r\nSeite 1" + " öü" * 30
FACTS = TrialFacts(
    studio=Studio(id="studio"),
    trial=Trial(id="t", name=NAME, begun=date(2026, 3, 2)),
    brief=Brief(id="b", trial_id="t", stop_date=date(2026, 3, 20)),
    plan=Plan(id="p", trial_id="t", sheets_per_candidate=2, first_day=date(2026, 3, 2)),
    candidates=(
        Candidate(id="c-rag", trial_id="t", medium_id="m", name="Rag, matte", house=True),
        Candidate(id="c-canvas", trial_id="t", medium_id="m", name="Canvas", finish="coated"),
    ),
    sheets=tuple(
        Sheet(
            id=f"s{place}",
            trial_id="t",
            candidate_id="c-rag" if place < 3 else "c-canvas",
            code=f"K{place}",
            place=place,
            day=1,
        )
        for place in (1, 2, 3, 4)
    ),
    media=(Medium(id="m", name="M"),),
)


def _events(*what: tuple[str, str, float]) -> TrialFacts:
    return replace(
        FACTS,
        events=tuple(
            SheetEvent(
                id=f"e{i}",
                trial_id="t",
                sheet_id=sheet_id,
                at=MONDAY + timedelta(hours=hours),
                kind="printed" if kind == "printed" else "coated",
            )
            for i, (sheet_id, kind, hours) in enumerate(what)
        ),
    )


RUNNING = _events(("s1", "printed", 0), ("s2", "printed", 0.5), ("s3", "printed", 0), ("s3", "coated", 25))


def _made(facts: TrialFacts, hours: float) -> bytes:
    at = MONDAY + timedelta(hours=hours)
    return calendar_file(facts, trial_calendar(facts, now=at), made_at=at)


def test_parsed_back_it_holds_every_item_with_its_times_and_words() -> None:
    calendar = trial_calendar(FACTS, now=MONDAY)
    read = Calendar.from_ical(calendar_file(FACTS, calendar, made_at=MONDAY))
    assert [event["uid"] for event in read.events] == [f"{item.id}.t@laydown" for item in calendar.items]
    for event, item in zip(read.events, calendar.items, strict=True):
        assert event.start == item.begins
        assert event.start.utcoffset() == timedelta(0)
        assert event.end == item.ends
        assert item.title in str(event["summary"])
        assert "Größe; \\ Samt, Seite 1" in str(event["summary"])
        assert item.why in str(event["description"])
        assert event["dtstamp"].dt == MONDAY


def test_what_is_certain_and_what_takes_time_is_marked() -> None:
    """STATUS and TRANSP as in RFC 5545, 3.8.1.11 and 3.8.2.7: only work makes somebody busy."""
    all_done = _events(*((f"s{i}", "printed", 0) for i in (1, 2, 3, 4)))
    events = {str(e["uid"]).split(".")[0]: e for e in Calendar.from_ical(_made(all_done, 2)).events}

    def marked(name: str) -> tuple[str, str, list[str]]:
        event = events[name]
        return str(event["status"]), str(event["transp"]), [str(c) for c in event["categories"].cats]

    assert marked("print-1") == ("CONFIRMED", "OPAQUE", ["work"])
    assert marked("cure-1") == ("CONFIRMED", "TRANSPARENT", ["wait"])
    assert marked("measure-uncoated") == ("TENTATIVE", "OPAQUE", ["work"])
    assert marked("stop") == ("TENTATIVE", "TRANSPARENT", ["gate"])
    assert "To go on: cured" in str(events["coat"]["description"])


def test_lines_obey_rfc_5545() -> None:
    """Section 3.1: lines end in CR LF and hold at most 75 octets, the break not counted."""
    data = _made(RUNNING, 26)
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert b"\r" not in data.replace(b"\r\n", b"")
    lines = data.split(b"\r\n")
    assert max(map(len, lines)) == 75, "the name is long enough to be folded"
    for line in lines:
        line.decode("utf-8")  # folded between characters, never inside one
        assert not any(octet < 32 for octet in line), "no control characters (section 3.3.11)"


def test_no_event_ends_as_it_begins() -> None:
    """Section 3.6.1: a DTEND must be later than its DTSTART; a moment has none."""
    for event in Calendar.from_ical(_made(RUNNING, 26)).events:
        assert "DTEND" not in event or event["dtend"].dt > event["dtstart"].dt
        assert sum(name in event for name in ("UID", "DTSTAMP", "DTSTART")) == 3, "section 3.6.1"


def test_the_same_trial_gives_the_same_bytes_and_keeps_its_identities() -> None:
    assert _made(RUNNING, 26) == _made(RUNNING, 26)
    later = {str(event["uid"]) for event in Calendar.from_ical(_made(RUNNING, 30)).events}
    earlier = {str(event["uid"]) for event in Calendar.from_ical(_made(RUNNING, 26)).events}
    assert later == earlier
    assert len(earlier) == len(Calendar.from_ical(_made(RUNNING, 26)).events)


def _clocks(facts: TrialFacts, hours: float) -> dict[str, tuple[datetime, str]]:
    return {
        str(event["uid"]): (event.start, str(event["summary"]))
        for event in Calendar.from_ical(_made(facts, hours)).events
        if event.walk("VALARM")
    }


def test_running_clocks_ring_when_the_last_sheet_of_a_day_is_ready() -> None:
    clocks = _clocks(RUNNING, 2)
    assert clocks["cured-1.c-rag.t@laydown"][0] == MONDAY + timedelta(hours=24.5)
    assert clocks["cured-1.c-rag.t@laydown"][1].startswith("Rag, matte: K1, K2 cured")
    clocks = _clocks(RUNNING, 26)
    assert {uid: start for uid, (start, _) in clocks.items()} == {
        "dry-1.c-canvas.t@laydown": MONDAY + timedelta(hours=49)
    }
    assert _clocks(RUNNING, 60) == {}


def test_clocks_of_a_withdrawn_candidate_are_silent() -> None:
    gone = replace(
        RUNNING,
        candidates=(replace(RUNNING.candidates[0], withdrawn_at=MONDAY), RUNNING.candidates[1]),
    )
    assert set(_clocks(gone, 2)) == {"dry-1.c-canvas.t@laydown"}


def test_an_alarm_rings_at_the_moment_and_says_what() -> None:
    event = next(e for e in Calendar.from_ical(_made(RUNNING, 26)).events if e.walk("VALARM"))
    (alarm,) = event.walk("VALARM")
    assert (alarm["action"], alarm["trigger"].dt) == ("DISPLAY", timedelta(0))
    assert alarm["description"] == "Canvas: K3 dry"


def test_fractions_of_a_second_and_other_zones_do_not_reach_the_file() -> None:
    from datetime import timezone

    at = datetime(2026, 3, 2, 10, 30, 0, 500, tzinfo=timezone(timedelta(hours=1)))
    data = calendar_file(RUNNING, trial_calendar(RUNNING, now=at), made_at=at)
    assert b"DTSTAMP:20260302T093000Z" in data
    assert b"TZID" not in data


def test_a_trial_without_a_plan_gives_an_empty_but_sound_file() -> None:
    empty = replace(FACTS, plan=None)
    data = _made(empty, 0)
    assert Calendar.from_ical(data).events == []
    assert b"VERSION:2.0" in data
    assert b"PRODID:" in data
