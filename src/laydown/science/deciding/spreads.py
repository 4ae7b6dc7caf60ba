"""How much each candidate varies between units, and whose spread may stand in for whose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.numeric.equal_spread import largest_variance_p

_DECISION = "docs/decisions/0002-how-a-difference-is-called.md"
CHECK_LEVEL = Constant(0.001, "probability", f"chosen by simulation, {_DECISION}", "computed")
OWN_SPREAD_FROM = Constant(5, "units", f"chosen by simulation, {_DECISION}", "computed")


@dataclass(frozen=True, slots=True, eq=False)
class Spreads:
    """Per candidate (..., k), and per stack (...).

    ``sd`` is the plain sample SD. ``variance`` and ``df`` are those used, NaN where nothing can be said.
    ``shares`` marks candidates that use the shared variance; ``weight`` is what each adds to the df of the
    shared variance (0 where it adds nothing) and ``shared_df`` their sum. ``too_wide`` marks those left out
    of it, ``check_p`` (...) is the check on the rest. ``pool`` (...) is the shared variance, NaN where
    there is none. ``floored``: raised to the resolution. ``alike``: all values identical and no resolution to
    judge that by.
    """

    n: Ints
    mean: Floats
    sd: Floats
    variance: Floats
    df: Floats
    shares: Bools
    weight: Floats
    shared_df: Floats
    pool: Floats
    too_wide: Bools
    check_p: Floats
    floored: Bools
    alike: Bools


def spreads(values: Floats, *, resolution: float = 0.0) -> Spreads:
    """Means and believable variances of candidates, shared where few units leave no other way.

    A candidate with five units or more uses its own variance. One with two to four uses the variance pooled
    over all candidates, except those whose variance is too large for the rest: these keep their own. No
    variance is below ``resolution**2 / 12``. Identical values with no resolution stated are no evidence of a
    small spread: they add nothing to the pool and use it.

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
    The residual mean square of ``statsmodels`` one-way ANOVA.
    """
    present = np.isfinite(values)
    n = present.sum(axis=-1)
    mean, own, alike = _moments(values, present, n)
    floor = resolution**2 / 12.0
    floored = (n >= 2) & (own < floor)
    believed = np.where(floored, floor, own)
    evidence = (n >= 2) & (believed > 0)
    freedom = np.where(evidence, n - 1.0, 0.0)
    wants_pool = (n >= 2) & ((n < OWN_SPREAD_FROM.value) | ~evidence)
    too_wide, check_p = _too_wide(np.where(evidence, believed, np.nan), freedom, wants_pool)
    weight = np.where(too_wide, 0.0, freedom)
    shared_df = weight.sum(axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        pool = (weight * np.where(evidence, believed, 0.0)).sum(axis=-1) / shared_df
    shares = wants_pool & ~too_wide & (shared_df > 0)[..., np.newaxis]
    # Where one alone adds to the pool and none else uses it, it is that candidate's own spread.
    adds = weight > 0
    shares &= ~((adds.sum(axis=-1) == 1) & ~(shares & ~adds).any(axis=-1))[..., np.newaxis]
    return Spreads(
        n=n,
        mean=mean,
        sd=np.sqrt(own),
        variance=np.where(shares, pool[..., np.newaxis], np.where(evidence, believed, np.nan)),
        df=np.where(shares, shared_df[..., np.newaxis], np.where(evidence, freedom, np.nan)),
        shares=shares,
        weight=weight,
        shared_df=shared_df,
        pool=np.asarray(pool),
        too_wide=too_wide,
        check_p=check_p,
        floored=floored,
        alike=alike & (floor == 0.0),
    )


def _moments(values: Floats, present: Bools, n: Ints) -> tuple[Floats, Floats, Bools]:
    """Mean, sample variance, and whether two or more values are all the same."""
    filled = np.where(present, values, 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(n > 0, filled.sum(axis=-1) / n, np.nan)
        squares = (np.where(present, values - mean[..., np.newaxis], 0.0) ** 2).sum(axis=-1)
        own = np.where(n >= 2, squares / (n - 1), np.nan)
    largest = np.max(np.where(present, values, -np.inf), axis=-1, initial=-np.inf)
    smallest = np.min(np.where(present, values, np.inf), axis=-1, initial=np.inf)
    # Compared as values: the mean of identical numbers may be rounded and leave a trace of spread.
    alike = (n >= 2) & (largest == smallest)
    return mean, np.where(alike, 0.0, own), alike


def _too_wide(variance: Floats, freedom: Floats, wants_pool: Bools) -> tuple[Bools, Floats]:
    """Candidates to leave out of the pool, the widest first until the rest pass; and the p of the rest."""
    out = np.zeros(variance.shape, dtype=np.bool_)
    places = np.arange(variance.shape[-1])
    asked = wants_pool.any(axis=-1)
    check_p = np.full(variance.shape[:-1], np.nan)
    for _ in range(variance.shape[-1]):
        left = np.where(out, np.nan, variance)
        check_p = largest_variance_p(left, df=np.where(out, 0.0, freedom))
        failed = asked & (check_p <= CHECK_LEVEL.value)
        if not failed.any():
            break
        widest = np.argmax(np.where(np.isfinite(left), left, -np.inf), axis=-1)
        out |= failed[..., np.newaxis] & (places == widest[..., np.newaxis])
    return out, np.where(asked, check_p, np.nan)
