"""Before anything is made: how small a difference, and how close a sameness, a trial would show."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import roots_jacobi, stdtrit

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.deciding.pairs import VARIANCE_DOUBT
from laydown.science.deciding.planning import POWER, separate_level, shared_critical
from laydown.science.deciding.spreads import OWN_SPREAD_FROM
from laydown.science.numeric.sample_size import difference_power, equivalence_power

FEWEST_FORESEEN = Constant(2, "units", "one unit shows no spread, so that nothing can be called", "computed")
MOST_FORESEEN = Constant(
    12, "units", "chosen here: more sheets of each medium are seldom printed", "computed"
)

_NODES = 24  # of the quadrature over how two sample variances share their sum
_BISECTIONS = 60

#: Power (s,) at a candidate size (s,) of whatever is looked for, both in standard deviations of a unit.
_Power = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Foresight:
    """What a trial could show with each number of units.

    ``sheets`` (s,) is the number of units of every candidate. ``difference`` (..., s) is the smallest true
    difference that would be told apart, ``margin`` (..., s) the smallest margin within which two candidates
    that are truly alike would be called the same, each with probability ``power``; both in the unit of the
    spread.
    """

    sheets: Ints
    difference: Floats
    margin: Floats
    power: float

    def sheets_to_tell(self, difference: ArrayLike) -> Ints:
        """Fewest units (...) that tell a true difference of this size apart; 0 where none foreseen does."""
        return self._fewest(self.difference, difference)

    def sheets_to_call_same(self, margin: ArrayLike) -> Ints:
        """Fewest units (...) that call equal candidates the same within this margin; 0 as above."""
        return self._fewest(self.margin, margin)

    def _fewest(self, reached: Floats, wanted: ArrayLike) -> Ints:
        enough = reached <= np.asarray(wanted, dtype=np.float64)[..., np.newaxis]
        fewest = np.where(enough, self.sheets, np.iinfo(np.int64).max).min(axis=-1)
        return np.asarray(np.where(enough.any(axis=-1), fewest, 0))


@dataclass(frozen=True, slots=True)
class PooledSpread:
    """A spread from earlier trials: standard deviation between units, and its degrees of freedom."""

    sd: float
    df: int


def smallest_difference(
    spread: ArrayLike,
    *,
    media: int,
    quantities_judged: int,
    sheets: Sequence[int] = range(int(FEWEST_FORESEEN.value), int(MOST_FORESEEN.value) + 1),
    alpha: float = 0.05,
    power: float = POWER.value,
) -> Foresight:
    """Smallest true difference, and smallest margin of sameness, that a trial of each size would call.

    For planning a trial before anything is made, under the very rules by which it will be judged: all pairs
    of all candidates, all quantities, and the safety cases for spreads. It stands or falls with the spread
    put in: it is no promise, and after the trial ``judge`` alone says what was found.

    Parameters
    ----------
    spread : (...) array
        Standard deviation of a quantity between units of one candidate, above 0, in any unit; supposed the
        same for all candidates. Do not hand in less than the quantity's resolution divided by sqrt(12).
    media : int
        Candidates in the trial, the house's own among them; 2 or more.
    quantities_judged : int
        Quantities the trial judges in all, 1 or more.
    sheets : sequence of int
        Units of every candidate, each 2 or more.
    alpha : float
        Chance of a wrong call that is allowed, between 0 and 0.5.
    power : float
        Chance of a right call that is wanted, between 0 and 1.

    Returns
    -------
    Foresight
        ``difference`` and ``margin`` (..., s), in the unit of ``spread``.

    Raises
    ------
    BadSetting
        An option out of range.

    Notes
    -----
    Told apart means that the difference is real; one that is real and surely inside the margin is called
    "same" all the same. Both results are proportional to the spread. With a shared variance the chance
    follows from one noncentral t. With own variances (five units and more) the t that is needed hangs on how
    the two sample variances share their sum; that share has a beta distribution which is independent of the
    sum, so that the chance is a mean over noncentral t, by Gauss-Jacobi quadrature. Left out: that a spread
    is found too wide to be shared (0.1 % of trials). ``equivalence_power`` is a little cautious with two
    units (0.81-0.84 found in place of 0.80). Takes some 0.2 s the first time, for eight media.

    References
    ----------
    As ``laydown.science.deciding.pairs``; B. L. Welch, Biometrika 34 (1947) 28-35.

    Checked against
    ---------------
    Whole judgements simulated at the differences and margins returned: called in 75-85 % of them.

    Examples
    --------
    >>> seen = smallest_difference(0.1, media=2, quantities_judged=1, sheets=[3, 6])
    >>> [round(float(value), 2) for value in seen.difference]
    [0.35, 0.19]
    """
    sd = np.asarray(spread, dtype=np.float64)
    _check(sd, media, quantities_judged, sheets, alpha, power)
    rules = [_rule(n, media=media, level=alpha / quantities_judged, alpha=alpha) for n in sheets]
    gaps = np.array([_first_reaching(power, told) for told, _ in rules])
    margins = np.array([_first_reaching(power, same) for _, same in rules])
    return Foresight(
        sheets=np.asarray(sheets, dtype=np.int64),
        difference=sd[..., np.newaxis] * gaps,
        margin=sd[..., np.newaxis] * margins,
        power=power,
    )


def pooled_spread(samples: Sequence[ArrayLike]) -> PooledSpread:
    """Spread between units, pooled over the candidates of earlier trials, to plan the next one with.

    Each candidate's values are set against their own mean, so that candidates may differ as they like.
    Values of one candidate from two occasions are two samples where the occasion itself should not count.

    Parameters
    ----------
    samples : sequence of (n,) array
        One value per unit for each candidate. NaN is left out; a candidate with one value adds nothing.

    Returns
    -------
    PooledSpread
        In the unit of the values. With few df it is itself uncertain: with 4 the truth may be 2.4 times as
        large, with 10 it may be 1.6 times (one-sided 95 %, chi-squared).

    Raises
    ------
    NotEnoughData
        No candidate has two values.

    Checked against
    ---------------
    The residual mean square of ``statsmodels`` one-way ANOVA.
    """
    squares, df = 0.0, 0
    for sample in samples:
        values = np.asarray(sample, dtype=np.float64).ravel()
        known = values[np.isfinite(values)]
        if known.size >= 2:
            squares += float(np.sum((known - known.mean()) ** 2))
            df += known.size - 1
    if df == 0:
        raise NotEnoughData(
            "No medium of the earlier trials has two sheets, so that no spread between sheets is known.",
            todo="Use the planning values, or a trial with two sheets or more of a medium.",
        )
    return PooledSpread(sd=float(np.sqrt(squares / df)), df=df)


def _check(
    sd: Floats, media: int, quantities: int, sheets: Sequence[int], alpha: float, power: float
) -> None:
    """Refuse options that make no sense."""
    if not np.all((sd > 0.0) & np.isfinite(sd)):
        raise BadSetting("A spread between sheets is not above 0.", todo="Give a standard deviation above 0.")
    if media < 2:
        raise BadSetting(
            f"The trial has {media} medium.", todo="Plan with two or more, the house medium among them."
        )
    if quantities < 1:
        raise BadSetting(f"The number of quantities judged is {quantities}.", todo="It must be 1 or more.")
    if not sheets or min(sheets) < FEWEST_FORESEEN.value:
        raise BadSetting(
            "With one sheet of a medium no spread can be seen and nothing can be called.",
            todo="Plan with two sheets or more of each medium.",
        )
    if not 0.0 < alpha < 0.5:
        raise BadSetting(f"The chance of a wrong call is {alpha}.", todo="Choose one above 0 and below 0.5.")
    if not 0.0 < power < 1.0:
        raise BadSetting(f"The chance of a right call is {power}.", todo="Choose one between 0 and 1.")


def _rule(n: int, *, media: int, level: float, alpha: float) -> tuple[_Power, _Power]:
    """Chances with ``n`` units that a difference is told, and that equals are called same within a margin."""
    own = n >= OWN_SPREAD_FROM.value
    weights, told, same = _own(n, media, level, alpha) if own else _shared(n, media, level, alpha)
    df = (2 if own else media) * (n - 1.0)
    error = np.sqrt(2.0 / n)

    def difference(gap: Floats) -> Floats:
        powers = difference_power(gap[..., np.newaxis], error=error, df=df, critical=told)
        return np.asarray(powers @ weights)

    def sameness(margin: Floats) -> Floats:
        # In units of the margin, so that many margins are looked at in one go.
        scaled = error / margin[..., np.newaxis]
        powers = equivalence_power(0.0, error=scaled, df=df, margin=1.0, critical=same)
        return np.asarray(powers @ weights)

    return difference, sameness


def _shared(n: int, media: int, level: float, alpha: float) -> tuple[Floats, Floats, Floats]:
    """One case of weight 1: t needed for a difference and for a sameness with a shared variance."""
    told, same = shared_critical(level, k=media, n=n, alpha=alpha)
    return np.ones(1), np.array([told]), np.array([same])


def _own(n: int, media: int, level: float, alpha: float) -> tuple[Floats, Floats, Floats]:
    """Weights of how two own variances may share their sum, and the t needed at each share."""
    half = 0.5 * (n - 1.0)
    nodes, raw = (np.asarray(part, dtype=np.float64) for part in roots_jacobi(_NODES, half - 1.0, half - 1.0))
    share = 0.5 * (1.0 + nodes)
    doubt = VARIANCE_DOUBT.value
    df = np.min(
        [
            (n - 1.0) * (a * share + b * (1.0 - share)) ** 2 / ((a * share) ** 2 + (b * (1.0 - share)) ** 2)
            for a, b in ((1.0, 1.0), (doubt, 1.0), (1.0, doubt))
        ],
        axis=0,
    )
    told = stdtrit(df, 1.0 - 0.5 * separate_level(level, k=media))
    return raw / raw.sum(), np.asarray(told), np.asarray(stdtrit(df, 1.0 - alpha))


def _first_reaching(power: float, power_at: _Power) -> float:
    """Smallest size at which a rising power is reached, by doubling and bisection."""
    high = 1.0
    while float(power_at(np.array([high]))[0]) < power:
        high *= 2.0
    low = 0.0
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        if float(power_at(np.array([middle]))[0]) < power:
            low = middle
        else:
            high = middle
    return high
