"""From values per sheet to a judgement: which differences are real, which things are the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.deciding import wording
from laydown.science.deciding.pairs import Pairs, compare_pairs, intervals
from laydown.science.deciding.planning import units_needed
from laydown.science.deciding.spreads import Spreads, spreads
from laydown.science.deciding.types import Call, Difference, Estimate, Judgement, Quantity
from laydown.science.numeric.letters import compact_letters, order_by

FEWEST_SHEETS = Constant(
    3, "sheets", "least that gives a spread of its own with two to spare; chosen here", "computed"
)

Refusals = Mapping[tuple[str, str], str]


def judge(
    samples: Mapping[str, ArrayLike],
    quantity: Quantity,
    *,
    quantities_judged: int,
    alpha: float = 0.05,
    confidence: float = 0.95,
    house: str | None = None,
    refused: Refusals | None = None,
) -> Judgement:
    """Judge one quantity over all candidates: intervals, differences, calls and letters.

    The sheet is the unit: hand in one value per sheet, never one per patch or per repeated reading, or every
    difference will look real. Over a whole trial of ``quantities_judged`` quantities a wrong "better" or
    "worse" is made in at most ``alpha`` of trials; each "same" is wrong with probability at most ``alpha``.

    Parameters
    ----------
    samples : mapping of str to (n,) array
        Values per sheet for each candidate, in the quantity's unit. NaN is left out and not counted.
    quantity : Quantity
        Unit, preference, margin and resolution.
    quantities_judged : int
        How many quantities the trial judges in all, at least 1.
    alpha : float
        Chance of a wrong call, between 0 and 0.5.
    confidence : float
        Of the ordinary intervals, between 0 and 1.
    house : str, optional
        Candidate the others are set against. All candidates minus house then come first.
    refused : mapping of (str, str) to str, optional
        Pairs (either way round) that may not be compared, and why. Names not in ``samples`` are ignored.

    Returns
    -------
    Judgement
        ``differences`` holds every pair once. Where two candidates may not be compared all numbers are NaN.
        A candidate with nothing to be compared with has no letters.

    Raises
    ------
    BadSetting
        An option out of range, a house that is no candidate, a margin not above 0.

    Notes
    -----
    ``docs/methods/deciding.md`` gives the formulas; ``docs/decisions/0002-how-a-difference-is-called.md`` the
    reasons. Tukey's number of means counts every candidate with a believable spread, refused pairs included:
    that errs on the safe side.

    Checked against
    ---------------
    NIST/SEMATECH 7.4.7.1; ``statsmodels``; coverage and error rates by simulation
    (``benchmarks/simulate_calls.py``).

    Examples
    --------
    >>> black = Quantity("darkest_lightness", "L*", preference="lower", margin=0.5)
    >>> found = judge({"A": [15.1, 15.2, 15.0], "B": [18.0, 18.1, 18.3]}, black, quantities_judged=1)
    >>> found.differences[0].call
    'better'
    """
    names = tuple(samples)
    _check(quantity, names, quantities_judged, alpha, confidence, house)
    found = spreads(_stack([samples[name] for name in names]), resolution=quantity.resolution)
    first, second = pair_order(names, house=house)
    pairs = compare_pairs(
        found,
        first=first,
        second=second,
        quantities_judged=quantities_judged,
        confidence=confidence,
        margin=quantity.margin,
    )
    why = [_refusal(refused or {}, names[a], names[b]) for a, b in zip(first, second, strict=True)]
    sheets = np.zeros(first.size, dtype=np.int64)
    undecided = ~(pairs.p_adjusted <= alpha) & ~(pairs.p_equivalence <= alpha)
    sheets[undecided] = units_needed(
        found,
        first=first[undecided],
        second=second[undecided],
        margin=quantity.margin,
        alpha=alpha,
        quantities_judged=quantities_judged,
    )
    differences = tuple(
        _difference(
            place, names, found, pairs, first, second, quantity, alpha, why[place], int(sheets[place])
        )
        for place in range(first.size)
    )
    return Judgement(
        quantity=quantity,
        estimates=_estimates(names, found, confidence),
        differences=differences,
        letters=_letters(names, found, differences, quantity),
        pooled=bool(found.shares.any() and not found.too_wide.any()),
        assumption=wording.assumption(names, found, quantity),
    )


def estimate(
    samples: Mapping[str, ArrayLike], quantity: Quantity, *, confidence: float = 0.95
) -> dict[str, Estimate]:
    """Means and ordinary intervals alone, with the spread shared as in ``judge``, and nothing called.

    For numbers that are shown beside the judged ones.

    Parameters
    ----------
    samples, quantity, confidence
        As for ``judge``.

    Returns
    -------
    dict of str to Estimate

    Checked against
    ---------------
    ``judge``, whose estimates are made by the same lines.
    """
    names = tuple(samples)
    found = spreads(_stack([samples[name] for name in names]), resolution=quantity.resolution)
    return _estimates(names, found, confidence)


def _estimates(names: Sequence[str], found: Spreads, confidence: float) -> dict[str, Estimate]:
    low, high = intervals(found, confidence=confidence)
    return {
        name: Estimate(
            value=float(found.mean[i]),
            low=float(low[i]),
            high=float(high[i]),
            n=int(found.n[i]),
            sd=float(found.sd[i]),
        )
        for i, name in enumerate(names)
    }


def pair_order(names: Sequence[str], *, house: str | None) -> tuple[Ints, Ints]:
    """Candidate numbers of every pair, once each: first those against the house, then the rest in order.

    Parameters
    ----------
    names : sequence of str
        Candidates in the order given.
    house : str or None
        The one to be set against, if any.

    Returns
    -------
    first, second : (p,) arrays of int
        The difference is ``first`` minus ``second``.

    Checked against
    ---------------
    Lists by hand, with and without a house.
    """
    base = names.index(house) if house is not None else -1
    against = [(i, base) for i in range(len(names)) if house is not None and i != base]
    rest = [(i, j) for i, j in combinations(range(len(names)), 2) if base not in (i, j)]
    both = np.asarray(against + rest, dtype=np.int64).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def _check(
    quantity: Quantity, names: Sequence[str], judged: int, alpha: float, confidence: float, house: str | None
) -> None:
    """Refuse options that make no sense."""
    if judged < 1:
        raise BadSetting(f"The number of quantities judged is {judged}.", todo="It must be 1 or more.")
    if not 0.0 < alpha < 0.5:
        raise BadSetting(f"The chance of a wrong call is {alpha}.", todo="Choose one above 0 and below 0.5.")
    if not 0.0 < confidence < 1.0:
        raise BadSetting(f"The confidence is {confidence}.", todo="Choose one between 0 and 1, such as 0.95.")
    if quantity.margin is not None and not quantity.margin > 0.0:
        raise BadSetting(
            f"The margin of {quantity.id} is {quantity.margin}.", todo="Give one above 0, or leave it out."
        )
    if not 0.0 <= quantity.resolution < np.inf:
        raise BadSetting(f"The resolution of {quantity.id} is {quantity.resolution}.", todo="Give 0 or more.")
    if house is not None and house not in names:
        raise BadSetting(
            f"The house medium {house!r} is not among the candidates ({', '.join(names)}).",
            todo="Name one of them.",
        )


def _stack(values: Sequence[ArrayLike]) -> Floats:
    """(k, n) with NaN where a candidate has fewer sheets."""
    rows = [np.asarray(item, dtype=np.float64).ravel() for item in values]
    out = np.full((len(rows), max((row.size for row in rows), default=0)), np.nan)
    for place, row in enumerate(rows):
        out[place, : row.size] = row
    return out


def _refusal(refused: Refusals, a: str, b: str) -> str | None:
    """Why this pair may not be compared, or None."""
    return refused.get((a, b), refused.get((b, a)))


def _difference(
    place: int,
    names: Sequence[str],
    found: Spreads,
    pairs: Pairs,
    first: Ints,
    second: Ints,
    quantity: Quantity,
    alpha: float,
    why_refused: str | None,
    sheets: int,
) -> Difference:
    """One pair as a :class:`Difference` with its call and reason."""
    a, b = int(first[place]), int(second[place])
    nan = float("nan")
    if why_refused is not None:
        return Difference(
            names[a],
            names[b],
            nan,
            nan,
            nan,
            quantity.margin,
            "cannot_tell",
            None,
            nan,
            nan,
            False,
            True,
            why_refused,
        )
    gap, p_real, p_same = (
        float(item[place]) for item in (pairs.difference, pairs.p_adjusted, pairs.p_equivalence)
    )
    real = bool(p_real <= alpha)
    call = call_of(gap, real=real, same=bool(p_same <= alpha), quantity=quantity)
    too_few = min(int(found.n[a]), int(found.n[b])) < 2
    settled: int | None = int(FEWEST_SHEETS.value) if too_few else (sheets or None)
    if call != "cannot_tell":
        settled = None
    return Difference(
        candidate=names[a],
        against=names[b],
        difference=gap,
        low=float(pairs.low[place]),
        high=float(pairs.high[place]),
        margin=quantity.margin,
        call=call,
        sheets_needed=settled,
        p_adjusted=p_real,
        p_equivalence=p_same,
        real=real,
        refused=False,
        reason=wording.reason(
            call,
            names=(names[a], names[b]),
            counts=(int(found.n[a]), int(found.n[b])),
            spread_known=bool(np.isfinite(pairs.error[place])),
            real=real,
            clear=bool(pairs.low[place] > 0.0 or pairs.high[place] < 0.0),
            beyond=quantity.margin is not None
            and bool(pairs.low[place] > quantity.margin or pairs.high[place] < -quantity.margin),
            quantity=quantity,
            sheets=settled,
        ),
    )


def call_of(difference: float, *, real: bool, same: bool, quantity: Quantity) -> Call:
    """The call that two test results allow; "same" goes before a real difference too small to matter.

    Parameters
    ----------
    difference : float
        Candidate minus the one it is set against.
    real, same : bool
        Whether the difference test and the equivalence test were passed.
    quantity : Quantity
        For its preference.

    Returns
    -------
    str
        The call.

    Checked against
    ---------------
    Every combination of test results and preference, in the tests.
    """
    if same:
        return "same"
    if not real:
        return "cannot_tell"
    if quantity.preference == "none":
        return "higher" if difference > 0 else "lower"
    return "better" if (difference > 0) == (quantity.preference == "higher") else "worse"


def _letters(
    names: Sequence[str], found: Spreads, differences: Sequence[Difference], quantity: Quantity
) -> dict[str, str]:
    """Letters over candidates that at least one comparison covers; empty for the rest."""
    number = {name: place for place, name in enumerate(names)}
    different: Bools = np.zeros((len(names), len(names)), dtype=np.bool_)
    compared = np.zeros(len(names), dtype=np.bool_)
    for item in differences:
        i, j = number[item.candidate], number[item.against]
        different[i, j] = different[j, i] = item.real
        if np.isfinite(item.p_adjusted):
            compared[i] = compared[j] = True
    kept = np.flatnonzero(compared)
    order = order_by(list(found.mean[kept]), highest_first=quantity.preference != "lower")
    marks = compact_letters(different[np.ix_(kept, kept)], order=order)
    return dict.fromkeys(names, "") | {names[int(i)]: mark for i, mark in zip(kept, marks, strict=True)}
