"""Unlike things refuse a difference, and say why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from laydown.kernel.stated import Stated
from laydown.science.findings import likeness
from laydown.science.findings.reduction import Reduced
from laydown.science.prints import PERFECT

Maker = Callable[..., Reduced]


@pytest.fixture
def sheet(reduced: Maker) -> Reduced:
    item = reduced("a.txt", PERFECT)
    return _with(item, finish="uncoated", age_hours=24.0)


def _with(item: Reduced, **told: Any) -> Reduced:
    changed = {key: Stated() if value is None else Stated(value, "test") for key, value in told.items()}
    return replace(item, conditions=replace(item.conditions, **changed))


def test_alike_sheets_have_nothing_against_them(sheet: Reduced) -> None:
    told = likeness(sheet, sheet)
    assert (told.refusal, told.cautions) == ("", ())


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"measurement": "M2"}, "M1 against M2"),
        ({"measurement": None}, "M1 against not stated"),
        ({"backing": "black"}, "white against black"),
        ({"geometry": "d:8"}, None),
        ({"finish": "coated"}, "uncoated against coated"),
        ({"age_hours": 2.0}, "2 h"),
        ({"age_hours": 400.0}, None),
        ({"finish": None}, None),
    ],
)
def test_what_is_refused(sheet: Reduced, other: dict[str, Any], words: str | None) -> None:
    there, back = likeness(sheet, _with(sheet, **other)), likeness(_with(sheet, **other), sheet)
    if words is None:
        assert there.refusal == back.refusal == ""
    else:
        assert words in there.refusal
        assert back.refusal


def test_ten_degree_data_never_meets_two_degree(sheet: Reduced) -> None:
    assert "D50/2° against D50/10°" in likeness(sheet, replace(sheet, colorimetry="D50/10°")).refusal


def test_fresh_sheets_of_one_age_are_compared_with_a_caution(sheet: Reduced) -> None:
    told = likeness(_with(sheet, age_hours=2.0), _with(sheet, age_hours=2.2))
    assert told.refusal == ""
    assert any("2 h after printing" in caution for caution in told.cautions)


def test_what_nobody_stated_is_a_caution(sheet: Reduced) -> None:
    bare = _with(sheet, backing=None, age_hours=None, finish=None, measurement=None)
    told = likeness(bare, bare)
    assert told.refusal == ""
    assert len(told.cautions) == 4
