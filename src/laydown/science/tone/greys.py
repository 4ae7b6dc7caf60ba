"""Grey balance: how far a neutral ramp strays from the straight line between paper and black."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class GreyBalance:
    """Distances in a*b* from the line paper to black (C*): ``distance`` (..., s), its summaries (...)."""

    mean: Floats
    p95: Floats
    largest: Floats
    distance: Floats


def grey_balance(lab_ramp: Floats) -> GreyBalance:
    """Distance of greys from the straight line between paper and black.

    Paper is seldom neutral, and the eye adapts to it: a grey is judged against a line along which the paper's
    tint fades into the black's. Greys within 1 to 1.5 of the line are a usual demand (common practice, no
    source). Of no use for ramps of coloured inks.

    Parameters
    ----------
    lab_ramp : array (..., s, 3), CIELAB from paper (first) to full ink (last)

    Returns
    -------
    GreyBalance, in units of C*.

    Notes
    -----
    With ``t = (L* - L*_black) / (L*_paper - L*_black)`` the expected a*b* is
    ``black + t (paper - black)``; the distance is Euclidean in a*b*. The two ends lie on the line by
    definition and are left out of the summaries. NaN where an end is missing, where both ends are equally
    light, or where there is nothing between them. Single missing steps are passed over.

    Checked against
    ---------------
    Ramps on the line (0) and with a planted cast.
    """
    lab = np.asarray(lab_ramp, dtype=np.float64)
    if lab.shape[-2] < 3:
        nothing = np.full(lab.shape[:-2], np.nan)
        return GreyBalance(nothing, nothing.copy(), nothing.copy(), np.full(lab.shape[:-1], np.nan))
    paper, black = lab[..., :1, :], lab[..., -1:, :]
    span = paper[..., 0] - black[..., 0]
    along = (lab[..., 0] - black[..., 0]) / np.where(span == 0.0, np.nan, span)
    expected = black[..., 1:] + along[..., None] * (paper[..., 1:] - black[..., 1:])
    away = lab[..., 1:] - expected
    distance = np.hypot(away[..., 0], away[..., 1])
    inner = np.sort(distance[..., 1:-1], axis=-1)  # NaN goes last
    count = np.isfinite(inner).sum(axis=-1)
    total = np.where(np.isfinite(inner), inner, 0.0).sum(axis=-1)
    mean = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return GreyBalance(mean, _quantile(inner, count, 0.95), _quantile(inner, count, 1.0), distance)


def _quantile(ordered: Floats, count: Floats, share: float) -> Floats:
    """Quantile of ascending values whose NaN stand last, linear between ranks; NaN where there is none."""
    place = share * np.maximum(count - 1, 0)
    below = np.floor(place).astype(np.int64)
    above = np.minimum(below + 1, np.maximum(count - 1, 0))
    low = np.take_along_axis(ordered, below[..., None], axis=-1)[..., 0]
    high = np.take_along_axis(ordered, above[..., None], axis=-1)[..., 0]
    return np.asarray(low + (place - below) * (high - low))
