from __future__ import annotations

import time

import numpy as np
import pytest
from scipy import stats

from laydown.science.numeric import studentized_range_ppf, studentized_range_sf


@pytest.mark.parametrize("k", [2, 3, 5, 12])
@pytest.mark.parametrize("df", [1.0, 1.7, 4.0, 24.0, 59.0, 61.0, 300.0, np.inf])
def test_agrees_with_scipy(k: int, df: float) -> None:
    q = np.array([2.0, 3.5, 6.0, 15.0])
    oracle = stats.studentized_range.sf(q, k, df)
    np.testing.assert_allclose(studentized_range_sf(q, k=k, df=df), oracle, rtol=1e-5, atol=1e-11)


def test_small_q_is_close_to_one() -> None:
    q = np.array([0.01, 0.1, 0.5])
    for k, df in ((3, 50.0), (3, 2.0), (6, 10.0)):
        np.testing.assert_allclose(
            studentized_range_sf(q, k=k, df=df), stats.studentized_range.sf(q, k, df), atol=2e-4
        )


def test_published_critical_values() -> None:
    # NIST/SEMATECH 7.4.7.1: q(.05; 4, 16) = 4.046 and q(.05; 5, 10) = 4.65.
    assert float(studentized_range_ppf(0.05, k=4, df=16)) == pytest.approx(4.046, abs=5.1e-4)
    assert float(studentized_range_ppf(0.05, k=5, df=10)) == pytest.approx(4.65, abs=5.1e-3)


def test_quantile_inverts_probability() -> None:
    upper = np.array([0.2, 0.05, 0.001, 1e-6])
    q = studentized_range_ppf(upper, k=6, df=np.array([1.5, 8.0, 40.0, 200.0]))
    back = studentized_range_sf(q, k=6, df=np.array([1.5, 8.0, 40.0, 200.0]))
    np.testing.assert_allclose(back, upper, rtol=1e-8)


def test_stacked_equals_one_by_one() -> None:
    q = np.array([[1.0, 3.0], [5.0, 9.0]])
    k, df = np.array([3, 7]), np.array([[4.0], [90.0]])
    stacked = studentized_range_sf(q, k=k, df=df)
    single = [[float(studentized_range_sf(q[i, j], k=k[j], df=df[i, 0])) for j in range(2)] for i in range(2)]
    np.testing.assert_allclose(stacked, single, rtol=1e-13)


def test_missing_and_impossible_arguments_are_nan() -> None:
    assert np.isnan(studentized_range_sf([np.nan, 3.0, 3.0], k=[3, 1, 3], df=[5, 5, 0])).all()
    assert np.isnan(studentized_range_sf(3.0, k=3, df=np.nan))
    assert studentized_range_sf([], k=3, df=5).shape == (0,)
    np.testing.assert_array_equal(studentized_range_sf([0.0, -1.0, np.inf], k=3, df=5), [1.0, 1.0, 0.0])


def test_falls_with_q_and_rises_with_k() -> None:
    q = np.linspace(0.6, 12.0, 200)
    p = np.stack([studentized_range_sf(q, k=k, df=7.0) for k in (2, 3, 6, 12)])
    assert (np.diff(p, axis=1) < 0).all()
    assert (np.diff(p, axis=0) > 0).all()


def test_a_whole_comparison_takes_a_moment() -> None:
    # 12 media x 25 quantities; five times what a slow machine needs, but the general routine takes minutes.
    q = np.random.default_rng(1).uniform(1.0, 9.0, 66 * 25)
    studentized_range_sf(q[:2], k=12, df=24.0)
    started = time.perf_counter()
    studentized_range_sf(q, k=12, df=24.0)
    assert time.perf_counter() - started < 0.3
