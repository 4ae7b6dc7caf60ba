"""The demo's gloss readings: plausible, invented, with one slip; and what comes of them."""

from __future__ import annotations

import pytest

from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.contradictions import contradictions
from laydown.trials.facts import TrialFacts
from laydown.usecases.measuring.gloss_comparison import compare_gloss
from laydown.usecases.measuring.gloss_of_coat import gloss_changes
from laydown.usecases.measuring.standings import gloss_standings
from laydown.usecases.measuring.type_gloss import TypedGloss, doubtful, refuse_impossible
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from spring_trial import GLOSS

# Gloss at 60 degrees that such surfaces usually show; our own guess, as the whole demo is invented.
USUAL = {
    "Fenland Rag (house)": (1.5, 4.5),
    "Gullwing White": (1.5, 4.5),
    GLOSS: (45.0, 75.0),
    "Withy Canvas": (2.5, 6.5),
    "Withy Canvas, coated": (25.0, 45.0),
}


@pytest.fixture
def facts(records: Records) -> TrialFacts:
    seed_demo(records)
    with records.look() as look:
        return load_facts(look, DEMO_TRIAL_ID)


def test_it_contradicts_nothing_and_could_have_been_typed(facts: TrialFacts) -> None:
    assert contradictions(facts, now=None) == ()
    for one in facts.gloss:
        typed = TypedGloss(place=one.place, angle=one.angle, values=one.values, direction=one.direction)
        refuse_impossible(typed)
        assert bool(list(doubtful(typed))) == (one.id == "demo-gloss-slip")
        assert "(invented)" in one.instrument


def test_one_slip_is_set_aside_and_all_else_counts(facts: TrialFacts) -> None:
    states = [one.state for one in gloss_standings(facts)]
    assert states.count("set aside") == 1
    assert set(states) == {"set aside", "other finish", "used"}
    assert states.count("other finish") == 6  # the coated arm before its coat


def test_every_medium_shows_what_its_surface_usually_does(facts: TrialFacts) -> None:
    white, black, differential = compare_gloss(facts).quantities
    for quantity in (white, black):
        assert {medium.name for medium in quantity.media} == set(USUAL)
        for medium in quantity.media:
            low, high = USUAL[medium.name]
            assert low < medium.finding.value < high, medium.name
    assert {medium.name: medium.finding.n for medium in white.media}["Gullwing White"] == 2
    by_name = {told.candidate: told for told in differential.differences}
    assert by_name[GLOSS].difference < 0.0  # its inked areas are shinier than its whites


def test_the_coat_is_seen_on_the_same_sheets(facts: TrialFacts) -> None:
    ((_, changes),) = gloss_changes(facts).items()
    white, black, _ = changes
    for change in (white, black):
        assert (change.paired, change.pairs) == (True, 3)
        assert change.difference is not None
        assert change.difference.call == "higher"
        assert change.difference.low > 20.0
