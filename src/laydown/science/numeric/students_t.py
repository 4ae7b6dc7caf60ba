"""Student's t: intervals of a mean and of a difference, and the degrees of freedom of unequal spreads."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr, stdtrit

from laydown.kernel.arrays import Floats


def t_quantile(df: ArrayLike, *, confidence: float) -> Floats:
    """Half width, in standard errors, of a two-sided interval.

    Parameters
    ----------
    df : array
        Degrees of freedom, above 0.
    confidence : float
        Between 0 and 1, such as 0.95.

    Returns
    -------
    array
        The factor; NaN where ``df`` is not above 0.

    Checked against
    ---------------
    ``scipy.stats.t.ppf``.
    """
    freedom = np.asarray(df, dtype=np.float64)
    usable = np.where(freedom > 0, freedom, 1.0)
    return np.where(freedom > 0, stdtrit(usable, 0.5 + 0.5 * confidence), np.nan)


def t_interval(
    centre: ArrayLike, *, error: ArrayLike, df: ArrayLike, confidence: float
) -> tuple[Floats, Floats]:
    """Ordinary two-sided interval ``centre -+ t * error``.

    For one number looked at on its own; it does not allow for how many intervals are looked at.

    Parameters
    ----------
    centre, error, df : array
        The estimate, its standard error (same unit) and the error's degrees of freedom.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    low, high : array
        In the unit of ``centre``; NaN where ``error`` or ``df`` is not above 0, so that a missing spread
        never looks like certainty.

    Checked against
    ---------------
    ``scipy.stats.t.interval``.
    """
    middle = np.asarray(centre, dtype=np.float64)
    spread = np.asarray(error, dtype=np.float64)
    half = np.where(spread > 0, spread, np.nan) * t_quantile(df, confidence=confidence)
    return middle - half, middle + half


def two_sided_p(t: ArrayLike, *, df: ArrayLike) -> Floats:
    """Probability of a Student t at least as far from zero as ``t``.

    Parameters
    ----------
    t, df : array
        The statistic and its degrees of freedom.

    Returns
    -------
    array
        Probability 0-1; NaN where an argument is NaN.

    Checked against
    ---------------
    ``scipy.stats.t.sf``.
    """
    return np.asarray(2.0 * stdtr(np.asarray(df, dtype=np.float64), -np.abs(np.asarray(t, dtype=np.float64))))


def welch_satterthwaite_df(
    variance_a: ArrayLike, *, n_a: ArrayLike, variance_b: ArrayLike, n_b: ArrayLike
) -> Floats:
    """Effective degrees of freedom of the difference of two means with separate variances.

    Parameters
    ----------
    variance_a, variance_b : array
        Sample variances (divisor n - 1).
    n_a, n_b : array
        Counts, at least 2.

    Returns
    -------
    array
        Between ``min(n) - 1`` and ``n_a + n_b - 2``; NaN where both variances are zero or a count is below 2.

    References
    ----------
    B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110-114.

    Checked against
    ---------------
    ``statsmodels.stats.weightstats.CompareMeans``.
    """
    count_a, count_b = np.asarray(n_a, dtype=np.float64), np.asarray(n_b, dtype=np.float64)
    enough = (count_a >= 2) & (count_b >= 2)
    part_a = np.asarray(variance_a, dtype=np.float64) / np.where(enough, count_a, np.nan)
    part_b = np.asarray(variance_b, dtype=np.float64) / np.where(enough, count_b, np.nan)
    total = part_a + part_b
    # Shares, not raw squares: variances as small as 1e-200 must not underflow.
    share = part_a / np.where(total > 0, total, np.nan)
    denominator = share**2 / (count_a - np.where(enough, 1.0, np.nan)) + (1.0 - share) ** 2 / (
        count_b - np.where(enough, 1.0, np.nan)
    )
    return np.asarray(1.0 / denominator)
