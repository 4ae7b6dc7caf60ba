"""Readings laid on places in runs, against every alignment there is; ranks and orders of reading."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.forms.alignment import BREAK, BREAK_AT_LINES, align, run_scores, totals_through
from laydown.science.forms.rank_scores import ALIKE, score_gains
from laydown.science.forms.reading_ways import (
    IN_ORDER,
    TURNED,
    Way,
    every_way,
    line_begins,
    lines_turned,
    order_of,
)


def every_alignment(gains, orders, begins):
    """Each choice of a state (order, step) or None for every reading, with its total."""
    m, n = gains.shape
    ends = np.roll(begins, -1, axis=1)
    states = [None, *itertools.product(range(len(orders)), range(n))]
    for chosen in itertools.product(states, repeat=m):
        total, last, at = 0.0, None, -1
        for reading, state in enumerate(chosen):
            if state is None:
                continue
            order, step = state
            goes_on = last == (order, step - 1) and at == reading - 1
            if not goes_on and not (reading == 0 and step == 0):
                at_lines = begins[state] and (last is None or ends[last])
                total -= float(BREAK_AT_LINES if at_lines else BREAK)
            total += float(gains[reading, orders[state]])
            last, at = state, reading
        if last is not None and not (at == m - 1 and last[1] == n - 1):
            total -= float(BREAK_AT_LINES if ends[last] else BREAK)
        yield [-1 if state is None else orders[state] for state in chosen], total


def table(m, n, seed):
    """Gains large enough that breaks are worth while, and two orders of lines of two."""
    rng = np.random.default_rng(seed)
    gains = (np.round(rng.normal(1.0, 5.0, size=(m, n)) * 8) / 8).astype(np.float32)
    order = rng.permutation(n)
    begins = np.arange(n) % 2 == 0
    return gains, np.stack([order, lines_turned(order, begins)]), np.stack([begins, begins])


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 4), st.integers(1, 3), st.integers(0, 10_000))
def test_no_alignment_is_better(m, n, seed):
    gains, orders, begins = table(m, n, seed)
    every = list(every_alignment(gains, orders, begins))
    place_of, total = align(gains, orders, begins)
    assert total == pytest.approx(max(total for _, total in every))
    assert any(found == place_of.tolist() and alike == pytest.approx(total) for found, alike in every)
    for number in range(2):
        alone = max(total for _, total in every_alignment(gains, orders[[number]], begins[[number]]))
        assert run_scores(gains, orders, begins)[number] == pytest.approx(alone)
    through = totals_through(gains, orders, begins)
    for reading, place in np.ndindex(m, n):
        best = max(total for found, total in every if found[reading] == place)
        assert through[reading, place] == pytest.approx(best)


def in_lines(columns, rows):
    order = np.arange(columns * rows)
    begins = order % columns == 0
    return np.stack([order, lines_turned(order, begins)]), np.stack([begins, begins])


def laid(read, colours, columns):
    apart = np.linalg.norm(read[:, None] - colours[None], axis=-1)
    gains = np.where(apart < 0.01, 1.0, -1.0).astype(np.float32)
    return align(gains, *in_lines(columns, len(colours) // columns))[0]


@pytest.mark.parametrize(
    "read",
    [
        np.r_[0:40],
        np.r_[10:40],
        np.r_[0:20, 30:40],
        np.r_[0:30],
        np.r_[0:20, 10:40],
        np.r_[0:15, 16:40],
        np.r_[0:16, 15:40],
        np.r_[0:10, 19:9:-1, 20:40],
        np.r_[0:10, 30:40, 20:30, 10:20],
    ],
)
def test_planted_gaps_repeats_and_turns_are_found(read):
    colours = np.random.default_rng(0).random((40, 3))
    np.testing.assert_array_equal(laid(colours[read], colours, 10), read)


def test_what_fits_nowhere_is_left_out():
    rng = np.random.default_rng(0)
    colours = rng.random((40, 3))
    read = np.concatenate([colours[:20], rng.random((7, 3)), colours[20:]])
    expected = [*range(20), *[-1] * 7, *range(20, 40)]
    assert laid(read, colours, 10).tolist() == expected
    assert (laid(rng.random((30, 3)), colours, 10) == -1).all()


def test_nothing_to_align():
    nothing = np.zeros((0, 3), dtype=np.float32)
    orders, begins = in_lines(3, 1)
    assert run_scores(nothing, orders, begins).tolist() == [0.0, 0.0]
    assert align(nothing, orders, begins)[1] == 0.0
    assert totals_through(nothing, orders, begins).shape == (0, 3)


POSITIONS = np.array([(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (2, 0)])


@pytest.mark.parametrize(
    ("way", "order"),
    [
        (IN_ORDER, [0, 1, 2, 3, 4, 5, 6]),
        (TURNED, [6, 5, 4, 3, 2, 1, 0]),
        (Way(turn="backwards"), [2, 1, 0, 5, 4, 3, 6]),
        (Way(from_last=True), [6, 3, 4, 5, 0, 1, 2]),
        (Way(turn="there and back"), [0, 1, 2, 5, 4, 3, 6]),
        (Way(turn="back and there"), [2, 1, 0, 3, 4, 5, 6]),
        (Way("columns"), [0, 3, 6, 1, 4, 2, 5]),
        (Way("columns", turn="there and back"), [0, 3, 6, 4, 1, 2, 5]),
        (Way("columns", True), [2, 5, 1, 4, 0, 3, 6]),
    ],
)
def test_ways_of_reading_a_small_page(way, order):
    assert order_of(way, POSITIONS).tolist() == order
    begins = line_begins(way, np.array(order), POSITIONS)
    axis = 0 if way.along == "rows" else 1
    lines = np.split(np.array(order), np.flatnonzero(begins)[1:])
    assert [len(set(POSITIONS[line, axis])) for line in lines] == [1, 1, 1]


def test_every_way_is_another():
    grid = np.array([(row, column) for row in range(4) for column in range(5)])
    orders = {tuple(order_of(way, grid).tolist()) for way in every_way()}
    assert len(orders) == len(every_way()) == 16
    assert every_way()[0] == IN_ORDER
    assert len({way.words for way in every_way()}) == 16


def test_lines_turned_are_those_of_the_opposite_way():
    for there, back in (("forwards", "backwards"), ("there and back", "back and there")):
        order = order_of(Way(turn=there), POSITIONS)
        turned = lines_turned(order, line_begins(Way(turn=there), order, POSITIONS))
        np.testing.assert_array_equal(turned, order_of(Way(turn=back), POSITIONS))


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000))
def test_only_ranks_count(seed):
    rng = np.random.default_rng(seed)
    values, expected = rng.normal(size=(20, 3)), rng.normal(size=(25, 3))
    bent = np.stack([np.exp(values[:, 0]), values[:, 1] ** 3, 5.0 + values[:, 2]], axis=1)
    bent = bent / bent.std(axis=0)  # columns that hardly vary beside the others are left out
    np.testing.assert_allclose(score_gains(bent, expected), score_gains(values, expected), atol=1e-4)
    same = score_gains(values, values)
    np.testing.assert_allclose(np.diag(same), 1.0, atol=1e-5)
    assert same.min() >= -1.0


def test_gain_falls_with_the_distance_of_normal_scores():
    # Scores of four values are the normal quantiles at 1/8, 3/8, 5/8, 7/8: -1.1503, -0.3186, 0.3186, 1.1503
    # (tables of the normal distribution).
    values = np.array([[1.0], [2.0], [3.0], [4.0]])
    assert score_gains(values, values)[1, 2] == pytest.approx(1.0 - (2 * 0.3186 / ALIKE.value) ** 2, abs=1e-3)


def test_unknown_values_gain_and_cost_nothing():
    values = np.array([[1.0, 2.0], [np.nan, 3.0], [3.0, 1.0]])
    found = score_gains(values, values)
    assert (found[1] == 0.0).all()
    assert (found[:, 1] == 0.0).all()
    assert found[0, 0] == pytest.approx(1.0)


def test_columns_of_noise_are_left_out():
    rng = np.random.default_rng(1)
    lightness = np.linspace(10.0, 90.0, 30)
    grey = [np.column_stack([lightness, rng.normal(scale=0.5, size=(30, 2))]) for _ in range(2)]
    assert np.diag(score_gains(*grey)).min() > 0.99
