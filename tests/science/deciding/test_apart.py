"""Two groups with spreads of their own: against scipy, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.deciding.apart import judge_apart, mean_apart
from laydown.science.deciding.types import Quantity

GLOSS = Quantity("gloss", "GU", margin=3.0, resolution=0.1)
NAMES = ("satin", "house")
MATTE = (2.8, 3.1, 3.0)
SATIN = (27.1, 31.4, 29.0)


def test_the_interval_of_a_mean_is_students() -> None:
    found = mean_apart([*SATIN, np.nan], GLOSS)
    # The oracle: scipy's t interval.
    low, high = scipy.stats.t.interval(0.95, df=2, loc=np.mean(SATIN), scale=scipy.stats.sem(SATIN))
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-10)
    assert (found.n, found.sd) == (3, pytest.approx(np.std(SATIN, ddof=1)))


def test_a_difference_is_that_of_welch() -> None:
    found = judge_apart(SATIN, MATTE, GLOSS, names=NAMES, judged=4)
    told = scipy.stats.ttest_ind(SATIN, MATTE, equal_var=False)  # the oracle: scipy's Welch test
    interval = told.confidence_interval(0.95)
    assert found.p_adjusted == pytest.approx(4 * told.pvalue, rel=1e-10)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high), rel=1e-10)
    assert (found.call, found.candidate, found.against) == ("higher", "satin", "house")


def test_a_glossy_group_does_not_widen_a_matte_one() -> None:
    """What a shared spread would do: the matte interval is its own, whatever else is compared."""
    alone = mean_apart(MATTE, GLOSS)
    assert alone.high - alone.low < 0.8


def test_inside_the_margin_is_the_same_and_else_it_cannot_be_told() -> None:
    assert judge_apart(MATTE, [3.4, 3.5, 3.3], GLOSS, names=NAMES, judged=1).call == "same"
    unsure = judge_apart([20.0, 30.0], [22.0, 33.0], GLOSS, names=NAMES, judged=1)
    assert (unsure.call, unsure.reason) == (
        "cannot_tell",
        "the difference may be nothing, and may be more than matters",
    )


def test_one_unit_calls_nothing_and_is_named() -> None:
    found = judge_apart([30.0], MATTE, GLOSS, names=NAMES, judged=1)
    assert (found.call, found.reason) == ("cannot_tell", "one unit of satin: no interval, so no call")
    assert np.isnan([found.low, found.high, found.p_adjusted]).all()
    alone = mean_apart([30.0], GLOSS)
    assert alone.value == 30.0
    assert np.isnan([alone.low, alone.high, alone.sd]).all()
    nothing = judge_apart([], [np.nan], GLOSS, names=NAMES, judged=1)
    assert np.isnan(nothing.difference)
    assert nothing.call == "cannot_tell"


def test_equal_readings_are_not_believed_to_be_without_spread() -> None:
    """The spread of rounding to 0.1, a tenth over the root of 12, over the root of two sheets."""
    found = mean_apart([3.0, 3.0], GLOSS)
    low, high = scipy.stats.t.interval(0.95, df=1, loc=3.0, scale=0.1 / 12**0.5 / 2**0.5)
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.sd == 0.0
    bare = judge_apart([3.0, 3.0], [4.0, 4.0], Quantity("x", "GU"), names=NAMES, judged=1)
    assert bare.call == "cannot_tell"  # without a resolution nothing says how little is nothing


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.floats(0, 100), min_size=2, max_size=5), st.lists(st.floats(0, 100), min_size=2, max_size=5)
)
def test_turned_round_it_is_the_same_difference(one: list[float], other: list[float]) -> None:
    there = judge_apart(one, other, GLOSS, names=NAMES, judged=2)
    back = judge_apart(other, one, GLOSS, names=(NAMES[1], NAMES[0]), judged=2)
    assert back.difference == pytest.approx(-there.difference)
    assert (back.low, back.high) == (pytest.approx(-there.high), pytest.approx(-there.low))
    assert back.real == there.real


@pytest.mark.parametrize("spreads", [(0.2, 0.2), (0.2, 3.0)])
def test_a_wrong_call_is_as_rare_as_promised(spreads: tuple[float, float]) -> None:
    """4000 trials without any difference: at most alpha call one (0.05 + 3 standard errors = 0.060)."""
    rng = np.random.default_rng(20260212)
    plain = Quantity("gloss", "GU")
    wrong = sum(
        judge_apart(
            rng.normal(30, spreads[0], 3), rng.normal(30, spreads[1], 3), plain, names=NAMES, judged=1
        ).real
        for _ in range(4000)
    )
    assert wrong / 4000 < 0.05 + 3 * (0.05 * 0.95 / 4000) ** 0.5
