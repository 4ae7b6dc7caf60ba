"""What can never be true of a trial: each planted lie is found, and a sound trial has none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from random import Random

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

from laydown.trials.contradictions import contradictions
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading
from laydown.trials.sheets import BenchRun
from laydown.trials.trial import Brief, BriefChange, Candidate

LATE = after(2000)
CHANGE = BriefChange(
    id="change",
    trial_id="t",
    at=after(1),
    by="Ada",
    field="sizes",
    before="not stated",
    after="A2",
    before_plain='""',
    after_plain='"A2"',
    why="asked for",
)


def _sound() -> TrialFacts:
    facts = all_printed(a_trial())
    facts = with_events(
        facts,
        event("s-canvas coated-1", "coated", after(30)),
        event("s-canvas coated-2", "coated", after(30)),
        event("s-rag-2", "spoiled", after(31)),
    )
    return with_readings(facts, a_reading("s-rag-1", after(40)), a_reading(None, after(41)))


def test_a_sound_trial_contradicts_nothing() -> None:
    assert contradictions(_sound(), now=LATE) == ()
    assert contradictions(a_trial(), now=MONDAY) == ()


def test_what_happens_in_one_minute_is_no_contradiction() -> None:
    """Forms hold whole minutes: what came one after the other may bear the same time."""
    assert contradictions(replace(_sound(), runs=(_run(ended_at=MONDAY),)), now=LATE) == ()
    brief = _sound().brief
    assert brief is not None
    # The seal may be later by as much as clocks differ (an hour), and no more.
    for hours, told in ((1.0, 0), (1.01, 1)):
        late = replace(_sound(), brief=sealed(replace(brief, sealed_at=None), at=after(hours)))
        found = [one for one in contradictions(late, now=LATE) if "before the brief is sealed" in one]
        assert bool(found) == bool(told), hours


def _run(**changes: object) -> BenchRun:
    run = BenchRun(id="run", trial_id="t", candidate_id="c-rag", printer_id="p", begun_at=MONDAY)
    return replace(run, **changes)  # type: ignore[arg-type]  # each test names a real field


def _candidates(facts: TrialFacts, which: str, /, **changes: object) -> TrialFacts:
    return replace(
        facts,
        candidates=tuple(
            replace(one, **changes) if one.name == which else one  # type: ignore[arg-type]  # as above
            for one in facts.candidates
        ),
    )


def _sheets(facts: TrialFacts, sheet_id: str, /, **changes: object) -> TrialFacts:
    return replace(
        facts,
        sheets=tuple(
            replace(one, **changes) if one.id == sheet_id else one  # type: ignore[arg-type]  # as above
            for one in facts.sheets
        ),
    )


LIES: dict[str, tuple[Callable[[], TrialFacts], str]] = {
    "sealed brief altered": (
        lambda: replace(_sound(), brief=replace(sealed(Brief(id="b", trial_id="t")), sizes="A1")),
        "cannot be altered",
    ),
    "seal without a date": (
        lambda: replace(a_trial(), brief=Brief(id="b", trial_id="t", seal="abc")),
        "cannot be altered",
    ),
    "change of an open brief": (
        lambda: replace(a_trial(), brief=Brief(id="b", trial_id="t"), brief_changes=(CHANGE,)),
        "only a sealed brief",
    ),
    "change that rests on nothing": (
        lambda: replace(a_trial(), brief_changes=(replace(CHANGE, before_plain='"A1"'),)),
        "rests on this one",
    ),
    "printed without a brief": (lambda: replace(_sound(), brief=None), "before the brief is sealed"),
    "printed before the brief was sealed": (
        lambda: replace(_sound(), brief=sealed(Brief(id="b", trial_id="t"), at=after(3))),
        "before the brief is sealed",
    ),
    "two house media": (lambda: _candidates(_sound(), "baryta", house=True), "one house medium"),
    "two of one name": (lambda: _candidates(_sound(), "baryta", name="RAG"), "two candidates are called"),
    "twin of another medium": (
        lambda: _candidates(_sound(), "canvas coated", twin_id="c-rag"),
        "must be the same medium",
    ),
    "twin that is not there": (
        lambda: _candidates(_sound(), "canvas coated", twin_id="gone"),
        "must be the same medium",
    ),
    "two bare twins": (
        lambda: _candidates(a_trial(), "canvas coated", finish="uncoated"),
        "goes with an uncoated one",
    ),
    "endless cure": (lambda: _candidates(_sound(), "rag", cure_hours=-1.0), "-1 hours to cure"),
    "cure that is no number": (lambda: _candidates(_sound(), "rag", dry_hours=float("nan")), "to dry"),
    "trial that never dries": (
        lambda: replace(_sound(), trial=replace(_sound().trial, dry_hours=1e9)),
        "this trial",
    ),
    "run of a stranger": (
        lambda: replace(_sound(), runs=(_run(candidate_id="gone"),)),
        "candidate of another trial",
    ),
    "run that ends first": (
        lambda: replace(_sound(), runs=(_run(ended_at=after(-1)),)),
        "cannot end before it begins",
    ),
    "sheet of a stranger": (
        lambda: _sheets(a_trial(), "s-rag-1", candidate_id="gone"),
        "candidate of another trial",
    ),
    "sheet from another's run": (
        lambda: _sheets(replace(_sound(), runs=(_run(),)), "s-baryta-1", run_id="run"),
        "bench run of another candidate",
    ),
    "sheet from no run": (lambda: _sheets(_sound(), "s-rag-1", run_id="gone"), "bench run"),
    "printed twice": (
        lambda: with_events(_sound(), event("s-rag-1", "printed", after(5))),
        "printed only once",
    ),
    "coated twice": (
        lambda: with_events(_sound(), event("s-canvas coated-1", "coated", after(60))),
        "coated once",
    ),
    "bare arm coated": (
        lambda: with_events(_sound(), event("s-canvas-1", "coated", after(60))),
        "cannot be coated",
    ),
    "coated before printed": (
        lambda: with_events(a_trial(), event("s-canvas coated-1", "coated", MONDAY)),
        "cannot be coated before it is printed",
    ),
    "worked on before it was printed": (
        lambda: with_events(_sound(), event("s-rag-1", "other", after(-2))),
        "cannot be worked on before it was printed",
    ),
    "trimmed after it was spoiled": (
        lambda: with_events(_sound(), event("s-rag-2", "trimmed", after(50))),
        "nothing happens to it after that",
    ),
    "printed tomorrow": (
        lambda: with_events(_sound(), event("s-rag-1", "trimmed", LATE + timedelta(hours=2))),
        "trimmed in the future",
    ),
    "one code twice": (lambda: _sheets(_sound(), "s-baryta-1", code="k2"), "two sheets are called"),
    "one turn twice": (lambda: _sheets(_sound(), "s-baryta-1", place=1), "shares its turn"),
    "reading of a stranger": (
        lambda: with_readings(_sound(), a_reading("gone", after(50))),
        "sheet of another trial",
    ),
    "reading of a blank sheet": (
        lambda: with_readings(a_trial(), a_reading("s-rag-1", after(50))),
        "never printed",
    ),
    "read before printed": (
        lambda: with_readings(_sound(), a_reading("s-rag-1", after(-1))),
        "cannot be read before it was printed",
    ),
    "received before printed": (
        lambda: with_readings(_sound(), a_reading("s-rag-1", after(-1), stated=False)),
        "cannot be read before it was printed",
    ),
    "gloss of a stranger": (lambda: _gloss(_sound(), a_gloss("gone", after(50))), "sheet of another trial"),
    "gloss of a blank sheet": (lambda: _gloss(a_trial(), a_gloss("s-rag-1", after(50))), "never printed"),
    "gloss before printed": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(-1))),
        "cannot be read before it was printed",
    ),
    "gloss received before printed": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(-1), measured_at=None)),
        "cannot be read before it was printed",
    ),
    "gloss at no angle of a meter": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(50), angle=50)),
        "cannot be read at 50°",
    ),
    "gloss beyond all": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(50), values=(3.0, 2000.1))),
        "values from 0 to 2000",
    ),
    "gloss below nothing": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(50), values=(-0.1,))),
        "values from 0 to 2000",
    ),
    "gloss without a value": (
        lambda: _gloss(_sound(), a_gloss("s-rag-1", after(50), values=())),
        "values from 0 to 2000",
    ),
}


def _gloss(facts: TrialFacts, *readings: GlossReading) -> TrialFacts:
    return replace(facts, gloss=readings)


def test_gloss_of_a_printed_sheet_contradicts_nothing() -> None:
    matte, metal = (
        a_gloss("s-rag-1", after(50), values=(0.0,)),
        a_gloss("s-rag-2", after(0), values=(2000.0,)),
    )
    assert contradictions(_gloss(_sound(), matte, metal), now=LATE) == ()


@pytest.mark.parametrize("lie", LIES)
def test_every_planted_lie_is_found(lie: str) -> None:
    facts, told = LIES[lie]
    assert any(told in sentence for sentence in contradictions(facts(), now=LATE)), lie


def test_sentences_end_and_name_what_they_are_about() -> None:
    for facts, _ in LIES.values():
        for sentence in contradictions(facts(), now=LATE):
            assert sentence.endswith(".")
            assert "None" not in sentence


def test_without_a_clock_the_future_is_left_out() -> None:
    facts = with_events(_sound(), event("s-rag-1", "trimmed", LATE + timedelta(hours=2)))
    assert contradictions(facts, now=None) == ()


def test_clocks_of_tablets_may_differ_by_an_hour() -> None:
    facts = with_events(a_trial(), event("s-rag-1", "printed", after(0.9)))
    assert contradictions(facts, now=MONDAY) == ()
    assert contradictions(facts, now=after(-0.2)) != ()


def test_a_cure_of_nothing_is_possible() -> None:
    """A medium that is dry at once: somebody may say so."""
    assert contradictions(_candidates(_sound(), "rag", cure_hours=0.0), now=LATE) == ()


def test_setting_sheets_may_be_printed_before_the_brief_is_sealed() -> None:
    facts = replace(_sheets(a_trial(), "s-rag-1", use="setting", place=0), brief=None)
    assert contradictions(with_events(facts, event("s-rag-1", "printed", MONDAY)), now=LATE) == ()


def test_what_spoils_a_sheet_may_happen_before_it_is_printed() -> None:
    assert contradictions(with_events(a_trial(), event("s-rag-1", "spoiled", MONDAY)), now=LATE) == ()


@settings(deadline=None, max_examples=30)
@given(st.randoms(use_true_random=False))
def test_no_order_of_the_same_facts_hides_a_lie(random: Random) -> None:
    facts = LIES["reading of a stranger"][0]()
    sheets, candidates = list(facts.sheets), list(facts.candidates)
    random.shuffle(sheets)
    random.shuffle(candidates)
    mixed = replace(facts, sheets=tuple(sheets), candidates=tuple(candidates))
    assert contradictions(mixed, now=LATE) == contradictions(facts, now=LATE)


def test_a_coated_arm_may_stand_alone() -> None:
    lone = Candidate(id="x", trial_id="t", medium_id="m-canvas", name="lone", finish="coated")
    assert contradictions(replace(_sound(), candidates=(*_sound().candidates, lone)), now=LATE) == ()
