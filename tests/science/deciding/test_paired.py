"""The same sheets before and after: against scipy, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from laydown.science.deciding.paired import judge_paired
from laydown.science.deciding.types import Quantity

DMAX = Quantity("dmax", "D", preference="higher", margin=0.05)
NAMES = ("coated", "before")


def test_a_change_is_that_of_a_paired_test(rng: np.random.Generator) -> None:
    before = rng.normal(1.6, 0.1, 5)
    after = before + rng.normal(0.08, 0.03, 5)
    found = judge_paired(before, after, DMAX, names=NAMES, judged=1)
    told = scipy.stats.ttest_rel(after, before)  # the oracle: scipy's own paired test
    interval = told.confidence_interval(0.95)
    assert found.p_adjusted == pytest.approx(told.pvalue, rel=1e-10)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high), rel=1e-10)
    assert found.difference == pytest.approx(np.mean(after - before))


def test_what_a_sheet_is_like_itself_falls_out() -> None:
    """Sheets that differ by ten times the change; two groups could not tell it."""
    before = np.array([1.2, 1.6, 2.0, 1.4])
    after = before + np.array([0.10, 0.11, 0.09, 0.10])
    found = judge_paired(before, after, DMAX, names=NAMES, judged=4)
    assert found.call == "better"
    assert found.real
    assert 0.0 < found.low < 0.1 < found.high < 0.12


def test_a_change_inside_the_margin_is_the_same() -> None:
    before = np.array([1.2, 1.6, 2.0, 1.4])
    found = judge_paired(before, before + np.array([0.01, 0.0, -0.01, 0.005]), DMAX, names=NAMES, judged=4)
    assert found.call == "same"


def test_one_sheet_or_none_calls_nothing() -> None:
    found = judge_paired([1.2], [1.6], DMAX, names=NAMES, judged=1)
    assert (found.difference, found.call) == (pytest.approx(0.4), "cannot_tell")
    assert np.isnan(found.low)
    assert "one unit" in found.reason
    none = judge_paired([np.nan], [1.6], DMAX, names=NAMES, judged=1)
    assert none.call == "cannot_tell"
    assert np.isnan(none.difference)


def test_equal_changes_are_not_believed_to_be_without_spread() -> None:
    rounded = Quantity("dmax", "D", preference="higher", margin=0.05, resolution=0.005)
    found = judge_paired([1.6, 1.7], [1.61, 1.71], rounded, names=NAMES, judged=1)
    assert np.isfinite(found.low)
    assert found.high > found.low


@pytest.mark.parametrize(("n", "judged"), [(3, 1), (5, 4)])
def test_a_wrong_call_is_as_rare_as_promised(n: int, judged: int) -> None:
    """4000 trials without any change: at most alpha of them call one (0.05 + 3 standard errors = 0.061)."""
    rng = np.random.default_rng(20260131)
    quantity = Quantity("x", "D", preference="higher")
    wrong = 0
    for _ in range(4000 // judged):
        sheets = rng.normal(1.6, 0.1, n)
        called = [
            judge_paired(
                sheets + rng.normal(0, 0.01, n),
                sheets + rng.normal(0, 0.01, n),
                quantity,
                names=NAMES,
                judged=judged,
            ).call
            for _ in range(judged)
        ]
        wrong += any(call != "cannot_tell" for call in called)
    assert wrong / (4000 // judged) < 0.05 + 3 * (0.05 * 0.95 / (4000 // judged)) ** 0.5
