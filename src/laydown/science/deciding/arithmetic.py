"""The numbers behind the calls, on stacked arrays: spread, intervals, p-values of all pairs.

One trial or ten thousand simulated ones go through the same lines, so that what is simulated is what is used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.numeric.equal_spread import largest_variance_p
from laydown.science.numeric.equivalence import equivalence_p
from laydown.science.numeric.pairwise import all_pairs_p
from laydown.science.numeric.students_t import t_interval, welch_satterthwaite_df

SPREAD_CHECK_LEVEL = Constant(
    0.05,
    "probability",
    "chosen by simulation, docs/decisions/0002-how-a-difference-is-called.md",
    "computed",
)


@dataclass(frozen=True, slots=True, eq=False)
class Spreads:
    """Per candidate (..., k): count, mean, own SD, variance and df used; per stack: pooled, check.

    ``variance`` and ``df`` are NaN where nothing can be said about a candidate's spread. ``sd`` is the plain
    sample SD, without floor. ``floored`` marks candidates whose spread was raised to the resolution;
    ``alike`` marks candidates with at least two identical values and no resolution to judge them by.
    """

    n: Ints
    mean: Floats
    sd: Floats
    variance: Floats
    df: Floats
    pooled: Bools
    check_p: Floats
    floored: Bools
    alike: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Per pair (..., p): difference, standard error, df, interval, p-values; ``k`` (...) means compared."""

    difference: Floats
    error: Floats
    df: Floats
    low: Floats
    high: Floats
    p_adjusted: Floats
    p_equivalence: Floats
    k: Ints


def spreads(values: Floats, *, resolution: float = 0.0) -> Spreads:
    """Means and believable variances of candidates, pooled where that is safe.

    A candidate's variance is never below ``resolution**2 / 12``. Candidates whose values are all identical
    with no resolution stated carry no evidence: they are left out of the pooled variance and of the check,
    and use the pooled variance of the others. Where one variance is too large for the rest, each candidate
    keeps its own.

    Parameters
    ----------
    values : (..., k, n) array
        Units of k candidates, NaN where missing.
    resolution : float
        Smallest step of the number, 0 if continuous.

    Returns
    -------
    Spreads
        In the unit of ``values`` (variance: squared).

    Checked against
    ---------------
    ``statsmodels`` one-way ANOVA (pooled variance) in the tests.
    """
    present = np.isfinite(values)
    n = present.sum(axis=-1)
    filled = np.where(present, values, 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(n > 0, filled.sum(axis=-1) / n, np.nan)
        squares = (np.where(present, values - mean[..., np.newaxis], 0.0) ** 2).sum(axis=-1)
        own = np.where(n >= 2, squares / (n - 1), np.nan)
    # Identical values may leave rounding noise in the mean; that is not spread.
    alike = (n >= 2) & (_span(values, present) == 0.0)
    own = np.where(alike, 0.0, own)
    floor = resolution**2 / 12.0
    floored = (n >= 2) & (own < floor)
    believed = np.where(floored, floor, own)
    evidence = (n >= 2) & (believed > 0)
    freedom = np.where(evidence, n - 1.0, 0.0)
    total = freedom.sum(axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        pool = (freedom * np.where(evidence, believed, 0.0)).sum(axis=-1) / total
    check_p = largest_variance_p(np.where(evidence, believed, np.nan), df=freedom)
    pooled = (total > 0) & ~(check_p <= SPREAD_CHECK_LEVEL.value)
    shared = pooled[..., np.newaxis] & (n >= 2)
    return Spreads(
        n=n,
        mean=mean,
        sd=np.sqrt(own),
        variance=np.where(shared, pool[..., np.newaxis], np.where(evidence, believed, np.nan)),
        df=np.where(shared, total[..., np.newaxis], np.where(evidence, freedom, np.nan)),
        pooled=pooled,
        check_p=check_p,
        floored=floored,
        alike=alike & (floor == 0.0),
    )


def intervals(found: Spreads, *, confidence: float) -> tuple[Floats, Floats]:
    """Ordinary interval of every candidate's mean.

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
    with np.errstate(invalid="ignore", divide="ignore"):
        error = np.sqrt(found.variance / found.n)
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
    """Difference, interval and p-values of chosen pairs, ``first`` minus ``second``.

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
    Tukey's number of means is the number of candidates that can be compared, whether or not a pair among them
    is refused or left out: asking fewer questions than allowed for is safe.

    Checked against
    ---------------
    NIST/SEMATECH 7.4.7.1, ``statsmodels`` ``pairwise_tukeyhsd``; error rates by simulation.
    """
    va, vb = found.variance[..., first], found.variance[..., second]
    na, nb = found.n[..., first], found.n[..., second]
    shared = found.pooled[..., np.newaxis]
    difference = found.mean[..., first] - found.mean[..., second]
    with np.errstate(invalid="ignore", divide="ignore"):
        error = np.sqrt(va / na + vb / nb)
        t = difference / error
        separate_df = welch_satterthwaite_df(va, n_a=na, variance_b=vb, n_b=nb)
    df = np.where(shared, found.df[..., first], separate_df)
    df = np.where(np.isnan(error), np.nan, df)
    low, high = t_interval(difference, error=error, df=df, confidence=confidence)
    means = (found.variance > 0).sum(axis=-1)
    return Pairs(
        difference=difference,
        error=error,
        df=df,
        low=low,
        high=high,
        p_adjusted=all_pairs_p(t, k=means[..., np.newaxis], df=df, times=quantities_judged),
        p_equivalence=(
            np.full_like(difference, np.nan)
            if margin is None
            else equivalence_p(difference, error=error, df=df, margin=margin)
        ),
        k=means,
    )


def _span(values: Floats, present: Bools) -> Floats:
    """Largest minus smallest present value; negative infinity where there is none."""
    largest = np.max(np.where(present, values, -np.inf), axis=-1, initial=-np.inf)
    return np.asarray(largest - np.min(np.where(present, values, np.inf), axis=-1, initial=np.inf))
