"""Lays a list of readings beside a list of places where some of either may be missing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats, Ints

Costs = NDArray[np.float32]
_MEET, _READING_LEFT_OVER, _PLACE_LEFT_OUT = 0, 1, 2


def alignment_scores(costs: Costs, orders: Ints, *, skip: float) -> Floats:
    """How well the readings fit the places in each of several orders, when gaps are allowed.

    Parameters
    ----------
    costs : (m, n) what it costs to take reading i for place j, 0 for a perfect fit
    orders : (o, n) orders of the places
    skip : what it costs to leave out a reading or a place

    Returns
    -------
    (o,) 1 for a perfect fit of all to all, 0 where leaving out everything is as good

    Notes
    -----
    Dynamic programming over all readings in turn (Needleman and Wunsch 1970, from memory), all orders at once.
    Cost m n o.

    Checked against
    ---------------
    All alignments of short lists, tried one by one.
    """
    m, n = costs.shape
    if not m + n:
        return np.zeros(len(orders))
    ramp = skip * np.arange(n + 1)
    best = np.broadcast_to(ramp, (len(orders), n + 1)).copy()
    for reading in range(m):
        best, _ = _one_more(best, costs[reading][orders], ramp, skip)
    return np.asarray(1.0 - best[:, -1] / (skip * (m + n)))


def align(costs: Costs, order: Ints, *, skip: float) -> Ints:
    """Which reading belongs to each place of one order.

    Parameters
    ----------
    costs : (m, n) as for ``alignment_scores``
    order : (n,) order of the places
    skip : what it costs to leave out a reading or a place

    Returns
    -------
    (n,) reading for each place (not for each step of the order), -1 for none

    Checked against
    ---------------
    All alignments of short lists; lists with planted gaps.
    """
    m, n = costs.shape
    ramp = skip * np.arange(n + 1)
    best, steps = ramp[None].copy(), np.empty((m, n + 1), dtype=np.int8)
    for reading in range(m):
        best, step = _one_more(best, costs[reading][order][None], ramp, skip)
        steps[reading] = step[0]
    taken = np.full(n, -1, dtype=np.int64)
    reading, place = m, n
    while reading and place:
        step = steps[reading - 1, place]
        if step == _PLACE_LEFT_OUT:
            place -= 1
            continue
        reading -= 1
        if step == _MEET:
            place -= 1
            taken[order[place]] = reading
    return taken


def _one_more(best: Floats, cost: Costs, ramp: Floats, skip: float) -> tuple[Floats, NDArray[np.int8]]:
    """Least cost up to each place once one more reading is used, and the last step that leads there."""
    meet = best[:, :-1] + cost
    over = best + skip
    either = over.copy()
    np.minimum(meet, over[:, 1:], out=either[:, 1:])
    # Places left out after it: the least of all shorter ones plus a skip for each place between, in one go.
    now = ramp + np.minimum.accumulate(either - ramp, axis=1)
    step = np.full(best.shape, _READING_LEFT_OVER, dtype=np.int8)
    step[:, 1:][meet <= over[:, 1:]] = _MEET
    step[now < either - 1e-9] = _PLACE_LEFT_OUT
    return now, step
