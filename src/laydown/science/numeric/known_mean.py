"""The mean of what is known."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats


def known_mean(values: ArrayLike, *, axis: int = 0) -> Floats:
    """Mean along an axis over the values that are not NaN, without warnings.

    Parameters
    ----------
    values
        Any shape.
    axis
        Along which to average.

    Returns
    -------
    array
        Without that axis; NaN where nothing is known.

    Notes
    -----
    numpy's nanmean warns where nothing is known; here that is an ordinary answer.

    Checked against: numpy.nanmean.
    """
    table = np.asarray(values, dtype=np.float64)
    known = ~np.isnan(table)
    count = np.asarray(known.sum(axis=axis))
    total = np.asarray(np.where(known, table, 0.0).sum(axis=axis))
    mean = np.full(total.shape, np.nan)
    np.divide(total, count, out=mean, where=count > 0)
    return mean
