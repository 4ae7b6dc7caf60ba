"""Two groups that keep their own spreads: is the difference real, and does it matter?"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.science.deciding.judge import call_of
from laydown.science.deciding.types import Difference, Estimate, Quantity
from laydown.science.numeric.equivalence import equivalence_p
from laydown.science.numeric.students_t import t_interval, two_sided_p, welch_satterthwaite_df

FEW = "one unit of {}: no interval, so no call"
UNSURE = "the difference may be nothing, and may be more than matters"


def mean_apart(values: ArrayLike, quantity: Quantity, *, confidence: float = 0.95) -> Estimate:
    """The mean of one group and its interval, from the group's own spread alone.

    For numbers whose spread grows with their size, such as gloss: a spread shared between a matte and a
    glossy medium would be too wide for the one and too narrow for the other. With few units of numbers that
    spread alike, ``judge`` tells more.

    Parameters
    ----------
    values : (n,) array
        One value per unit; NaN is left out and not counted.
    quantity : Quantity
        For its resolution.
    confidence : float
        Of the interval.

    Returns
    -------
    Estimate
        In the quantity's unit; low and high are NaN where n < 2.

    Notes
    -----
    Student's t with n - 1; a spread below that of rounding, ``resolution / sqrt(12)``, is never believed.

    Checked against
    ---------------
    ``scipy.stats.t.interval``.
    """
    mean, variance, n = _moments(values, quantity)
    error = (variance / n) ** 0.5 if n > 1 else float("nan")
    low, high = t_interval(mean, error=error, df=n - 1, confidence=confidence)
    plain = np.asarray(values, dtype=np.float64)
    plain = plain[np.isfinite(plain)]
    sd = float(plain.std(ddof=1)) if n > 1 else float("nan")
    return Estimate(value=mean, low=float(low), high=float(high), n=n, sd=sd)


def judge_apart(
    values: ArrayLike,
    against: ArrayLike,
    quantity: Quantity,
    *,
    names: tuple[str, str],
    judged: int,
    alpha: float = 0.05,
    confidence: float = 0.95,
) -> Difference:
    """Judge one difference of two groups of unlike units: the first minus the second, spreads kept apart.

    Why spreads are kept apart is told in ``mean_apart``. Not for the same units before and after: use
    ``judge_paired``.

    Parameters
    ----------
    values, against : (n,) and (m,) arrays
        One value per unit; NaN is left out.
    quantity : Quantity
        Unit, preference, margin and resolution.
    names : pair of str
        What the two groups are called.
    judged : int
        How many differences are judged together, at least 1.
    alpha : float
        Chance of a wrong call of a difference among them all.
    confidence : float
        Of the interval.

    Returns
    -------
    Difference
        Units needed to settle an open question are not foretold.

    Notes
    -----
    Welch's t, Bonferroni over ``judged``; "same" by two one-sided tests, each at ``alpha`` by itself, as in
    ``judge``.

    Checked against
    ---------------
    ``scipy.stats.ttest_ind`` with unequal variances; error rates by simulation, in the tests.
    """
    (first, variance, n), (second, other, m) = (_moments(one, quantity) for one in (values, against))
    gap = first - second
    told = min(n, m) > 1
    error = (variance / n + other / m) ** 0.5 if told else float("nan")
    is_sound = told and error > 0
    df = float(welch_satterthwaite_df(variance, n_a=n, variance_b=other, n_b=m)) if is_sound else 0.0
    low, high = t_interval(gap, error=error, df=df, confidence=confidence)
    real_p = min(1.0, judged * float(two_sided_p(gap / error, df=df))) if is_sound else float("nan")
    same_p = float("nan")
    if quantity.margin is not None and is_sound:
        same_p = float(equivalence_p(gap, error=error, df=df, margin=quantity.margin))
    real = bool(real_p <= alpha)
    call = call_of(gap, real=real, same=bool(same_p <= alpha), quantity=quantity)
    few = FEW.format(" and ".join(name for name, count in zip(names, (n, m), strict=True) if count < 2))
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
        reason="" if call != "cannot_tell" else UNSURE if told else few,
    )


def _moments(values: ArrayLike, quantity: Quantity) -> tuple[float, float, int]:
    """Mean, believable variance (NaN below two), and count of what is there."""
    there = np.asarray(values, dtype=np.float64).ravel()
    there = there[np.isfinite(there)]
    mean = float(there.mean()) if there.size else float("nan")
    floor = quantity.resolution**2 / 12.0
    variance = max(float(there.var(ddof=1)), floor) if there.size > 1 else float("nan")
    return mean, variance, int(there.size)
