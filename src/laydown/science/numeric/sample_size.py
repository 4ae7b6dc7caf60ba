"""How large a difference, or how close a sameness, a number of units would show; and the number needed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import nctdtr, ndtr

from laydown.kernel.arrays import Floats, Ints


def smallest_count(
    power_at: Callable[[Floats], Floats],
    *,
    cases: int,
    wanted: float,
    smallest: int,
    largest: int,
) -> Ints:
    """Smallest count at which a rising power reaches ``wanted``, for many cases at once.

    Parameters
    ----------
    power_at : callable
        Takes one count per case and returns power 0-1; rising in the count, NaN where unknown.
    cases : int
        Number of cases.
    wanted : float
        Power wanted.
    smallest, largest : int
        Counts considered.

    Returns
    -------
    array of int
        The count; 0 where ``largest`` is not enough or the power is unknown.

    Notes
    -----
    Bisection: about ``log2(largest)`` calls, whatever the number of cases.

    Checked against
    ---------------
    A plain search over every count.
    """
    low, high = np.full(cases, smallest - 1.0), np.full(cases, float(largest))
    possible = power_at(high) >= wanted
    for _ in range(int(np.ceil(np.log2(largest - smallest + 2)))):
        middle = np.maximum(np.floor(0.5 * (low + high)), smallest)
        enough = power_at(middle) >= wanted
        high = np.where(enough, np.minimum(middle, high), high)
        low = np.where(enough, low, np.minimum(middle, high))
    return np.where(possible, high, 0.0).astype(np.int64)


def difference_power(gap: ArrayLike, *, error: ArrayLike, df: ArrayLike, critical: ArrayLike) -> Floats:
    """Chance that a true difference is found, in its own direction, where t must reach ``critical``.

    Parameters
    ----------
    gap, error, df : array
        Size of the true difference (>= 0), standard error of the difference, degrees of freedom.
    critical : array
        Size of t at which the difference is called.

    Returns
    -------
    array
        Power 0-1.

    Checked against
    ---------------
    ``statsmodels`` ``TTestIndPower`` for two groups.
    """
    shift = np.asarray(gap, dtype=np.float64) / np.asarray(error, dtype=np.float64)
    return np.asarray(1.0 - _noncentral_t(df, shift, critical))


def equivalence_power(
    gap: ArrayLike, *, error: ArrayLike, df: ArrayLike, margin: float, critical: ArrayLike
) -> Floats:
    """Chance that two one-sided tests both succeed where the true difference is ``gap``.

    Parameters
    ----------
    gap, error, df : array
        True difference, standard error of the difference, degrees of freedom.
    margin : float
        Equivalence margin, above 0.
    critical : array
        Size of t that each one-sided test must reach.

    Returns
    -------
    array
        Power 0-1.

    Notes
    -----
    The difference of two noncentral t probabilities; it leaves out that both tests use the same s, and is
    never too large for it.

    References
    ----------
    K. F. Phillips, J. Pharmacokinet. Biopharm. 18 (1990) 137-144.

    Checked against
    ---------------
    Simulation, in the tests.
    """
    centre, spread = np.asarray(gap, dtype=np.float64), np.asarray(error, dtype=np.float64)
    needed = np.asarray(critical, dtype=np.float64)
    inside = _noncentral_t(df, (centre - margin) / spread, -needed)
    return np.maximum(0.0, inside - _noncentral_t(df, (centre + margin) / spread, needed))


def _noncentral_t(df: ArrayLike, shift: ArrayLike, t: ArrayLike) -> Floats:
    """P(noncentral t <= t); a normal approximation where the library's series gives up."""
    freedom, delta, at = np.broadcast_arrays(
        np.asarray(df, dtype=np.float64), np.asarray(shift, dtype=np.float64), np.asarray(t, dtype=np.float64)
    )
    # Johnson and Welch's approximation: (t c - delta) / sqrt(1 + t^2 / (2 df)), c = 1 - 1 / (4 df).
    rough = ndtr((at * (1.0 - 0.25 / freedom) - delta) / np.sqrt(1.0 + at**2 / (2.0 * freedom)))
    near = np.abs(delta) < 30.0
    exact = nctdtr(freedom, np.where(near, delta, 0.0), at)
    return np.where(near & np.isfinite(exact), exact, rough)
