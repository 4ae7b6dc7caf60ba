"""Centre and spread that a few bad values cannot move far."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import erf, ndtri

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant

MAD_TO_SD = Constant(
    1.0 / float(ndtri(0.75)), "ratio", "1 / quantile of the normal distribution at 0.75", "computed"
)
HUBER_REACH = Constant(1.5, "standard deviations", "ISO 13528, Algorithm A", "from memory")
_ROUNDS = 60  # each shrinks the remaining change by a constant factor; 60 leave nothing visible


def median_deviation(values: ArrayLike) -> Floats:
    """Median distance from the median, scaled to be the standard deviation of normal values.

    Half of the values may be anything before it breaks. Rough for fewer than about ten values.

    Parameters
    ----------
    values : (..., n) array
        NaN is left out.

    Returns
    -------
    (...) array
        In the unit of ``values``; NaN where no value is left.

    Checked against
    ---------------
    ``scipy.stats.median_abs_deviation(scale="normal")``.
    """
    data = np.asarray(values, dtype=np.float64)
    distance = np.abs(data - _median(data)[..., np.newaxis])
    return np.asarray(MAD_TO_SD.value * _median(distance))


def robust_mean(values: ArrayLike) -> tuple[Floats, Floats]:
    """Robust mean and standard deviation: values beyond 1.5 SD are pulled in to there, until nothing moves.

    For looking at many readings with a few outliers. The calls never use it: with two to five sheets nobody
    can say which one is the outlier.

    Parameters
    ----------
    values : (..., n) array
        NaN is left out.

    Returns
    -------
    mean, sd : (...) array
        In the unit of ``values``; sd is NaN for fewer than two values.

    References
    ----------
    P. J. Huber, Ann. Math. Stat. 35 (1964) 73-101; ISO 13528, Algorithm A (from memory).

    Checked against
    ---------------
    Normal samples with and without gross outliers, in the tests.
    """
    data = np.asarray(values, dtype=np.float64)
    present = np.isfinite(data)
    n = present.sum(axis=-1)
    reach = HUBER_REACH.value
    centre, spread = _median(data), median_deviation(data)
    with np.errstate(invalid="ignore", divide="ignore"):
        for _ in range(_ROUNDS):
            low = (centre - reach * spread)[..., np.newaxis]
            high = (centre + reach * spread)[..., np.newaxis]
            pulled = np.where(present, np.clip(data, low, high), 0.0)
            centre = pulled.sum(axis=-1) / n
            squares = np.where(present, (pulled - centre[..., np.newaxis]) ** 2, 0.0).sum(axis=-1)
            spread = np.sqrt(squares / np.maximum(n - 1, 1) / _pulled_variance(reach))
    return np.where(n > 0, centre, np.nan), np.where(n > 1, spread, np.nan)


def _pulled_variance(reach: float) -> float:
    """Variance of a standard normal value pulled in to -+ reach."""
    inside = float(erf(reach / np.sqrt(2.0)))
    density = float(np.exp(-0.5 * reach**2) / np.sqrt(2.0 * np.pi))
    return inside - 2.0 * reach * density + reach**2 * (1.0 - inside)


def _median(values: Floats) -> Floats:
    """Median of the finite values of the last axis; NaN where there are none."""
    ordered = np.sort(np.where(np.isfinite(values), values, np.inf), axis=-1)
    n = np.isfinite(values).sum(axis=-1)
    if values.shape[-1] == 0:
        return np.full(values.shape[:-1], np.nan)
    below = np.take_along_axis(ordered, np.maximum((n - 1) // 2, 0)[..., np.newaxis], axis=-1)[..., 0]
    above = np.take_along_axis(ordered, np.minimum(n // 2, ordered.shape[-1] - 1)[..., np.newaxis], axis=-1)
    with np.errstate(invalid="ignore"):
        return np.where(n > 0, 0.5 * (below + above[..., 0]), np.nan)
