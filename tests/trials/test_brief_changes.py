"""The brief in force follows from the sealed text and its changes, and from nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.trials.brief_changes import (
    LABELS,
    Alteration,
    alterations,
    amount_words,
    brief_in_force,
    changes_that_do_not_follow,
)
from laydown.trials.contradictions import contradictions
from laydown.trials.facts import TrialFacts
from laydown.trials.seals import SEALED_FIELDS, seal_of
from laydown.trials.studio import Studio
from laydown.trials.trial import Brief, BriefChange, Criterion, Gate, Trial, WantedDifference

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
SEALED = Brief(
    id="b",
    trial_id="t",
    question="Which canvas?",
    products=("wrapped canvas",),
    sizes="60 x 90 cm",
    gates=(Gate(name="Lies flat"), Gate(name="No flakes", words="on black")),
    criteria=(Criterion(name="Black", weight=30, finding="dmax_visual"), Criterion(name="Hand", weight=5)),
    differences=(WantedDifference(finding="dmax_visual", amount=0.05),),
    stop_date=date(2026, 4, 1),
)


def dated(found: tuple[Alteration, ...], *, hours: float = 0) -> list[BriefChange]:
    return [
        BriefChange(
            id=f"c{hours}-{number}",
            trial_id="t",
            at=NOON + timedelta(hours=hours),
            by="Ada",
            why="asked for",
            field=one.field,
            part=one.part,
            before=one.before,
            after=one.after,
            before_plain=one.before_plain,
            after_plain=one.after_plain,
        )
        for number, one in enumerate(found)
    ]


def in_name_order(brief: Brief) -> Brief:
    """The same brief with its parts by name: their order means nothing."""
    return replace(
        brief,
        gates=tuple(sorted(brief.gates, key=lambda one: one.name)),
        criteria=tuple(sorted(brief.criteria, key=lambda one: one.name)),
        differences=tuple(sorted(brief.differences, key=lambda one: one.finding)),
    )


def test_every_sealed_field_can_be_changed() -> None:
    assert set(LABELS) == set(SEALED_FIELDS) - {"trial_id"}


def test_changes_of_every_kind_are_made() -> None:
    wanted = replace(
        SEALED,
        question="Which canvas, uncoated?",
        products=("wrapped canvas", "loose sheet"),
        stop_date=None,
        gates=(Gate(name="No flakes", words="on black and blue"),),
        criteria=(*SEALED.criteria, Criterion(name="Cost", weight=5)),
        differences=(WantedDifference(finding="gamut_volume", amount=0.1),),
    )
    found = alterations(SEALED, wanted)
    assert {(one.field, one.part, one.before, one.after) for one in found} == {
        ("question", "", "Which canvas?", "Which canvas, uncoated?"),
        ("products", "", "wrapped canvas", "wrapped canvas, loose sheet"),
        ("stop_date", "", "2026-04-01", "not stated"),
        ("gates", "Lies flat", "must be met", "not there"),
        ("gates", "No flakes", "on black", "on black and blue"),
        ("criteria", "Cost", "not there", "weight 5"),
        ("differences", "dmax_visual", "0.05 D", "not there"),
        ("differences", "gamut_volume", "not there", "10 %"),
    }
    assert brief_in_force(SEALED, dated(found)) == wanted


def test_a_change_of_a_change_takes_the_latest() -> None:
    first = replace(SEALED, gates=(Gate(name="Lies flat", words="after a day"), SEALED.gates[1]))
    second = replace(first, gates=(Gate(name="Lies flat", words="after a week"), SEALED.gates[1]))
    changes = dated(alterations(SEALED, first)) + dated(alterations(first, second), hours=1)
    assert brief_in_force(SEALED, changes) == second
    assert changes_that_do_not_follow(SEALED, changes) == ()


def test_the_seal_stays_that_of_the_sealed_text() -> None:
    sealed = replace(SEALED, sealed_at=NOON, sealed_by="Ada", seal=seal_of(SEALED, at=NOON, by="Ada"))
    now = brief_in_force(sealed, dated(alterations(sealed, replace(sealed, sizes="A2"))))
    assert (now.seal, now.sealed_at, now.sizes) == (sealed.seal, NOON, "A2")


def test_what_lies_under_a_later_change_cannot_be_taken_away() -> None:
    sealed = replace(SEALED, sealed_at=NOON, sealed_by="Ada", seal=seal_of(SEALED, at=NOON, by="Ada"))
    first, second = replace(sealed, sizes="A2"), replace(sealed, sizes="A1")
    below = dated(alterations(sealed, first))
    above = dated(alterations(first, second), hours=1)
    assert changes_that_do_not_follow(sealed, above) == tuple(above)
    trial = Trial(id="t", name="T", begun=NOON.date())
    facts = TrialFacts(studio=Studio(id="studio"), trial=trial, brief=sealed, brief_changes=(*below, *above))
    assert contradictions(facts, now=None) == ()
    (told,) = contradictions(replace(facts, brief_changes=tuple(above)), now=None)
    assert "later change" in told


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        (WantedDifference(finding="dmax_visual", amount=0.05), "0.05 D"),
        (WantedDifference(finding="gamut_volume", amount=0.05), "5 %"),
        (WantedDifference(finding="gone_since", amount=2.0), "2"),
    ],
)
def test_amounts_carry_their_unit(wanted: WantedDifference, words: str) -> None:
    assert amount_words(wanted) == words


NAMES = st.text(min_size=1, max_size=4)
WEIGHTS = st.floats(0, 100, allow_nan=False)
BRIEFS = st.builds(
    Brief,
    id=st.just("b"),
    trial_id=st.just("t"),
    question=st.text(max_size=6),
    products=st.lists(
        st.sampled_from(("wrapped canvas", "framed paper", "loose sheet")), unique=True, max_size=3
    ).map(tuple),
    must_match=st.text(max_size=6),
    gates=st.dictionaries(NAMES, st.text(max_size=4), max_size=4).map(
        lambda told: tuple(Gate(name=name, words=words) for name, words in told.items())
    ),
    criteria=st.dictionaries(NAMES, WEIGHTS, max_size=4).map(
        lambda told: tuple(Criterion(name=name, weight=weight) for name, weight in told.items())
    ),
    differences=st.dictionaries(st.sampled_from(("white_l", "opacity")), st.floats(0.01, 9), max_size=2).map(
        lambda told: tuple(WantedDifference(finding=name, amount=amount) for name, amount in told.items())
    ),
    stop_date=st.none() | st.dates(),
)


@settings(deadline=None)
@given(st.lists(BRIEFS, min_size=2, max_size=4))
def test_any_brief_is_reached_from_any_other_by_its_changes(briefs: list[Brief]) -> None:
    changes: list[BriefChange] = []
    in_force = briefs[0]
    for hours, wanted in enumerate(briefs[1:]):
        changes += dated(alterations(in_force, wanted), hours=hours)
        in_force = brief_in_force(briefs[0], changes)
        assert in_name_order(in_force) == in_name_order(wanted)
    assert changes_that_do_not_follow(briefs[0], changes) == ()


@settings(deadline=None)
@given(BRIEFS)
def test_a_brief_does_not_differ_from_itself(brief: Brief) -> None:
    assert alterations(brief, brief) == ()
