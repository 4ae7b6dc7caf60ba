"""Different colours of a chart, and averages over repeats."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.gamut import UniqueColours, average_by_colour, unique_colours


def test_whole_numbers_agree_with_numpy(rng: np.random.Generator) -> None:
    device = rng.integers(0, 4, (200, 3)) / 3.0
    found = unique_colours(device)
    expected, inverse = np.unique(device, axis=0, return_inverse=True)
    np.testing.assert_array_equal(found.device, expected)
    np.testing.assert_array_equal(found.inverse, inverse.reshape(-1))


def test_float_noise_makes_no_new_colour_but_an_8_bit_step_does() -> None:
    device = np.array([[0.1 + 0.2, 0.0, 1.0], [0.3, 1e-9, 1.0 - 1e-9], [0.3 + 1 / 255, 0.0, 1.0]])
    found = unique_colours(device)
    assert len(found.device) == 2
    assert found.inverse[0] == found.inverse[1] != found.inverse[2]


def test_neighbouring_16_bit_steps_stay_apart_only_where_tolerance_says() -> None:
    device = np.array([[0.5], [0.5 + 2 / 65535]])
    assert len(unique_colours(device).device) == 2
    assert len(unique_colours(device, tolerance=1e-4).device) == 1


def test_patches_without_device_values_belong_to_no_colour() -> None:
    found = unique_colours(np.array([[0.0, 1.0], [np.nan, 1.0], [0.0, 1.0]]))
    np.testing.assert_array_equal(found.inverse, [0, -1, 0])
    averaged = average_by_colour(np.array([[1.0], [50.0], [3.0]]), found)
    np.testing.assert_array_equal(averaged, [[2.0]])


def test_average_equals_a_plain_loop_and_stacks(rng: np.random.Generator) -> None:
    device = rng.integers(0, 3, (60, 3)) / 2.0
    values = rng.normal(size=(2, 3, 60, 4))
    values[0, 1, 5, 2] = np.nan
    found = unique_colours(device)
    averaged = average_by_colour(values, found)
    for index in np.ndindex(2, 3):
        for colour in range(len(found.device)):
            rows = values[index][found.inverse == colour]
            rows = rows[~np.isnan(rows).any(axis=1)]
            expected = rows.mean(axis=0) if len(rows) else np.full(4, np.nan)
            np.testing.assert_allclose(averaged[index][colour], expected, rtol=0, atol=1e-12)


def test_a_colour_read_nowhere_is_missing() -> None:
    found = unique_colours(np.array([[0.0], [1.0], [1.0]]))
    averaged = average_by_colour(np.array([[np.nan, 1.0], [4.0, 4.0], [6.0, 8.0]]), found)
    np.testing.assert_array_equal(averaged, [[np.nan, np.nan], [5.0, 6.0]])


def test_inputs_are_not_changed() -> None:
    device = np.array([[0.1 + 0.2], [0.3]])
    values = np.array([[1.0], [2.0]])
    before = device.copy(), values.copy()
    average_by_colour(values, unique_colours(device))
    np.testing.assert_array_equal(device, before[0])
    np.testing.assert_array_equal(values, before[1])


def test_empty_chart() -> None:
    found = unique_colours(np.empty((0, 3)))
    assert found.device.shape == (0, 3)
    assert average_by_colour(np.empty((2, 0, 3)), found).shape == (2, 0, 3)


def test_wrong_shapes_are_refused() -> None:
    with pytest.raises(BadSetting, match="table of patches"):
        unique_colours(np.zeros(3))
    with pytest.raises(BadSetting, match="1 patches in the chart"):
        average_by_colour(np.zeros((2, 3)), unique_colours(np.zeros((1, 3))))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 255), min_size=1, max_size=40), st.integers(0, 2**32 - 1))
def test_order_of_patches_does_not_matter(levels: list[int], seed: int) -> None:
    device = np.array(levels, dtype=np.float64)[:, None] / 255.0
    order = np.random.default_rng(seed).permutation(len(device))
    straight, shuffled = unique_colours(device), unique_colours(device[order])
    np.testing.assert_allclose(straight.device, shuffled.device, rtol=0, atol=1e-15)
    np.testing.assert_array_equal(straight.inverse[order], shuffled.inverse)


@pytest.mark.shared_data
@pytest.mark.parametrize(
    ("name", "count"),
    # Counts of unique colours: reference figures of the measured data's README.
    [("inkjet-matte/chart-2033-M0.txt", 2027), ("inkjet-matte/chart-3190-M2.txt", 3160)],
)
def test_counts_on_measured_charts(measured_chart, name: str, count: int) -> None:
    assert len(unique_colours(measured_chart(name).device).device) == count


def test_a_colour_that_was_not_read_is_missing_and_takes_nobody_elses_value() -> None:
    colours = np.arange(5.0)[:, None]
    values = np.array([[10.0], [20.0], [30.0]])
    inner = average_by_colour(values, UniqueColours(device=colours, inverse=np.array([0, 2, 3])))
    assert inner[:, 0].tolist() == pytest.approx([10.0, np.nan, 20.0, 30.0, np.nan], nan_ok=True)
    first = average_by_colour(values, UniqueColours(device=colours, inverse=np.array([4, 1, 1])))
    assert first[:, 0].tolist() == pytest.approx([np.nan, 25.0, np.nan, np.nan, 10.0], nan_ok=True)
