"""Two one-sided tests: is a difference surely inside a margin?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtr

from laydown.kernel.arrays import Floats


def equivalence_p(difference: ArrayLike, *, error: ArrayLike, df: ArrayLike, margin: ArrayLike) -> Floats:
    """P-value of "the true difference is at least ``margin`` either way" (the larger of two one-sided p).

    Not being able to tell two things apart is not evidence that they are the same; this test is. At level
    alpha it agrees with asking whether the ``1 - 2 alpha`` interval lies inside the margin.

    Parameters
    ----------
    difference, error, df : array
        The difference, its standard error (same unit) and degrees of freedom.
    margin : array
        Smallest difference that matters, above 0, same unit.

    Returns
    -------
    array
        Probability; NaN where an argument is NaN or the error is not above 0.

    References
    ----------
    D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680.

    Checked against
    ---------------
    ``statsmodels.stats.weightstats.ttost_ind``; the worked inputs of two groups of 95 and 89 in the tests.
    """
    gap = np.asarray(difference, dtype=np.float64)
    spread = np.asarray(error, dtype=np.float64)
    limit = np.asarray(margin, dtype=np.float64)
    believable = np.where(spread > 0, spread, np.nan)
    freedom = np.asarray(df, dtype=np.float64)
    below = stdtr(freedom, -(gap + limit) / believable)
    above = stdtr(freedom, (gap - limit) / believable)
    return np.asarray(np.maximum(below, above))
