"""How many units each group would need for a difference, or for sameness, to show."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import nctdtr, ndtr, stdtrit

from laydown.kernel.arrays import Floats, Ints
from laydown.science.numeric.studentized_range import studentized_range_ppf


def units_needed(
    difference: ArrayLike,
    *,
    variance_a: ArrayLike,
    variance_b: ArrayLike,
    df_per_step: ArrayLike,
    k: int,
    level: float,
    margin: float | None,
    equivalence_level: float,
    power: float,
    largest: int,
) -> Ints:
    """Smallest equal number of units per group at which one of two tests is reached with the stated power.

    The two tests are Tukey's comparison of all pairs at ``level`` and the two one-sided tests at
    ``equivalence_level``. It supposes that difference and spread stay exactly as seen, which a small trial
    cannot promise: use it to plan, never as a result.

    Parameters
    ----------
    difference, variance_a, variance_b : array
        Difference and the two variances as seen.
    df_per_step : array
        Degrees of freedom gained with each unit per group: the number of groups where the variance is pooled,
        ``(va + vb)**2 / (va**2 + vb**2)`` where it is separate.
    k : int
        Means compared.
    level : float
        Level of the comparison of pairs, already divided for several families.
    margin : float or None
        Equivalence margin; None leaves that test out.
    equivalence_level, power : float
        Level of each one-sided test; power wanted, such as 0.8.
    largest : int
        Largest number considered.

    Returns
    -------
    array of int
        Between 2 and ``largest``; 0 where more would be needed or nothing can be foretold.

    Notes
    -----
    Noncentral t for both; the power of the two one-sided tests is the usual difference of two noncentral t
    probabilities (exact up to their correlation through the shared s, and never too large). Critical ranges
    come from a table in df, interpolated. Cost: 8 steps of bisection over all pairs at once.

    References
    ----------
    K. F. Phillips, J. Pharmacokinet. Biopharm. 18 (1990) 137-144 (power of the two one-sided tests).

    Checked against
    ---------------
    Simulation of both tests at the number returned; ``statsmodels`` ``TTestIndPower`` for two groups.
    """
    gap, va, vb, gain = (
        np.atleast_1d(item)
        for item in np.broadcast_arrays(
            np.abs(np.asarray(difference, dtype=np.float64)),
            np.asarray(variance_a, dtype=np.float64),
            np.asarray(variance_b, dtype=np.float64),
            np.asarray(df_per_step, dtype=np.float64),
        )
    )
    total = va + vb
    usable = np.isfinite(gap) & (total > 0) & (gain > 0)
    gap, total, gain = np.where(usable, gap, 0.0), np.where(usable, total, 1.0), np.where(usable, gain, 1.0)

    def reached(n: Floats) -> Floats:
        error, df = np.sqrt(total / n), gain * (n - 1.0)
        told = difference_power(gap, error=error, df=df, k=k, level=level)
        same = (
            np.zeros_like(told)
            if margin is None
            else equivalence_power(gap, error=error, df=df, margin=margin, level=equivalence_level)
        )
        return np.maximum(told, same)

    low, high = np.full(gap.shape, 1.0), np.full(gap.shape, float(largest))
    possible = usable & (reached(high) >= power)
    for _ in range(int(np.ceil(np.log2(largest)))):
        middle = np.clip(np.floor(0.5 * (low + high)), 2.0, largest)
        enough = reached(middle) >= power
        high = np.where(enough, middle, high)
        low = np.where(enough, low, np.minimum(middle, high))
    return np.where(possible, high, 0.0).astype(np.int64)


def difference_power(gap: ArrayLike, *, error: ArrayLike, df: ArrayLike, k: int, level: float) -> Floats:
    """Chance that a true difference ``gap`` is found, in its own direction, among all pairs of ``k`` means.

    Parameters
    ----------
    gap, error, df : array
        True difference (>= 0), standard error of the difference, degrees of freedom.
    k : int
        Means compared.
    level : float
        Level of the comparison.

    Returns
    -------
    array
        Power 0-1.

    Checked against
    ---------------
    ``statsmodels`` ``TTestIndPower`` for two groups.
    """
    shift = np.asarray(gap, dtype=np.float64) / np.asarray(error, dtype=np.float64)
    return 1.0 - _noncentral_t(df, shift, critical_t(df, k=k, level=level))


def equivalence_power(
    gap: ArrayLike, *, error: ArrayLike, df: ArrayLike, margin: float, level: float
) -> Floats:
    """Chance that two one-sided tests both succeed where the true difference is ``gap``.

    Parameters
    ----------
    gap, error, df : array
        True difference, standard error of the difference, degrees of freedom.
    margin, level : float
        Equivalence margin, above 0; level of each test.

    Returns
    -------
    array
        Power 0-1.

    Checked against
    ---------------
    Simulation, in the tests.
    """
    centre, spread = np.asarray(gap, dtype=np.float64), np.asarray(error, dtype=np.float64)
    needed = stdtrit(np.asarray(df, dtype=np.float64), 1.0 - level)
    inside = _noncentral_t(df, (centre - margin) / spread, -needed)
    return np.maximum(0.0, inside - _noncentral_t(df, (centre + margin) / spread, needed))


def critical_t(df: ArrayLike, *, k: int, level: float) -> Floats:
    """Size of t at which one pair among all pairs of ``k`` means is called, by table in df.

    Parameters
    ----------
    df : array
        Degrees of freedom, 0.5 and up.
    k : int
        Means compared.
    level : float
        Level of the comparison.

    Returns
    -------
    array
        Critical t, to about 0.1 %.

    Checked against
    ---------------
    :func:`studentized_range_ppf` between the table's places.
    """
    places, logs = _critical_table(k, level)
    found = np.interp(1.0 / np.asarray(df, dtype=np.float64), places, logs)
    return np.asarray(np.exp(found))


@lru_cache(maxsize=64)
def _critical_table(k: int, level: float) -> tuple[Floats, Floats]:
    """1 / df (rising) and the logarithm of the critical t, which is nearly straight in it."""
    df = np.geomspace(5000.0, 0.5, 48)
    if k == 2:
        critical = stdtrit(df, 1.0 - 0.5 * level)
    else:
        critical = studentized_range_ppf(level, k=k, df=df) / np.sqrt(2.0)
    return 1.0 / df, np.log(critical)


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
