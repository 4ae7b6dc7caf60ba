"""How many units of each candidate would settle an open question, if all stays as seen."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.deciding.pairs import SPREAD_RATIO, VARIANCE_DOUBT, pair_shares
from laydown.science.deciding.spreads import OWN_SPREAD_FROM, Spreads
from laydown.science.numeric.sample_size import difference_power, equivalence_power, smallest_count
from laydown.science.numeric.studentized_range import studentized_range_ppf

POWER = Constant(0.8, "probability", "common practice in planning experiments", "common practice, no source")
MOST_UNITS = Constant(200, "units", "chosen here: beyond it nobody would make them", "computed")


def units_needed(
    found: Spreads,
    *,
    first: Ints,
    second: Ints,
    margin: float | None,
    alpha: float,
    quantities_judged: int,
) -> Ints:
    """Smallest equal number of units per candidate at which a pair is called with 80 % power.

    Called means: either told apart or called the same. It supposes that difference and spread stay exactly
    as seen, which a small trial cannot promise: a help for planning, never a result.

    Parameters
    ----------
    found : Spreads
        What was seen, not stacked.
    first, second : (p,) array of int
        Candidate numbers.
    margin : float or None
        Equivalence margin.
    alpha : float
        Level of the calls.
    quantities_judged : int
        Quantities in the trial.

    Returns
    -------
    (p,) array of int
        Between 2 and 200 and more than the smaller group has now; 0 where more would be needed or nothing can
        be foretold.

    Notes
    -----
    The larger of the two powers by noncentral t, with the rule that would then apply: shared variance and its
    safety cases below five units, own variances from five on.

    Checked against
    ---------------
    Simulation of whole judgements at the number returned.
    """
    k = int((found.variance > 0).sum())
    shared = pair_shares(found, first=first, second=second)
    variance = np.where(shared, found.pool, np.stack([found.variance[first], found.variance[second]]))
    usable = np.isfinite(variance).all(axis=0)
    if k < 2 or not usable.any():
        return np.zeros(first.size, dtype=np.int64)
    variance = np.where(usable, variance, 1.0)
    gap = np.where(usable, np.abs(found.mean[first] - found.mean[second]), 0.0)
    level = alpha / quantities_judged

    def power_at(n: Floats, df: Floats, critical: ArrayLike, critical_same: ArrayLike) -> Floats:
        error = np.sqrt(variance.sum(axis=0) / n)
        told = difference_power(gap, error=error, df=df, critical=critical)
        if margin is None:
            return told
        same = equivalence_power(gap, error=error, df=df, margin=margin, critical=critical_same)
        return np.maximum(told, same)

    def own_power(n: Floats) -> Floats:
        gain, doubted = _df_per_unit(variance)
        plain = separate_level(level, k=k)
        df = doubted * (n - 1.0)
        return power_at(n, gain * (n - 1.0), stdtrit(df, 1.0 - 0.5 * plain), stdtrit(df, 1.0 - alpha))

    own_from = int(OWN_SPREAD_FROM.value)
    needed = smallest_count(
        own_power, cases=first.size, wanted=POWER.value, smallest=own_from, largest=int(MOST_UNITS.value)
    )
    now = np.minimum(found.n[first], found.n[second])
    for n in range(own_from - 1, 1, -1):
        count = np.full(first.size, float(n))
        told, same = shared_critical(level, k=k, n=n, alpha=alpha)
        power = np.where(shared, power_at(count, k * (count - 1.0), told, same), own_power(count))
        needed = np.where((power >= POWER.value) & (n > now), n, needed)
    return np.where(usable & (needed > 0), np.maximum(needed, now + 1), 0)


def _df_per_unit(variance: Floats) -> tuple[Floats, Floats]:
    """Welch-Satterthwaite df gained with each unit, as seen and in the worst case of doubt."""
    gains = []
    for doubt in ((1.0, 1.0), (VARIANCE_DOUBT.value, 1.0), (1.0, VARIANCE_DOUBT.value)):
        parts = variance * np.asarray(doubt)[:, np.newaxis]
        gains.append(parts.sum(axis=0) ** 2 / (parts**2).sum(axis=0))
    return gains[0], np.min(gains, axis=0)


def separate_level(level: float, *, k: int) -> float:
    """Plain two-sided level of one pair that Tamhane's T2 leaves of the level of all pairs of ``k`` means.

    Parameters
    ----------
    level : float
        Level of one quantity, between 0 and 1.
    k : int
        Means compared, 2 or more.

    Returns
    -------
    float
        Probability.

    Checked against
    ---------------
    ``separate_pairs_p``, which it turns round.
    """
    return float(-np.expm1(np.log1p(-level) / (0.5 * k * (k - 1))))


@lru_cache(maxsize=256)
def shared_critical(level: float, *, k: int, n: int, alpha: float) -> tuple[float, float]:
    """With a shared variance, the t that a difference and a sameness need in the worst case of spreads.

    Parameters
    ----------
    level : float
        Level of one quantity: that of the trial over the quantities judged.
    k, n : int
        Candidates, and units of each.
    alpha : float
        Level of one sameness.

    Returns
    -------
    tuple of float
        Of a difference, of a sameness.

    Notes
    -----
    Takes some 25 ms, nearly all for three quantiles of the studentized range; the last 256 are kept.

    Checked against
    ---------------
    Whole judgements simulated at the differences that follow from it.
    """
    wide = SPREAD_RATIO.value**2
    total = k * (n - 1.0)
    told, same = 0.0, 0.0
    for high in (0, 1, 2):
        weight = high * (n - 1.0)
        pool = total + weight * (wide - 1.0)
        df = pool**2 / (total + weight * (wide**2 - 1.0))
        factor = float(np.sqrt((1.0 + 0.5 * high * (wide - 1.0)) * total / pool))
        critical_range = float(studentized_range_ppf(level, k=k, df=df))
        told = max(told, factor * critical_range / float(np.sqrt(2.0)))
        same = max(same, factor * float(stdtrit(df, 1.0 - alpha)))
    return told, same
