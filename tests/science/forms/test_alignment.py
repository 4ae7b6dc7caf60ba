"""Lists laid beside each other with gaps, against every alignment there is; ranks and orders of reading."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.forms.alignment import align, alignment_scores
from laydown.science.forms.rank_scores import score_distances
from laydown.science.forms.reading_ways import IN_ORDER, TURNED, Way, every_way, order_of


def least(costs: np.ndarray, order: np.ndarray, skip: float) -> float:
    """The least cost of all alignments, tried one by one."""

    @cache
    def rest(reading: int, step: int) -> float:
        if reading == costs.shape[0] or step == len(order):
            return skip * (costs.shape[0] - reading + len(order) - step)
        return min(
            float(costs[reading, order[step]]) + rest(reading + 1, step + 1),
            skip + rest(reading + 1, step),
            skip + rest(reading, step + 1),
        )

    return rest(0, 0)


tables = st.tuples(st.integers(0, 6), st.integers(1, 6), st.integers(0, 10_000))


@settings(deadline=None, max_examples=60)
@given(tables, st.floats(0.2, 1.5))
def test_no_alignment_is_better(table, skip):
    m, n, seed = table
    rng = np.random.default_rng(seed)
    costs = rng.random((m, n)).astype(np.float32) * 2.0
    order = rng.permutation(n)
    (score,) = alignment_scores(costs, order[None], skip=skip)
    assert score == pytest.approx(1.0 - least(costs, order, skip) / (skip * (m + n)), abs=1e-5)
    taken = align(costs, order, skip=skip)
    met = np.flatnonzero(taken >= 0)
    spent = costs[taken[met], met].sum() + skip * (m + n - 2 * len(met))
    assert spent == pytest.approx(least(costs, order, skip), abs=1e-4)
    # Readings come in the order of the places.
    along = taken[order]
    assert (np.diff(along[along >= 0]) > 0).all()


def test_planted_gaps_are_found():
    colours = np.random.default_rng(0).random((30, 3))
    read = np.concatenate([colours[:10], colours[14:20], colours[18:30]])  # 4 missing, 2 twice
    costs = np.linalg.norm(read[:, None] - colours[None], axis=-1).astype(np.float32)
    taken = align(costs, np.arange(30), skip=0.2)
    assert np.flatnonzero(taken < 0).tolist() == [10, 11, 12, 13]
    assert len(set(range(len(read))) - set(taken.tolist())) == 2
    np.testing.assert_array_equal(read[taken[taken >= 0]], colours[taken >= 0])


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


def test_every_way_is_another():
    grid = np.array([(row, column) for row in range(4) for column in range(5)])
    orders = {tuple(order_of(way, grid).tolist()) for way in every_way()}
    assert len(orders) == len(every_way()) == 16
    assert every_way()[0] == IN_ORDER
    assert len({way.words for way in every_way()}) == 16


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000))
def test_only_ranks_count(seed):
    rng = np.random.default_rng(seed)
    values, expected = rng.normal(size=(20, 3)), rng.normal(size=(25, 3))
    bent = np.stack([np.exp(values[:, 0]), values[:, 1] ** 3, 5.0 + 0.1 * values[:, 2]], axis=1)
    np.testing.assert_allclose(score_distances(bent, expected), score_distances(values, expected), atol=1e-4)
    same = score_distances(values, values)
    np.testing.assert_allclose(np.diag(same), 0.0, atol=2e-3)


def test_unknown_values_are_as_far_as_chance():
    values = np.array([[1.0, 2.0], [np.nan, 3.0], [3.0, 1.0]])
    found = score_distances(values, values)
    np.testing.assert_allclose(found[1], 2.0)  # the root of 2 d, d = 2
    np.testing.assert_allclose(found[:, 1], 2.0)
