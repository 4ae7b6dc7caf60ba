"""P-values of one pair among all pairs of means: Tukey-Kramer, Games-Howell, Tamhane."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.science.numeric.studentized_range import studentized_range_sf
from laydown.science.numeric.students_t import two_sided_p


def all_pairs_p(t: ArrayLike, *, k: ArrayLike, df: ArrayLike, times: int = 1) -> Floats:
    """P-value of one pair among all pairs of ``k`` means, then multiplied for ``times`` families.

    With the standard error and df of a pooled variance this is Tukey-Kramer; with those of two separate
    variances (Welch-Satterthwaite) it is Games-Howell. Multiplying by the number of families (Bonferroni)
    keeps the chance of any wrong call over all of them at the level chosen.

    Parameters
    ----------
    t : array
        Difference divided by its standard error.
    k : array of int
        Means compared.
    df : array
        Degrees of freedom of the standard error.
    times : int
        Number of families judged together, at least 1.

    Returns
    -------
    array
        ``min(1, times * p)``; NaN where an argument is NaN.

    Notes
    -----
    The range probability of a pair is never below its plain two-sided t probability. Where that alone already
    gives ``times * p >= 1`` the quadrature is skipped; the result is the same.

    References
    ----------
    C. Y. Kramer, Biometrics 12 (1956) 307-310; P. A. Games and J. F. Howell, J. Educ. Stat. 1 (1976) 113-125.

    Checked against
    ---------------
    ``statsmodels`` ``pairwise_tukeyhsd`` (both variants); NIST/SEMATECH 7.4.7.1.
    """
    statistic, means, freedom = np.broadcast_arrays(
        np.abs(np.asarray(t, dtype=np.float64)),
        np.asarray(k, dtype=np.float64),
        np.asarray(df, dtype=np.float64),
    )
    plain = two_sided_p(statistic, df=freedom)
    out = np.where(np.isnan(plain) | ~(means >= 2), np.nan, np.minimum(1.0, times * plain))
    # For k = 2 the range probability is the t probability, so that only larger families need the integral.
    open_ = (out < 1.0) & (means > 2)
    ranged = studentized_range_sf(np.sqrt(2.0) * statistic[open_], k=means[open_], df=freedom[open_])
    out[open_] = np.minimum(1.0, times * ranged)
    return out


def separate_pairs_p(t: ArrayLike, *, k: ArrayLike, df: ArrayLike, times: int = 1) -> Floats:
    """P-value of one pair among all pairs of ``k`` means whose standard errors have nothing in common.

    Tamhane's T2: the plain two-sided t probability (Welch), then Sidak over all pairs, then Bonferroni over
    ``times`` families. With few units per group it keeps its level where Games-Howell does not, because the
    latter takes credit for a standard error that all pairs share, and these do not.

    Parameters
    ----------
    t, df : array
        Difference divided by its standard error; its degrees of freedom.
    k : array of int
        Means compared.
    times : int
        Number of families judged together, at least 1.

    Returns
    -------
    array
        ``min(1, times * (1 - (1 - p)**(k (k - 1) / 2)))``; NaN where an argument is NaN or k is below 2.

    References
    ----------
    A. C. Tamhane, J. Am. Stat. Assoc. 74 (1979) 471-480.

    Checked against
    ---------------
    ``scipy.stats.ttest_ind(equal_var=False)`` for two groups; its error rate by simulation.
    """
    means = np.asarray(k, dtype=np.float64)
    plain = two_sided_p(t, df=df)
    pairs = np.where(means >= 2, 0.5 * means * (means - 1.0), np.nan)
    with np.errstate(divide="ignore"):
        sidak = -np.expm1(pairs * np.log1p(-np.minimum(plain, 1.0)))
    return np.asarray(np.minimum(1.0, times * sidak))
