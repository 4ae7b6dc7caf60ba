"""Patches whose measured colour contradicts their neighbours on the chart's own scale of device colours.

A printer's colours change smoothly with its device values, so a patch can be predicted from those next to it
in device space. A patch far from its prediction was misread, misprinted or swapped with another.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant

_OURS: Final = "chosen on four measured inkjet charts (2033 and 3190 patches), whose largest are 2.9 and 3.0"
SUSPICIOUS_TIMES: Final = Constant(6.0, "times the usual distance from the prediction", _OURS, "computed")
SUSPICIOUS_DISTANCE: Final = Constant(
    4.0, "dE76", "smaller contradictions are within what a coarse chart can predict", "computed"
)
_MOST_ALIKE: Final = 3
_NEIGHBOURS_PER_TERM: Final = 5


class Suspicion(NamedTuple):
    """One suspicious patch: its row, "swapped" or "odd", and why in plain words."""

    row: int
    kind: Literal["swapped", "odd"]
    explanation: str


def suspicious_rows(device: Floats, lab: Floats, *, ids: tuple[str, ...] = ()) -> list[Suspicion]:
    """Find patches whose colour contradicts their neighbours in device space.

    Each patch is predicted by a robust local linear fit through its nearest neighbours, itself left out. Not
    for charts too small to have neighbours: with fewer than 40 RGB patches (50 CMYK) nothing is said.

    Parameters
    ----------
    device : (n, k) device values, 0-1.
    lab : (n, 3) CIELAB.
    ids : (n) names for the sentences; rows counted from 1 where empty.

    Returns
    -------
    Suspicions in row order. Rows with missing values are passed over.

    Notes
    -----
    A patch is suspicious where its dE76 from the prediction is above ``SUSPICIOUS_DISTANCE`` and above
    ``SUSPICIOUS_TIMES`` the usual one, which is the root of the squared sum of the median over its neighbours
    and the median over the chart. Suspicious patches are then taken out as neighbours and all is predicted
    again. Two of them that each fit where the other stands are called swapped. A swap of two patches of
    nearly the same colour cannot be seen. Cost is about 0.05 s for 3000 patches.

    Checked against
    ---------------
    Swaps and misreadings planted in measured charts; see ``docs/methods/readings.md``.
    """
    known = np.flatnonzero(np.isfinite(device).all(axis=1) & np.isfinite(lab).all(axis=1))
    neighbours = _NEIGHBOURS_PER_TERM * (device.shape[1] + 1)
    points, colours = device[known], lab[known]
    everything = np.arange(known.size)
    candidates = _candidates(points)
    if candidates.size < 2 * neighbours:
        return []
    predicted, local, near = _predict(points, colours, everything, candidates, neighbours)
    whole = float(np.median(np.linalg.norm(colours - predicted, axis=1)))
    away, usual, bad = _judge(colours, predicted, local, whole)
    if 0 < np.count_nonzero(bad) < candidates.size - neighbours:
        # Once more without the suspicious ones as neighbours, for those that had any.
        again = np.flatnonzero(bad | bad[near].any(axis=1))
        trusted = candidates[~bad[candidates]]
        predicted[again], local[again], _ = _predict(points, colours, again, trusted, neighbours)
        away, usual, bad = _judge(colours, predicted, local, whole)
    rows = np.flatnonzero(bad)
    swapped = _swapped(rows, colours, predicted, usual, away)
    names = ids or tuple(str(row + 1) for row in range(len(device)))
    found = []
    for row in rows.tolist():
        sentence = (
            f"measured {_words(colours[row])}, but its neighbours among the device colours say "
            f"{_words(predicted[row])}: {away[row]:.1f} dE76 away, where {usual[row]:.1f} is usual"
        )
        other = swapped.get(row)
        if other is None:
            found.append(Suspicion(int(known[row]), "odd", f"{sentence}."))
        else:
            sentence = f"looks swapped with patch {names[int(known[other])]}: {sentence}."
            found.append(Suspicion(int(known[row]), "swapped", sentence))
    return found


def _words(lab: Floats) -> str:
    return f"L* {lab[0]:.1f}, a* {lab[1]:.1f}, b* {lab[2]:.1f}"


def _judge(colours: Floats, predicted: Floats, local: Floats, whole: float) -> tuple[Floats, Floats, Bools]:
    """Distance from the prediction, the usual distance, and which rows are suspicious."""
    away = np.linalg.norm(colours - predicted, axis=1)
    usual = np.sqrt(local**2 + whole**2 + 0.01)
    return away, usual, (away > SUSPICIOUS_DISTANCE.value) & (away > SUSPICIOUS_TIMES.value * usual)


def _candidates(points: Floats) -> Ints:
    """Rows that may serve as neighbours: of many patches of one device colour only the first few.

    Twenty whites would otherwise be all the neighbours a near-white has, and no slope could be seen.
    """
    order = np.lexsort(points.T)
    first = np.concatenate(([True], (points[order[1:]] != points[order[:-1]]).any(axis=1)))
    count = np.arange(order.size)
    place = count - np.maximum.accumulate(np.where(first, count, 0))
    return np.sort(order[place < _MOST_ALIKE])


def _predict(
    points: Floats, colours: Floats, rows: Ints, candidates: Ints, neighbours: int
) -> tuple[Floats, Floats, Ints]:
    """Predicted colour of each row from its neighbours, their own median distance, and who they are."""
    near, distance = _neighbours(points, rows, candidates, neighbours)
    reach = np.maximum(distance[:, -1:] * 1.05, 1e-6)
    weight = (1.0 - (distance / reach) ** 3) ** 3 + 1e-3
    offset = (points[near] - points[rows][:, np.newaxis]) / reach[..., np.newaxis]
    terms = np.concatenate((np.ones((*near.shape, 1)), offset), axis=-1)
    target = colours[near]
    # A little stiffness keeps the slope at rest where all neighbours lie on a line or in one point.
    stiffness = np.diag([1e-9, *[0.02] * points.shape[1]])
    fit, rest = _fit(terms, target, weight, stiffness)
    usual = np.maximum(np.median(rest, axis=1), 0.1)
    fit, rest = _fit(
        terms, target, weight / (1.0 + (rest / (4.0 * usual[:, np.newaxis])) ** 2) ** 2, stiffness
    )
    return fit[:, 0], np.median(rest, axis=1), near


def _fit(terms: Floats, target: Floats, weight: Floats, stiffness: Floats) -> tuple[Floats, Floats]:
    """Weighted linear fits, and how far each neighbour lies from its fit."""
    weighted = (terms * weight[..., np.newaxis]).swapaxes(1, 2)
    fit: Floats = np.asarray(np.linalg.solve(weighted @ terms + stiffness, weighted @ target), np.float64)
    away = target - terms @ fit
    rest: Floats = np.sqrt(np.einsum("nmc,nmc->nm", away, away))
    return fit, rest


def _neighbours(points: Floats, rows: Ints, candidates: Ints, neighbours: int) -> tuple[Ints, Floats]:
    """Indices and distances (rows, neighbours) of the nearest candidates other than the row itself."""
    from scipy.spatial import KDTree

    tree = KDTree(points[candidates])
    distance, found = (np.asarray(part) for part in tree.query(points[rows], k=neighbours + 1))
    near = candidates[found]
    own = near == rows[:, np.newaxis]
    own[~own.any(axis=1), -1] = True
    return near[~own].reshape(rows.size, -1), distance[~own].reshape(rows.size, -1)


def _swapped(rows: Ints, colours: Floats, predicted: Floats, usual: Floats, away: Floats) -> dict[int, int]:
    """Pairs of suspicious rows that each fit where the other stands, nearest pairs first."""
    if rows.size < 2:
        return {}
    fits = np.linalg.norm(colours[rows][:, np.newaxis] - predicted[rows], axis=-1)
    worse = np.maximum(fits, fits.T)
    limit = np.maximum(SUSPICIOUS_TIMES.value * usual[rows], SUSPICIOUS_DISTANCE.value)
    good = (fits < limit) & (limit[:, np.newaxis] > fits.T) & (worse < 0.5 * away[rows])
    good &= good.T
    np.fill_diagonal(good, val=False)
    pairs: dict[int, int] = {}
    for a, b in np.argwhere(good)[np.argsort(worse[good])].tolist():
        if int(rows[a]) not in pairs and int(rows[b]) not in pairs:
            pairs[int(rows[a])], pairs[int(rows[b])] = int(rows[b]), int(rows[a])
    return pairs
