"""The numbers behind the calls, on stacked arrays: standard errors, intervals and p-values of pairs.

One trial or ten thousand simulated ones go through the same lines, so that what is simulated is what is used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.deciding.spreads import Spreads
from laydown.science.numeric.equivalence import equivalence_p
from laydown.science.numeric.pairwise import all_pairs_p, separate_pairs_p
from laydown.science.numeric.students_t import t_interval, two_sided_p

SPREAD_RATIO = Constant(
    2.0,
    "ratio of standard deviations",
    "chosen: the largest ratio between candidates that two to four units cannot be trusted to show, "
    "docs/decisions/0002-how-a-difference-is-called.md",
    "computed",
)
VARIANCE_DOUBT = Constant(
    2.0,
    "ratio of variances",
    "chosen by simulation: how far the ratio of two candidates' own variances is doubted when their df are "
    "reckoned, docs/decisions/0002-how-a-difference-is-called.md",
    "computed",
)


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Per pair (..., p) the difference, its ordinary error, df and interval, and p-values for the calls.

    ``k`` (...) is the number of candidates that can be compared.
    """

    difference: Floats
    error: Floats
    df: Floats
    low: Floats
    high: Floats
    p_adjusted: Floats
    p_equivalence: Floats
    k: Ints


def intervals(found: Spreads, *, confidence: float) -> tuple[Floats, Floats]:
    """Ordinary interval of every candidate's mean, never narrower than its own scatter says.

    Parameters
    ----------
    found : Spreads
        Of the candidates.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    low, high : (..., k) array
        NaN where a candidate has one unit or no believable spread.

    Checked against
    ---------------
    Coverage by simulation, docs/methods/deciding.md.
    """
    own = np.where(found.shares & (found.n >= 2), found.sd**2, 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        error = np.sqrt(np.maximum(found.variance, own) / found.n)
    return t_interval(found.mean, error=error, df=found.df, confidence=confidence)


def compare_pairs(
    found: Spreads,
    *,
    first: Ints,
    second: Ints,
    quantities_judged: int,
    confidence: float,
    margin: float | None,
) -> Pairs:
    """Difference, ordinary interval and p-values for calls of chosen pairs, ``first`` minus ``second``.

    The interval takes the shared variance as it is. The p-values do not: they are the worst over the cases
    that either candidate, or both, in truth varies twice as much as the rest, which two to four units cannot
    be trusted to show. Where candidates use their own variances only their df are doubted.

    Parameters
    ----------
    found : Spreads
        Of k candidates.
    first, second : (p,) array of int
        Candidate numbers of each pair.
    quantities_judged : int
        Quantities judged in the whole trial, at least 1.
    confidence : float
        Of the ordinary intervals.
    margin : float or None
        Equivalence margin.

    Returns
    -------
    Pairs
        NaN where either candidate has no believable spread.

    Notes
    -----
    Pairs of :func:`pair_shares` are compared by Tukey-Kramer, all others by Tamhane's T2 with
    Welch-Satterthwaite df; then Bonferroni over the quantities. The number of means is the number of
    candidates that can be compared, whether or not a pair among them is refused or left out: asking fewer
    questions than allowed for is safe.

    References
    ----------
    See ``laydown.science.numeric.pairwise``.

    Checked against
    ---------------
    NIST/SEMATECH 7.4.7.1, ``statsmodels`` ``pairwise_tukeyhsd``; error rates by simulation.
    """
    difference = found.mean[..., first] - found.mean[..., second]
    both = pair_shares(found, first=first, second=second)
    means = np.asarray((found.variance > 0).sum(axis=-1))
    error, df = pair_error(found, first=first, second=second)
    shown = _shown_error(found, error, first=first, second=second)
    low, high = t_interval(difference, error=shown, df=df, confidence=confidence)
    worst_t, worst_df, worst_plain = difference / error, df, two_sided_p(difference / error, df=df)
    same = _equivalence(difference, error, df, margin)
    wide = SPREAD_RATIO.value**2
    for case in ((wide, 1.0), (1.0, wide), (wide, wide)):
        case_error, case_df = pair_error(found, first=first, second=second, case=case)
        t = difference / case_error
        plain = two_sided_p(t, df=case_df)
        worse = plain > worst_plain
        worst_t, worst_df = np.where(worse, t, worst_t), np.where(worse, case_df, worst_df)
        worst_plain = np.where(worse, plain, worst_plain)
        same = np.maximum(same, _equivalence(difference, case_error, case_df, margin))
    k = means[..., np.newaxis]
    shared_t = np.where(both, worst_t, np.nan)
    return Pairs(
        difference=difference,
        error=error,
        df=df,
        low=low,
        high=high,
        p_adjusted=np.where(
            both,
            all_pairs_p(shared_t, k=k, df=worst_df, times=quantities_judged),
            separate_pairs_p(worst_t, k=k, df=worst_df, times=quantities_judged),
        ),
        p_equivalence=same,
        k=means,
    )


def pair_shares(found: Spreads, *, first: Ints, second: Ints) -> Bools:
    """Whether a pair is compared by the shared variance.

    It is where at least one of the two depends on that variance and the other is not too wide for it: the
    other's own variance is part of the pool, and may not be counted as a second, independent one.

    Parameters
    ----------
    found : Spreads
        Of k candidates.
    first, second : (p,) array of int
        Candidate numbers.

    Returns
    -------
    (..., p) array of bool
        True where the shared variance stands for both.

    Checked against
    ---------------
    Coverage of differences between few and many units, in the tests.
    """
    may = (found.n >= 2) & ~found.too_wide
    one = found.shares[..., first] | found.shares[..., second]
    return np.asarray(may[..., first] & may[..., second] & one)


def pair_error(
    found: Spreads, *, first: Ints, second: Ints, case: tuple[float, float] = (1.0, 1.0)
) -> tuple[Floats, Floats]:
    """Standard error of pairs and its degrees of freedom, in one case of true variances.

    Parameters
    ----------
    found : Spreads
        Of k candidates.
    first, second : (p,) array of int
        Candidate numbers.
    case : pair of float
        True variance of the first and of the second as multiples of the variance of all others. For
        candidates that use the shared variance: their part in it is known, so that what the shared variance
        then stands for, and with how many degrees of freedom, follows. For a candidate with its own variance
        a multiple above one only means that this variance may be larger than seen, by ``VARIANCE_DOUBT``,
        when the df of the difference are reckoned.

    Returns
    -------
    error, df : (..., p) array
        NaN where either candidate has no believable spread.

    References
    ----------
    F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110-114.

    Checked against
    ---------------
    Simulated variances with the ratios of the case.
    """
    both = pair_shares(found, first=first, second=second)
    shares = found.shares[..., first] | both, found.shares[..., second] | both
    weights = found.weight[..., first], found.weight[..., second]
    used = [np.where(shared, multiple, 1.0) for shared, multiple in zip(shares, case, strict=True)]
    total = found.shared_df[..., np.newaxis]
    # The pool estimates this multiple of the common variance, with these df (Satterthwaite).
    level, squares = total, total
    for weight, multiple in zip(weights, used, strict=True):
        level = level + weight * (multiple - 1.0)
        squares = squares + weight * (multiple**2 - 1.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        pool_df = level**2 / squares
        scale = total / level
    parts, doubted, freedoms = [], [], []
    for side, shared, multiple, asked in zip((first, second), shares, used, case, strict=True):
        pooled = found.pool[..., np.newaxis] * multiple * scale
        variance = np.where(shared, pooled, found.variance[..., side])
        with np.errstate(invalid="ignore", divide="ignore"):
            parts.append(variance / found.n[..., side])
        doubt = VARIANCE_DOUBT.value if asked > 1.0 else 1.0
        doubted.append(parts[-1] * np.where(shared, 1.0, doubt))
        freedoms.append(np.where(shared, pool_df, found.df[..., side]))
    total_variance = parts[0] + parts[1]
    with np.errstate(invalid="ignore", divide="ignore"):
        portion = doubted[0] / (doubted[0] + doubted[1])
        separate = 1.0 / (portion**2 / freedoms[0] + (1.0 - portion) ** 2 / freedoms[1])
    df = np.where(both, pool_df, separate)
    return np.sqrt(total_variance), np.where(np.isnan(total_variance), np.nan, df)


def _shown_error(found: Spreads, error: Floats, *, first: Ints, second: Ints) -> Floats:
    """Error for the interval: a candidate that itself varied more than the shared variance says counts so."""
    both = pair_shares(found, first=first, second=second)
    beyond = np.zeros_like(error)
    for side in (first, second):
        excess = found.sd[..., side] ** 2 - found.pool[..., np.newaxis]
        counts = (found.shares[..., side] | both) & (excess > 0.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            beyond = beyond + np.where(counts, excess / found.n[..., side], 0.0)
    return np.sqrt(error**2 + beyond)


def _equivalence(difference: Floats, error: Floats, df: Floats, margin: float | None) -> Floats:
    """Equivalence p, NaN without a margin."""
    if margin is None:
        return np.full_like(difference, np.nan)
    return equivalence_p(difference, error=error, df=df, margin=margin)
