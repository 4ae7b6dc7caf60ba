"""Gloss: repeats, paper against ink, the angle that fits, the margin."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.deciding import Quantity
from laydown.science.deciding.apart import mean_apart
from laydown.science.medium.gloss import (
    ANGLES,
    HIGHEST,
    LEAST_MARGIN,
    MARGIN_SHARE,
    SEMI_GLOSS,
    STEP,
    fitting_angle,
    gloss_differential,
    gloss_margin,
    repeats_of,
)

PAGE = (Path(__file__).resolve().parents[3] / "docs/methods/gloss.md").read_text(encoding="utf-8")
GLOSS = st.lists(st.floats(0.0, 2000.0), min_size=2, max_size=6)


def test_repeats_worked_by_hand() -> None:
    # 24, 25, 29: mean 78/3; deviations -2, -1, 3, squares 14, over 2.
    told = repeats_of([24.0, 25.0, 29.0])
    assert (told.mean, told.n) == (26.0, 3)
    assert told.sd == pytest.approx(7**0.5)


def test_one_repeat_has_no_spread_and_none_has_nothing() -> None:
    assert repeats_of([3.1]).mean == 3.1
    assert np.isnan(repeats_of([3.1]).sd)
    assert repeats_of([3.0, np.nan]).n == 1
    nothing = repeats_of([])
    assert np.isnan([nothing.mean, nothing.sd]).all()
    assert nothing.n == 0


@settings(deadline=None, max_examples=40)
@given(GLOSS, st.floats(-5.0, 5.0))
def test_repeats_follow_a_shift_and_forget_their_order(values: list[float], by: float) -> None:
    told, moved = repeats_of(values), repeats_of([value + by for value in reversed(values)])
    assert moved.mean == pytest.approx(told.mean + by, abs=1e-6)
    assert moved.sd == pytest.approx(told.sd, abs=1e-6)


def test_the_differential_worked_by_hand() -> None:
    # Shinier whites, duller whites, and a sheet of which one place was not read.
    found = gloss_differential([31.0, 2.5, 30.0], [24.5, 4.0, np.nan])
    np.testing.assert_allclose(found, [6.5, -1.5, np.nan])


def test_the_angle_that_fits_at_both_limits_of_the_rule() -> None:
    # The common rule of ISO 2813, from memory: 20 above 70 GU at 60 degrees, 85 below 10.
    told = {level: fitting_angle(level) for level in (0.0, 9.9, 10.0, 70.0, 70.1, 150.0)}
    assert told == {0.0: 85, 9.9: 85, 10.0: 60, 70.0: 60, 70.1: 20, 150.0: 20}
    assert set(told.values()) <= set(ANGLES)


def test_the_margin_worked_by_hand() -> None:
    # Our own judgement: a tenth, and never less than 1 GU.
    assert [gloss_margin(level) for level in (0.0, 3.0, 10.0, 30.0)] == [1.0, 1.0, 1.0, 3.0]


def test_the_interval_of_a_medium_is_that_of_its_sheets_and_not_of_its_repeats() -> None:
    """Three sheets of three repeats each: the oracle is scipy's t interval of three means."""
    sheets = [[24.0, 25.0, 29.0], [27.0, 28.5, 28.5], [30.0, 31.0, 29.0]]
    means = [repeats_of(one).mean for one in sheets]
    found = mean_apart(means, Quantity("gloss", "GU", resolution=0.1))
    low, high = scipy.stats.t.interval(0.95, df=2, loc=np.mean(means), scale=scipy.stats.sem(means))
    assert found.n == 3
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


def test_the_page_on_gloss_says_what_the_code_does() -> None:
    for angle, source in ANGLES.items():
        (row,) = [line for line in PAGE.splitlines() if line.startswith(f"| {angle}° |")]
        assert source.split(";")[0].split(" (")[0] in row
    for figure in (HIGHEST, *SEMI_GLOSS, LEAST_MARGIN, MARGIN_SHARE, STEP):
        assert re.search(rf"(?<![\d.]){figure.value:g}(?![\d.]\d)", PAGE), figure
