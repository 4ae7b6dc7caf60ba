"""The seal on a brief: any change breaks it, and nothing else does."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, replace
from datetime import date, timedelta, timezone

import pytest
from a_small_trial import MONDAY, sealed

from laydown.trials.seals import NOT_SEALED_OVER, SEALED_FIELDS, seal_holds, seal_of
from laydown.trials.trial import Brief, Criterion, Gate, WantedDifference

BRIEF = Brief(
    id="b",
    trial_id="t",
    question="Which canvas for wraps up to 1 m?",
    products=("wrapped canvas",),
    gates=(Gate(name="folds without cracks"),),
    criteria=(Criterion(name="black", weight=0.3, finding="dmax"),),
    differences=(WantedDifference(finding="dmax", amount=0.05),),
    stop_date=date(2026, 3, 20),
)
OTHERWISE: dict[str, object] = {
    "trial_id": "another",
    "products": ("loose sheet",),
    "gates": (Gate(name="folds without cracks", words="at 20 °C"),),
    "criteria": (Criterion(name="black", weight=0.31, finding="dmax"),),
    "differences": (WantedDifference(finding="dmax", amount=0.06),),
    "stop_date": date(2026, 3, 21),
}


def test_a_sealed_brief_holds_and_an_open_one_carries_no_seal() -> None:
    assert seal_holds(sealed(BRIEF))
    assert seal_holds(BRIEF)
    assert not seal_holds(replace(BRIEF, seal="0" * 64))
    assert not seal_holds(replace(BRIEF, sealed_by="Ada"))


@pytest.mark.parametrize("field", SEALED_FIELDS)
def test_any_change_breaks_the_seal(field: str) -> None:
    altered = replace(sealed(BRIEF), **{field: OTHERWISE.get(field, "something else")})  # type: ignore[arg-type]  # by name
    assert not seal_holds(altered)


@pytest.mark.parametrize(
    "change", [{"sealed_by": "Eve"}, {"sealed_at": MONDAY}, {"sealed_at": None}, {"seal": ""}]
)
def test_who_and_when_are_under_the_seal(change: dict[str, object]) -> None:
    assert not seal_holds(replace(sealed(BRIEF), **change))  # type: ignore[arg-type]  # by name


def test_every_field_is_under_the_seal_or_named_as_left_out() -> None:
    assert set(SEALED_FIELDS) | NOT_SEALED_OVER == {item.name for item in fields(Brief)}


def test_the_seal_can_be_recomputed_by_anybody() -> None:
    """SHA-256 over sorted, compact JSON in UTF-8, written out here without the program's own code."""
    told = {
        "coating": "",
        "criteria": [{"finding": "dmax", "name": "black", "weight": 0.3, "words": ""}],
        "differences": [{"amount": 0.05, "finding": "dmax"}],
        "display_light": "",
        "gates": [{"name": "folds without cracks", "words": ""}],
        "glazing": "",
        "judges": "",
        "lights": "",
        "must_match": "",
        "products": ["wrapped canvas"],
        "question": "Which canvas for wraps up to 1 m?",
        "sealed_at": "2026-03-02T09:00:00+00:00",
        "sealed_by": "Ada",
        "sizes": "",
        "stop_date": "2026-03-20",
        "trial_id": "t",
        "viewing_distance": "",
        "words": "",
    }
    text = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert seal_of(BRIEF, at=MONDAY, by="Ada") == hashlib.sha256(text.encode("utf-8")).hexdigest()


def test_the_moment_counts_and_not_the_zone_it_is_written_in() -> None:
    there = MONDAY.astimezone(timezone(timedelta(hours=-8)))
    assert seal_of(BRIEF, at=there, by="Ada") == seal_of(BRIEF, at=MONDAY, by="Ada")
