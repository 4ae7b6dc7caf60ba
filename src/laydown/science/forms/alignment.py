"""Lays a list of readings beside the places of a page in unbroken runs, as few as explain it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant

Gains = NDArray[np.float32]
_CHOSEN = "our own judgement, checked by simulation, docs/methods/test-form.md"
BREAK = Constant(5.0, "patches that fit", _CHOSEN, "computed")
BREAK_AT_LINES = Constant(3.0, "patches that fit", _CHOSEN, "computed")
_BREAK, _BREAK_AT_LINES = np.float32(BREAK), np.float32(BREAK_AT_LINES)
_STEPS = np.float32(256.0)


def run_scores(gains: Gains, orders: Ints, begins: Bools) -> Floats:
    """How well the readings fit the places in each of several orders of reading.

    Parameters
    ----------
    gains : (m, n) what is gained by taking reading i for place j: 1 for a perfect fit, below 0 for none
    orders : (o, n) orders of the places
    begins : (o, n) whether a line begins at this step of the order

    Returns
    -------
    (o,) sum of gains along the best runs less the cost of the breaks between them; 0 where nothing fits

    Notes
    -----
    A run takes the next place for the next reading. Between two runs any number of readings may be left out,
    and the next run may begin at any place, also one that was read already: so rows may be missing, come
    twice or out of turn. A break costs ``BREAK``, or ``BREAK_AT_LINES`` from the end of a line to the
    beginning of one; so does what is left out before the first run and after the last. By dynamic
    programming, one reading after the other, all orders at once.

    Checked against
    ---------------
    All alignments of short lists, tried one by one.
    """
    starts, ends = _steps(begins)
    each = np.searchsorted(ends[0], np.arange(len(orders)))
    run = np.full(orders.shape, -np.inf, dtype=np.float32)
    so_far, at_line = np.zeros((2, len(orders)), dtype=np.float32)
    for reading, row in enumerate(_exact(gains)):
        run = _entered(run, so_far, at_line, starts, first=reading == 0)
        run += row[orders]
        np.maximum(so_far, run.max(axis=1), out=so_far)
        np.maximum(at_line, np.maximum.reduceat(run[ends], each), out=at_line)
    left_over = np.maximum(so_far - _BREAK, at_line - _BREAK_AT_LINES)
    return np.asarray(np.maximum(0.0, np.maximum(run[:, -1], left_over)), dtype=np.float64)


def align(gains: Gains, orders: Ints, begins: Bools) -> tuple[Ints, float]:
    """Which place each reading is of, where runs may follow any of the given orders.

    Parameters
    ----------
    gains, orders, begins : as for ``run_scores``; here a break may lead from one order to another

    Returns
    -------
    (m,) place of each reading, -1 where it fits nowhere; and the total, as of ``run_scores``

    Notes
    -----
    Of alignments that gain the same, the one with the longer runs and the later readings.

    Checked against
    ---------------
    All alignments of short lists; lists with planted gaps, repeats and turned lines.
    """
    if not gains.size:
        return np.full(len(gains), -1, dtype=np.int64), 0.0
    gains = _exact(gains)
    return _best_path(*_all_runs(gains, orders, begins), gains, orders, begins)


def totals_through(gains: Gains, orders: Ints, begins: Bools) -> Gains:
    """The total of the best alignment that takes a reading for a place, for every reading and place.

    Where that is nearly the best of all for two places of one reading, it cannot be told which was read.

    Parameters
    ----------
    gains, orders, begins : as for ``align``

    Returns
    -------
    (m, n)

    Notes
    -----
    Forwards and backwards over all readings; memory is 8 m n bytes for each order.

    Checked against
    ---------------
    All alignments of short lists.
    """
    m, n = gains.shape
    through = np.full((m, n), -np.inf, dtype=np.float32)
    if not gains.size:
        return through
    gains = _exact(gains)
    up_to, _ = _all_runs(gains, orders, begins)
    # Read from the other end, a line ends where it began.
    last = np.roll(begins, -1, axis=1)
    from_there, _ = _all_runs(gains[::-1], orders[:, ::-1], last[:, ::-1])
    up_to += from_there[::-1, :, ::-1]
    for number, order in enumerate(orders):
        np.maximum(through, up_to[:, number, np.argsort(order)], out=through)
    through -= gains
    return through


def _exact(gains: Gains) -> Gains:
    """Gains in steps whose sums are exact, so that equal totals are equal."""
    return np.asarray(np.round(gains * _STEPS) / _STEPS, dtype=np.float32)


def _steps(begins: Bools) -> tuple[tuple[Ints, Ints], tuple[Ints, Ints]]:
    """Where lines begin and where they end, as (orders, steps)."""
    starts, ends = np.nonzero(begins), np.nonzero(np.roll(begins, -1, axis=1))
    return (starts[0], starts[1]), (ends[0], ends[1])


def _entered(run: Gains, so_far: Gains, at_line: Gains, starts: tuple[Ints, Ints], *, first: bool) -> Gains:
    """The best total (o, n) before each place: the run goes on, or a new one begins there.

    ``so_far`` and ``at_line`` (o,) are the best of runs that have ended, anywhere and at the end of a line.
    """
    before = np.empty_like(run)
    before[:, 1:] = run[:, :-1]
    before[:, 0] = 0.0 if first else -np.inf
    np.maximum(before, (so_far - _BREAK)[:, None], out=before)
    before[starts] = np.maximum(before[starts], (at_line - _BREAK_AT_LINES)[starts[0]])
    return before


def _all_runs(gains: Gains, orders: Ints, begins: Bools) -> tuple[Gains, Ints]:
    """(m, o, n) the best total of whatever ends with a reading at a step of an order.

    And (2, m) the state (order n + step) of the best of each reading, anywhere and at the end of a line.
    """
    starts, ends = _steps(begins)
    at_ends = np.ravel_multi_index(ends, orders.shape)
    out = np.empty((len(gains), *orders.shape), dtype=np.float32)
    states = np.empty((2, len(gains)), dtype=np.int64)
    run = np.full(orders.shape, -np.inf, dtype=np.float32)
    so_far, at_line = np.zeros((2, len(orders)), dtype=np.float32)
    for reading, row in enumerate(gains):
        before = _entered(run, so_far, at_line, starts, first=reading == 0)
        run = np.add(before, row[orders], out=out[reading])
        flat = run.reshape(-1)
        anywhere, line = flat.argmax(), at_ends[flat[at_ends].argmax()]
        np.maximum(so_far, flat[anywhere], out=so_far)
        np.maximum(at_line, flat[line], out=at_line)
        states[:, reading] = anywhere, line
    return out, states


def _best_path(up_to: Gains, states: Ints, gains: Gains, orders: Ints, begins: Bools) -> tuple[Ints, float]:
    """The place of each reading along the best runs, -1 for none, and their total."""
    m, _, n = up_to.shape
    flat = up_to.reshape(m, -1)
    anywhere, at_line = (_latest_best(flat, state) for state in states)
    place_of = np.full(m, -1, dtype=np.int64)
    last = [(m - 1, order * n + n - 1, 0.0) for order in range(len(orders))]
    last += [(*at_line(m - 1), float(_BREAK_AT_LINES)), (*anywhere(m - 1), float(_BREAK))]
    reading, state, left_over = max(last, key=lambda end: flat[end[:2]] - end[2])
    total = float(flat[reading, state]) - left_over
    if total <= 0.0:
        return place_of, 0.0
    while True:
        order, step = divmod(state, n)
        place = int(orders[order, step])
        place_of[reading] = place
        before = flat[reading, state] - gains[reading, place]
        if not reading:
            break
        if step and flat[reading - 1, state - 1] == before:
            reading, state = reading - 1, state - 1
            continue
        from_line, from_any = at_line(reading - 1), anywhere(reading - 1)
        if begins[order, step] and flat[from_line] - _BREAK_AT_LINES == before:
            reading, state = from_line
        elif flat[from_any] - _BREAK == before:
            reading, state = from_any
        else:
            break  # begun here, whatever was read before it left out
    return place_of, total


def _latest_best(totals: Gains, state: Ints) -> Callable[[int], tuple[int, int]]:
    """Asked for a reading: the reading up to it with the best total, the latest of equals, and its state."""
    best = totals[np.arange(len(totals)), state]
    # The last reading at which the best so far was reached.
    reached = np.where(best >= np.maximum.accumulate(best), np.arange(len(best)), 0)
    latest = np.maximum.accumulate(reached)
    return lambda reading: (int(latest[reading]), int(state[latest[reading]]))
