"""Intervals, pairs, equivalence and the check on spreads, against published figures and other libraries."""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.multicomp import pairwise_tukeyhsd
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW, ttost_ind

from laydown.science.numeric import (
    all_pairs_p,
    equivalence_p,
    largest_variance_p,
    separate_pairs_p,
    studentized_range_ppf,
    t_interval,
    t_quantile,
    two_sided_p,
    welch_satterthwaite_df,
)


def table(tables: Path, name: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((tables / name).read_text(encoding="utf-8"))
    return loaded


def test_nist_tukey(tables: Path) -> None:
    nist = table(tables, "nist_tukey.json")
    groups = np.array(nist["groups"])
    mean, mse = groups.mean(axis=1), groups.var(axis=1, ddof=1).mean()
    assert mse == pytest.approx(nist["MSE"], abs=5e-6)
    half = float(studentized_range_ppf(0.05, k=4, df=16)) * np.sqrt(mse / 5)
    for name, (low, high) in nist["ci"].items():
        a, b = (int(part[2]) - 1 for part in name.split("-"))
        gap = mean[a] - mean[b]
        # Published to 3 decimals.
        assert (gap - half, gap + half) == pytest.approx((low, high), abs=1.1e-3)
    for a, b in combinations(range(4), 2):
        p = all_pairs_p((mean[a] - mean[b]) / np.sqrt(2 * mse / 5), k=4, df=16)
        assert float(p) == pytest.approx(nist["p"][a][b], rel=1e-6)


@pytest.mark.parametrize("variance", ["equal", "unequal"])
def test_all_pairs_agree_with_statsmodels(variance: str, rng: np.random.Generator) -> None:
    sizes = [4, 6, 5, 9]
    values = [rng.normal(0.6 * i, 1.0 + 0.5 * i, n) for i, n in enumerate(sizes)]
    labels = np.repeat(list("abcd"), sizes)
    oracle = pairwise_tukeyhsd(np.concatenate(values), labels, use_var=variance)
    mean, var = np.array([v.mean() for v in values]), np.array([v.var(ddof=1) for v in values])
    n = np.array(sizes)
    i, j = np.triu_indices(4, 1)
    if variance == "equal":
        pool = ((n - 1) * var).sum() / (n - 1).sum()
        error, df = np.sqrt(pool * (1 / n[i] + 1 / n[j])), np.full(6, float((n - 1).sum()))
    else:
        error = np.sqrt(var[i] / n[i] + var[j] / n[j])
        df = welch_satterthwaite_df(var[i], n_a=n[i], variance_b=var[j], n_b=n[j])
    p = all_pairs_p((mean[j] - mean[i]) / error, k=4, df=df)
    np.testing.assert_allclose(p, oracle.pvalues, rtol=1e-4)


def test_shortcuts_change_nothing() -> None:
    t = np.array([0.1, 1.0, 2.5, 4.0])
    whole = np.minimum(1.0, 20 * all_pairs_p(t, k=6, df=9))
    np.testing.assert_allclose(all_pairs_p(t, k=6, df=9, times=20), whole, rtol=1e-12)


def test_two_groups_are_a_t_test(rng: np.random.Generator) -> None:
    a, b = rng.normal(size=5), rng.normal(1.0, 3.0, size=8)
    oracle = stats.ttest_ind(a, b, equal_var=False)
    assert float(separate_pairs_p(oracle.statistic, k=2, df=oracle.df)) == pytest.approx(oracle.pvalue)
    assert float(all_pairs_p(oracle.statistic, k=2, df=oracle.df)) == pytest.approx(oracle.pvalue)
    df = welch_satterthwaite_df(a.var(ddof=1), n_a=5, variance_b=b.var(ddof=1), n_b=8)
    assert float(df) == pytest.approx(oracle.df)
    compare = CompareMeans(DescrStatsW(a), DescrStatsW(b))
    assert float(df) == pytest.approx(float(compare.dof_satt()))


def test_sidak_over_pairs() -> None:
    plain = float(two_sided_p(4.0, df=6.0))
    assert float(separate_pairs_p(4.0, k=4, df=6.0)) == pytest.approx(1 - (1 - plain) ** 6)
    assert float(separate_pairs_p(4.0, k=4, df=6.0, times=3)) == pytest.approx(3 * (1 - (1 - plain) ** 6))
    assert float(separate_pairs_p(0.0, k=4, df=6.0)) == 1.0
    # Tiny probabilities keep their digits.
    assert float(separate_pairs_p(60.0, k=3, df=30.0)) == pytest.approx(3 * float(two_sided_p(60.0, df=30.0)))


def test_pairs_with_something_missing_are_nan() -> None:
    for method in (all_pairs_p, separate_pairs_p):
        assert np.isnan(method([np.nan, 2.0, 2.0], k=[3, 3, 1], df=[5.0, np.nan, 5.0])).all()


def test_welch_df_of_tiny_and_zero_variances() -> None:
    tiny = welch_satterthwaite_df(1e-200, n_a=3, variance_b=4e-200, n_b=3)
    assert float(tiny) == pytest.approx(float(welch_satterthwaite_df(1.0, n_a=3, variance_b=4.0, n_b=3)))
    assert float(welch_satterthwaite_df(0.0, n_a=9, variance_b=1.0, n_b=4)) == 3.0
    assert np.isnan(welch_satterthwaite_df([0.0, 1.0], n_a=[3, 1], variance_b=[0.0, 1.0], n_b=3)).all()


@pytest.mark.parametrize("case", ["welch_d0.43", "student_d0.48"])
def test_equivalence_example(case: str, tables: Path) -> None:
    # Means 5.25 and 5.22, SDs 0.95 and 0.83, counts 95 and 89; results to 4 digits.
    row = table(tables, "tost_example.json")[case]
    va, vb, na, nb = 0.95**2, 0.83**2, 95, 89
    if case.startswith("welch"):
        error = np.sqrt(va / na + vb / nb)
        df = float(welch_satterthwaite_df(va, n_a=na, variance_b=vb, n_b=nb))
        assert df == pytest.approx(row["df"], abs=0.0051)
        # The 1 - 2 alpha interval, 5 decimals.
        low, high = t_interval(0.03, error=error, df=df, confidence=0.90)
        assert (float(low), float(high)) == pytest.approx(tuple(row["ci90"]), abs=5.1e-6)
    else:
        df = row["df"]
        error = np.sqrt(((na - 1) * va + (nb - 1) * vb) / df * (1 / na + 1 / nb))
    p = equivalence_p(0.03, error=error, df=df, margin=row["bound_raw"])
    assert float(p) == pytest.approx(max(row["p_lower"], row["p_upper"]), abs=1.1e-6)


def test_equivalence_agrees_with_statsmodels(rng: np.random.Generator) -> None:
    a, b = rng.normal(0.0, 1.0, 7), rng.normal(0.4, 2.0, 11)
    oracle = ttost_ind(a, b, -1.5, 1.5, usevar="unequal")[0]
    va, vb = a.var(ddof=1), b.var(ddof=1)
    df = welch_satterthwaite_df(va, n_a=7, variance_b=vb, n_b=11)
    p = equivalence_p(a.mean() - b.mean(), error=np.sqrt(va / 7 + vb / 11), df=df, margin=1.5)
    assert float(p) == pytest.approx(oracle, rel=1e-10)


def test_equivalence_without_spread_is_unknown() -> None:
    assert np.isnan(equivalence_p([0.0, 0.0], error=[0.0, np.nan], df=3, margin=1.0)).all()


def test_interval_is_that_of_scipy_and_never_of_zero_width() -> None:
    low, high = t_interval(2.0, error=0.3, df=4, confidence=0.95)
    assert (float(low), float(high)) == pytest.approx(stats.t.interval(0.95, 4, 2.0, 0.3))
    assert np.isnan(t_interval([1.0, 1.0, 1.0], error=[0.0, 0.1, np.nan], df=[3, 0, 3], confidence=0.9)).all()
    np.testing.assert_allclose(t_quantile([1.0, 10.0], confidence=0.99), stats.t.ppf(0.995, [1.0, 10.0]))


def test_largest_of_two_variances_is_the_f_test() -> None:
    one_sided = stats.f.sf(9.0, 4, 6)
    assert float(largest_variance_p([9.0, 1.0], df=[4, 6])) == pytest.approx(2 * one_sided)


@pytest.mark.parametrize(("k", "n"), [(3, 2), (5, 3), (8, 2)])
def test_false_alarms_of_the_variance_check(k: int, n: int, rng: np.random.Generator) -> None:
    variance = rng.chisquare(n - 1, size=(40_000, k)) / (n - 1)
    alarms = (largest_variance_p(variance, df=n - 1.0) <= 0.05).mean()
    # At most the level, and not much below it; 0.0033 is three standard errors.
    assert 0.045 < alarms < 0.05 + 0.0033


def test_variance_check_leaves_out_what_says_nothing() -> None:
    known = float(largest_variance_p([4.0, 1.0, 1.0], df=[2, 2, 2]))
    assert float(largest_variance_p([4.0, np.nan, 1.0, 1.0, 5.0], df=[2, 2, 2, 2, 0])) == pytest.approx(known)
    assert np.isnan(largest_variance_p([1.0], df=[3.0]))
    assert np.isnan(largest_variance_p([0.0, 0.0], df=[3.0, 3.0]))
    assert float(largest_variance_p([2.0, 0.0], df=[3.0, 3.0])) == 0.0
