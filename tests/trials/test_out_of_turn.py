"""Sheets printed on another day than drawn for, or before others; the rules are our own choice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from a_small_trial import a_trial, event, with_events

from laydown.trials.facts import TrialFacts
from laydown.trials.out_of_turn import departure_words, departures, printing_date

MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)
TUESDAY = MONDAY + timedelta(days=1)
LONDON = ZoneInfo("Europe/London")
FIRST_DAY = ("rag", "baryta", "canvas", "canvas coated")


def printed(facts: TrialFacts, at: datetime, *sheets: str) -> TrialFacts:
    """The sheets printed one minute apart from that moment on."""
    return with_events(
        facts,
        *(event(f"s-{one}", "printed", at + timedelta(minutes=turn)) for turn, one in enumerate(sheets)),
    )


def first_day_printed(at: datetime = MONDAY) -> TrialFacts:
    return printed(a_trial(), at, *(f"{name}-1" for name in FIRST_DAY))


def told(facts: TrialFacts, sheet: str, at: datetime) -> str:
    return departure_words(departures(facts, facts.sheet(f"s-{sheet}"), at=at, zone=LONDON))


def test_the_drawn_order_departs_from_nothing() -> None:
    facts = a_trial()
    for number, sheet in enumerate(facts.sheets):
        at = (MONDAY if sheet.day == 1 else TUESDAY) + timedelta(minutes=10 * number)
        assert departures(facts, sheet, at=at, zone=LONDON) == ()
        facts = with_events(facts, event(sheet.id, "printed", at))


def test_a_sheet_of_the_second_day_on_the_first_is_said() -> None:
    facts = first_day_printed()
    (found,) = departures(facts, facts.sheet("s-rag-2"), at=MONDAY + timedelta(hours=2), zone=LONDON)
    assert found.told == "Drawn for day 2, printed on 2 March, the day of day 1."
    assert found.ahead == "Drawn for day 2; 2 March is the day of day 1."
    assert "falls on all media alike" in found.why


def test_a_sheet_of_the_second_day_before_the_first_is_begun_is_said() -> None:
    assert told(a_trial(), "rag-2", MONDAY) == "Drawn for day 2, printed before day 1 was."


def test_too_early_prints_do_not_begin_a_day() -> None:
    """On Tuesday the rest of day 2 is in order, and day 3 is not."""
    facts = a_trial()
    third = replace(facts.sheet("s-rag-2"), id="s-rag-3", code="K4", day=3, place=9)
    facts = replace(facts, sheets=(*facts.sheets, third))
    facts = printed(facts, MONDAY, *(f"{name}-1" for name in FIRST_DAY), "rag-2")
    assert told(facts, "baryta-2", TUESDAY) == ""
    facts = printed(facts, TUESDAY, "baryta-2", "canvas-2", "canvas coated-2")
    later = TUESDAY + timedelta(hours=3)
    assert told(facts, "rag-3", later) == "Drawn for day 3, printed on 3 March, the day of day 2."
    assert told(facts, "rag-3", later + timedelta(days=1)) == ""


def test_a_day_wholly_printed_too_early_holds_nobody_up() -> None:
    facts = a_trial()
    third = replace(facts.sheet("s-rag-2"), id="s-rag-3", code="K4", day=3, place=9)
    facts = replace(facts, sheets=(*facts.sheets, third))
    facts = printed(facts, MONDAY, *(f"{name}-{day}" for day in (1, 2) for name in FIRST_DAY))
    assert told(facts, "rag-3", TUESDAY) == ""


def test_the_rest_of_a_day_on_a_later_one_is_said_and_the_next_day_is_not() -> None:
    facts = printed(a_trial(), MONDAY, "rag-1", "baryta-1")
    assert told(facts, "canvas-1", TUESDAY) == (
        "Drawn for day 1, which was begun on 2 March; printed on 3 March."
    )
    facts = printed(facts, TUESDAY, "canvas-1", "canvas coated-1")
    assert told(facts, "rag-2", TUESDAY + timedelta(hours=3)) == ""


def test_work_past_midnight_belongs_to_the_evening() -> None:
    evening = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)
    facts = printed(a_trial(), evening, "rag-1", "baryta-1")
    assert told(facts, "canvas-1", evening + timedelta(hours=2)) == ""
    assert told(first_day_printed(evening), "rag-2", evening + timedelta(hours=2)).endswith(
        "the day of day 1."
    )
    assert told(first_day_printed(evening), "rag-2", evening + timedelta(hours=9)) == ""


@pytest.mark.parametrize(
    ("zone", "day"), [("Europe/London", 2), ("Pacific/Auckland", 3), ("America/Los_Angeles", 2)]
)
def test_the_day_is_that_on_the_wall_of_the_studio(zone: str, day: int) -> None:
    # 20:00 UTC is 09:00 of the next day in Auckland (UTC+13 in March) and noon in Los Angeles (UTC-8).
    at = datetime(2026, 3, 2, 20, tzinfo=UTC)
    assert printing_date(at, ZoneInfo(zone)).day == day


def test_before_another_candidates_turn_is_said() -> None:
    facts = printed(a_trial(), MONDAY, "rag-1")
    assert told(facts, "canvas coated-1", MONDAY + timedelta(hours=1)) == (
        "Out of turn: H2 on baryta and 1 more come before it."
    )
    assert told(facts, "canvas-1", MONDAY + timedelta(hours=1)) == (
        "Out of turn: H2 on baryta comes before it."
    )


def test_sheets_of_one_candidate_change_places_without_a_word() -> None:
    facts = a_trial()
    sheets = tuple(replace(one, day=1) for one in facts.sheets if one.candidate_id == "c-rag")
    facts = replace(facts, sheets=sheets)
    assert told(facts, "rag-2", MONDAY) == ""


def test_each_printer_has_a_turn_of_its_own() -> None:
    facts = a_trial()
    others = tuple(
        replace(one, printer_id="other") if one.id == "c-canvas" else one for one in facts.candidates
    )
    facts = replace(facts, candidates=others)
    assert told(facts, "canvas-1", MONDAY) == ""
    assert told(facts, "canvas coated-1", MONDAY) == "Out of turn: K2 on rag and 1 more come before it."


def test_spoiled_and_withdrawn_sheets_hold_nobody_up() -> None:
    facts = with_events(a_trial(), event("s-rag-1", "spoiled", MONDAY - timedelta(hours=1)))
    gone = tuple(
        replace(one, withdrawn_at=MONDAY) if one.id == "c-baryta" else one for one in facts.candidates
    )
    assert told(replace(facts, candidates=gone), "canvas-1", MONDAY) == ""


def test_only_what_had_happened_by_then_counts() -> None:
    """Noted late, a sheet gets the answer it would have got at the printer."""
    facts = first_day_printed(MONDAY + timedelta(hours=5))
    assert told(facts, "rag-1", MONDAY) == ""
    assert told(facts, "baryta-1", MONDAY) == "Out of turn: K2 on rag comes before it."


@pytest.mark.parametrize("change", [{"use": "setting"}, {"use": "spare", "place": 0}, {"place": 0}])
def test_sheets_beside_the_order_depart_from_nothing(change: dict[str, object]) -> None:
    facts = a_trial()
    beside = replace(facts.sheet("s-rag-2"), **change)
    assert departures(facts, beside, at=MONDAY, zone=LONDON) == ()
