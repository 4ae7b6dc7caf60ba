"""The same units measured before and after: is the change real, and does it matter?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.science.deciding.judge import call_of
from laydown.science.deciding.types import Difference, Quantity
from laydown.science.numeric.equivalence import equivalence_p
from laydown.science.numeric.students_t import t_interval, two_sided_p

FEW = "one unit was measured before and after: no interval, so no call"
UNSURE = "the change may be nothing, and may be more than matters"


def judge_paired(
    before: ArrayLike,
    after: ArrayLike,
    quantity: Quantity,
    *,
    names: tuple[str, str],
    judged: int,
    alpha: float = 0.05,
    confidence: float = 0.95,
) -> Difference:
    """Judge one change of the same units: after minus before, unit by unit.

    What a unit is like in itself falls out of its difference, so that a change is told from fewer units than
    two groups would need. Not for different units: use ``judge``.

    Parameters
    ----------
    before, after : (n,) array
        Values of the same units in the same order; a unit with NaN in either is left out.
    quantity : Quantity
        Unit, preference, margin and resolution.
    names : pair of str
        What "after" and "before" are called.
    judged : int
        How many changes are judged together, at least 1.
    alpha : float
        Chance of a wrong "better" or "worse" among them all.
    confidence : float
        Of the interval.

    Returns
    -------
    Difference
        After minus before. Units needed to settle an open question are not foretold.

    Notes
    -----
    Student's t on the differences, Bonferroni over ``judged``; "same" by two one-sided tests, each at
    ``alpha`` by itself, as in ``judge``. A spread below that of rounding two numbers,
    ``resolution / sqrt(6)``, is never believed.

    Checked against
    ---------------
    ``scipy.stats.ttest_rel``; error rates by simulation, in the tests.
    """
    change = np.asarray(after, dtype=np.float64) - np.asarray(before, dtype=np.float64)
    change = change[np.isfinite(change)]
    n = change.size
    gap = float(change.mean()) if n else float("nan")
    spread = max(float(change.std(ddof=1)), quantity.resolution / 6**0.5) if n > 1 else float("nan")
    error = spread / n**0.5 if n > 1 else float("nan")
    low, high = t_interval(gap, error=error, df=n - 1, confidence=confidence)
    if n > 1 and error > 0:
        real_p = min(1.0, judged * float(two_sided_p(gap / error, df=n - 1)))
    else:
        real_p = float("nan")
    same_p = float("nan")
    if quantity.margin is not None and n > 1:
        same_p = float(equivalence_p(gap, error=error, df=n - 1, margin=quantity.margin))
    real = bool(real_p <= alpha)
    call = call_of(gap, real=real, same=bool(same_p <= alpha), quantity=quantity)
    return Difference(
        candidate=names[0],
        against=names[1],
        difference=gap,
        low=float(low),
        high=float(high),
        margin=quantity.margin,
        call=call,
        sheets_needed=None,
        p_adjusted=real_p,
        p_equivalence=same_p,
        real=real,
        refused=False,
        reason="" if call != "cannot_tell" else FEW if n < 2 else UNSURE,
    )
