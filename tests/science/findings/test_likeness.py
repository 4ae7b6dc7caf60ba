"""Unlike things refuse a difference, and say why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from laydown.kernel.stated import Stated
from laydown.science.findings import likeness
from laydown.science.findings.likeness import leave_out_unlike
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


def test_a_stated_illuminant_without_observer_meets_only_its_like(sheet: Reduced) -> None:
    d50, d65 = (replace(sheet, colorimetry=f"{light}/observer not stated") for light in ("D50", "D65"))
    assert "unlike illuminant and observer" in likeness(d50, d65).refusal
    assert "unlike illuminant and observer" in likeness(d50, sheet).refusal
    alike = likeness(d50, d50)
    assert alike.refusal == ""
    assert any("illuminant and observer not stated" in caution for caution in alike.cautions)


def test_geometry_stated_unlike_is_refused(sheet: Reduced) -> None:
    told = likeness(_with(sheet, geometry="45:0"), _with(sheet, geometry="d:8"))
    assert "45:0 against d:8" in told.refusal
    assert likeness(_with(sheet, geometry="45:0"), _with(sheet, geometry="0:45")).refusal == ""


def test_a_refused_pair_has_no_cautions_beside_the_refusal(sheet: Reduced) -> None:
    told = likeness(_with(sheet, measurement=None, age_hours=None), sheet)
    assert told.refusal
    assert told.cautions == ()


@pytest.mark.parametrize(
    "odd",
    [{"finish": "coated"}, {"age_hours": 1.0}, {"geometry": "d:8"}],
)
def test_an_odd_reading_inside_a_medium_is_left_out(sheet: Reduced, odd: dict[str, Any]) -> None:
    alike = [_with(replace(sheet, file=f"s{n}.txt"), geometry="45:0") for n in (1, 2, 3)]
    stranger = _with(replace(sheet, file="s4.txt"), **{"geometry": "45:0", **odd})
    kept, problems = leave_out_unlike([alike[0], stranger, *alike[1:]])
    assert [item.file for item in kept] == ["s1.txt", "s2.txt", "s3.txt"]
    assert [(p.severity, p.file) for p in problems] == [("error", "s4.txt")]


def test_ten_degree_readings_and_other_densities_do_not_enter_a_mean(sheet: Reduced) -> None:
    alike = [replace(sheet, file=f"s{n}.txt") for n in (1, 2)]
    ten = replace(sheet, file="ten.txt", colorimetry="D65/10°")
    other = replace(sheet, file="d.txt", visual_from="density in the file")
    kept, problems = leave_out_unlike([*alike, ten, other])
    assert [item.file for item in kept] == ["s1.txt", "s2.txt"]
    assert len(problems) == 2


def test_conditions_of_one_sheet_are_not_unlike_each_other(sheet: Reduced) -> None:
    kept, problems = leave_out_unlike([sheet, _with(sheet, measurement="M2"), _with(sheet, backing="black")])
    assert len(kept) == 3
    assert not problems
