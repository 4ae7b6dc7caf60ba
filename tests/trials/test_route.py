"""The route: where a trial stands at every station, and what to do next."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from a_small_trial import (
    MONDAY,
    a_gloss,
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

from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Doubt
from laydown.trials.route import STATIONS, Route, is_usable, may_be_compared, route_of
from laydown.trials.studio import Studio
from laydown.trials.trial import Brief, Trial

EMPTY = TrialFacts(studio=Studio(id="s"), trial=Trial(id="t", name="T", begun=MONDAY.date()))
COATED = ("s-canvas coated-1", "s-canvas coated-2")


def _coat(facts: TrialFacts, hours: float) -> TrialFacts:
    return with_events(facts, *(event(sheet, "coated", after(hours)) for sheet in COATED))


def _measured(facts: TrialFacts, hours: float) -> TrialFacts:
    return with_readings(facts, *(a_reading(sheet.id, after(hours)) for sheet in facts.sheets))


def _states(route: Route) -> list[str]:
    return [station.status for station in route.stations[:5]]


def test_the_stations_stand_in_the_order_of_the_work() -> None:
    assert [station.name for station in route_of(EMPTY, now=MONDAY).stations] == list(STATIONS)
    assert STATIONS == (
        "brief",
        "plan",
        "print",
        "settle",
        "measure",
        "look",
        "last",
        "cost",
        "decide",
        "keep",
    )


def test_later_stations_say_that_they_are_not_there_yet() -> None:
    later = route_of(EMPTY, now=MONDAY).stations[5:]
    assert {station.status for station in later} == {"not yet"}
    assert all(station.words for station in later)


def test_an_empty_trial_begins_with_its_brief() -> None:
    route = route_of(EMPTY, now=MONDAY)
    assert _states(route) == ["open", "open", "waiting", "waiting", "waiting"]
    assert route.current == "brief"


def test_an_unsealed_brief_holds_back_the_printing() -> None:
    facts = replace(a_trial(), brief=Brief(id="b", trial_id="t"))
    route = route_of(facts, now=MONDAY)
    assert _states(route)[:3] == ["under way", "done", "waiting"]
    assert "sealed" in route.station("print").words
    assert route.current == "brief"


def test_the_way_of_a_whole_trial() -> None:
    """Each step of the work moves the route by one, and the last leaves nothing to do."""
    facts = a_trial()
    assert route_of(facts, now=MONDAY).current == "print"
    assert route_of(facts, now=MONDAY).station("print").next == "Print sheet K2 on rag."
    facts = with_events(facts, event("s-rag-1", "printed", MONDAY))
    station = route_of(facts, now=MONDAY).station("print")
    assert (station.status, station.done, station.total) == ("under way", 1, 8)
    facts = all_printed(a_trial())
    route = route_of(facts, now=after(1))
    assert (route.station("print").status, route.current) == ("done", "settle")
    assert route.station("settle").next == "Wait for the next clock."
    route = route_of(facts, now=after(24))
    assert (route.station("settle").done, route.station("settle").next) == (4, "Coat 2 cured sheets.")
    facts = _coat(facts, 49)
    route = route_of(facts, now=after(73))
    assert (route.station("settle").status, route.current) == ("done", "measure")
    assert route.station("measure").next == "Measure what is ready."
    facts = _measured(facts, 74)
    route = route_of(facts, now=after(75))
    assert _states(route) == ["done"] * 5
    assert route.station("measure").done == 8


def test_a_withdrawn_candidate_is_waited_for_no_more() -> None:
    facts = all_printed(a_trial())
    gone = replace(
        facts,
        candidates=tuple(
            replace(c, withdrawn_at=MONDAY) if c.finish == "coated" else c for c in facts.candidates
        ),
    )
    assert route_of(gone, now=after(48)).station("settle").status == "done"
    assert route_of(gone, now=after(48)).station("plan").words.startswith("3 candidates, 6 sheets")


def test_one_candidate_left_is_no_trial() -> None:
    facts = a_trial()
    gone = replace(
        facts, candidates=tuple(c if c.house else replace(c, withdrawn_at=MONDAY) for c in facts.candidates)
    )
    station = route_of(gone, now=MONDAY).station("plan")
    assert (station.status, station.words) == ("under way", "One candidate left.")
    assert (station.done, station.total) == (1, 2)
    assert (
        route_of(replace(facts, candidates=facts.candidates[:1], sheets=()), now=MONDAY).station("plan").words
        == "One candidate so far."
    )


def test_a_spoiled_sheet_is_waited_for_no_more() -> None:
    facts = with_events(all_printed(a_trial()), event("s-rag-1", "spoiled", after(2)))
    assert route_of(facts, now=after(3)).station("print").total == 7


def test_where_every_sheet_was_spoiled_new_ones_are_drawn() -> None:
    facts = a_trial()
    facts = with_events(facts, *(event(sheet.id, "spoiled", MONDAY) for sheet in facts.sheets))
    assert route_of(facts, now=after(1)).station("plan").words == "4 candidates, no sheet left."


def test_readings_that_are_early_uncoated_or_set_aside_do_not_count() -> None:
    facts = _coat(all_printed(a_trial()), 49)
    early, bare = a_reading("s-rag-1", after(3)), a_reading("s-canvas coated-1", after(30))
    fine = a_reading("s-baryta-1", after(50))
    aside = replace(a_reading("s-canvas-1", after(30)), set_aside_at=after(31))
    facts = with_readings(facts, early, bare, fine, aside)
    assert [is_usable(facts, reading_id=one.id) for one in (early, bare, fine, aside)] == [
        False,
        False,
        True,
        False,
    ]
    assert route_of(facts, now=after(60)).station("measure").done == 1


def test_an_early_reading_may_be_used_if_somebody_says_so_but_never_in_the_wrong_finish() -> None:
    facts = _coat(all_printed(a_trial()), 49)
    early = replace(a_reading("s-rag-1", after(3)), early_used_at=after(4), early_used_by="Ada")
    wet = replace(a_reading("s-canvas coated-1", after(50)), early_used_at=after(51), early_used_by="Ada")
    bare = replace(a_reading("s-canvas coated-2", after(3)), early_used_at=after(4), early_used_by="Ada")
    facts = with_readings(facts, early, wet, bare)
    assert [is_usable(facts, reading_id=one.id) for one in (early, wet, bare)] == [True, True, False]


def test_gloss_waits_for_the_same_settling_as_any_reading() -> None:
    facts = _coat(all_printed(a_trial()), 49)
    told = {
        "wet ink": a_gloss("s-rag-1", after(3)),
        "let in early": a_gloss("s-rag-1", after(3), early_used_at=after(4)),
        "before the coat": a_gloss("s-canvas coated-1", after(40)),
        "wet coat": a_gloss("s-canvas coated-1", after(60)),
        "set aside": a_gloss("s-rag-1", after(30), set_aside_at=after(31)),
        "settled": a_gloss("s-rag-1", after(30)),
        "dry coat": a_gloss("s-canvas coated-1", after(80)),
    }
    assert [name for name, one in told.items() if may_be_compared(facts, one)] == [
        "let in early",
        "settled",
        "dry coat",
    ]


def test_readings_of_spoiled_or_unnamed_sheets_are_not_used() -> None:
    facts = with_events(all_printed(a_trial()), event("s-rag-1", "spoiled", after(40)))
    lost, spoiled = a_reading(None, after(30)), a_reading("s-rag-1", after(30))
    facts = with_readings(facts, lost, spoiled)
    assert not is_usable(facts, reading_id=lost.id)
    assert not is_usable(facts, reading_id=spoiled.id)
    with pytest.raises(KeyError):
        is_usable(facts, reading_id="no such reading")


def test_open_questions_and_unplaced_files_come_first_unless_set_aside() -> None:
    doubt = Doubt(kind="same as", words="w", question="Which?")
    asked = replace(a_reading("s-rag-1", after(30)), doubts=(doubt,))
    lost = a_reading(None, after(31))
    facts = with_readings(all_printed(a_trial()), asked, lost)
    assert (
        route_of(facts, now=after(60)).station("measure").next
        == "See to 1 open question and 1 file without a sheet."
    )
    aside = with_readings(
        all_printed(a_trial()),
        replace(asked, set_aside_at=after(40)),
        replace(lost, set_aside_at=after(40)),
    )
    assert route_of(aside, now=after(60)).station("measure").next == "Measure what is ready."


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(0, 7), unique=True, max_size=8), st.floats(0, 200), st.floats(0, 200))
def test_numbers_are_possible_and_waiting_never_takes_anything_back(
    which: list[int], first: float, then: float
) -> None:
    facts = a_trial()
    facts = with_events(facts, *(event(facts.sheets[i].id, "printed", MONDAY) for i in which))
    early, late = sorted((first, then))
    before, later = route_of(facts, now=after(early)), route_of(facts, now=after(late))
    for station in (*before.stations, *later.stations):
        assert 0 <= station.done <= station.total
        assert station.status != "done" or not station.next
    assert before.station("settle").done <= later.station("settle").done
    current = later.station(later.current)
    assert current.status in ("open", "under way", "done", "waiting")


def test_a_reading_that_is_asked_about_counts_only_once_somebody_has_answered() -> None:
    """What comparisons keep out is not measured on the route either: one rule for both."""
    asked = Doubt(kind="other chart", words="It may be another chart.", question="Is it?")
    reading = a_reading("s-rag-1", after(30))
    facts = with_readings(all_printed(a_trial()), replace(reading, doubts=(asked,)))
    assert not is_usable(facts, reading_id=reading.id)
    station = route_of(facts, now=after(31)).station("measure")
    assert (station.done, station.next) == (0, "See to 1 open question.")
    answered = replace(facts, readings=(replace(reading, doubts=(replace(asked, answer="keep: Keep it"),)),))
    assert is_usable(answered, reading_id=reading.id)
    assert route_of(answered, now=after(31)).station("measure").done == 1


def test_what_is_no_test_sheet_or_withdrawn_goes_into_no_comparison() -> None:
    reading = a_reading("s-rag-1", after(30))
    facts = with_readings(all_printed(a_trial()), reading)
    setting = replace(
        facts, sheets=tuple(replace(s, use="setting") if s.id == "s-rag-1" else s for s in facts.sheets)
    )
    gone = replace(
        facts, candidates=tuple(replace(c, withdrawn_at=MONDAY) if c.house else c for c in facts.candidates)
    )
    assert [is_usable(one, reading_id=reading.id) for one in (facts, setting, gone)] == [True, False, False]


def test_the_seal_is_dated_in_words_where_the_studio_is() -> None:
    """Half past ten at night in UTC is the next morning in Auckland."""
    facts = a_trial()
    brief = sealed(facts.brief, at=MONDAY - timedelta(hours=10.5))
    there = replace(facts, brief=brief, studio=replace(facts.studio, time_zone="Pacific/Auckland"))
    assert route_of(there, now=MONDAY).station("brief").words == "Sealed on 2 March 2026."
    london = replace(there, studio=replace(facts.studio, time_zone="Europe/London"))
    assert route_of(london, now=MONDAY).station("brief").words == "Sealed on 1 March 2026."
