"""What is gained by taking a reading for a place: by device values, and once the medium is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.forms.device_gains import (
    IN_CODES,
    IN_PERCENT,
    device_gains,
    listed,
    rounding,
    shared_colours,
)
from laydown.science.forms.fitted_gains import FARTHEST, fitted_gains

CODES = np.random.default_rng(2).integers(256, size=(60, 3))
DEVICE = CODES / 255.0


@pytest.mark.parametrize(
    ("steps", "within"),
    [(100, IN_PERCENT), (255, IN_CODES), (1000, IN_CODES), (2550, IN_CODES), (65535, IN_CODES)],
)
def test_rounded_device_values_are_the_same(steps, within):
    rounded = np.round(DEVICE * steps) / steps
    assert rounding(rounded) == within.value
    gains = device_gains(rounded, DEVICE)
    assert np.diag(gains).min() >= 0.9 - 1e-6
    assert shared_colours(rounded, DEVICE).all()
    np.testing.assert_array_equal(gains.argmax(axis=1), np.arange(60))


def test_device_values_that_differ_lose_and_unknown_ones_do_neither():
    page = np.array([[0.2, 0.4, 0.6], [0.2, 0.4, 0.61]])
    file = np.array([[0.2, 0.4, 0.6], [np.nan, 0.4, 0.6], [0.9, 0.9, 0.9]]) + 1e-4
    assert device_gains(file, page).round(2).tolist() == [[1.0, -1.0], [0.0, 0.0], [-1.0, -1.0]]
    assert shared_colours(file, page).tolist() == [True, False, False]
    assert shared_colours(file, page[:0]).tolist() == [False, False, False]


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10_000))
def test_a_list_is_sorted_out_by_its_device_values(seed):
    rng = np.random.default_rng(seed)
    page = DEVICE[rng.integers(20, size=40)]  # colours come again
    rows = rng.permutation(40)
    place_of = listed(device_gains(page[rows], page))
    assert sorted(place_of.tolist()) == list(range(40))
    np.testing.assert_array_equal(page[place_of], page[rows])
    extra = listed(device_gains(np.concatenate([page[:1], page, page[:1]]), page))
    assert (extra == -1).sum() == 2


def sheet(rng, n=120):
    """What was expected, and a medium that bends it a little."""
    expected = np.column_stack([rng.uniform(10, 95, n), rng.uniform(-60, 60, n), rng.uniform(-60, 60, n)])
    bent = 0.8 * expected + 5.0 + 0.001 * expected**2
    return expected, bent + rng.normal(scale=0.5, size=(n, 3))


def test_once_the_medium_is_known_neighbours_are_told_apart():
    expected, values = sheet(np.random.default_rng(3))
    gains = fitted_gains(values, expected, np.arange(120))
    assert gains is not None
    assert np.median(np.diag(gains)) > 0.8
    others = gains[~np.eye(120, dtype=bool)]
    assert (others < 0).mean() > 0.99
    assert others.min() == float(FARTHEST)


def test_a_few_wrong_places_do_not_bend_the_expectation():
    expected, values = sheet(np.random.default_rng(4))
    place_of = np.arange(120)
    place_of[:10] = np.roll(place_of[:10], 1)
    place_of[50] = -1
    gains = fitted_gains(values, expected, place_of)
    assert gains is not None
    assert (np.diag(gains)[10:] > 0.0).mean() > 0.95
    assert gains[np.arange(10), place_of[:10]].max() < np.diag(gains)[:10].min()


def test_too_few_or_unknown_readings():
    expected, values = sheet(np.random.default_rng(5))
    place_of = np.where(np.arange(120) < 25, np.arange(120), -1)
    assert fitted_gains(values, expected, place_of) is None
    values[7] = np.nan
    gains = fitted_gains(values, expected, np.arange(120))
    assert gains is not None
    assert (gains[7] == 0.0).all()
