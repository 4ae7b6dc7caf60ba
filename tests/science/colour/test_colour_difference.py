"""Colour differences: the published pairs, colour-science, and what every difference must obey."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.colour import ciede2000_in_blocks as fast
from laydown.science.colour import delta_e_76, delta_e_94, delta_e_2000, delta_e_cmc
from laydown.science.colour.ciede2000_sharma2005 import as_published

DIFFERENCES = [delta_e_76, delta_e_94, delta_e_2000, delta_e_cmc]


@pytest.fixture(scope="module")
def pairs(tables: Path) -> np.ndarray:
    """Sharma, Wu, Dalal (2005), Table 1: number, two Lab, dE00 (4 decimals), then other differences."""
    return np.genfromtxt(tables / "ciede2000_sharma34.csv", delimiter=",", skip_header=2)


def random_pairs(seed: int, n: int, apart: float) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    one = rng.uniform([0, -120, -120], [100, 120, 120], (n, 3))
    return one, one + rng.normal(0, apart, (n, 3))


def test_all_published_pairs_of_ciede2000(pairs: np.ndarray) -> None:
    found = delta_e_2000(pairs[:, 1:4], pairs[:, 4:7])
    other = pairs[:, 0] != 14
    assert other.sum() == 33
    np.testing.assert_allclose(found[other], pairs[other, 7], atol=5e-5)
    # The hues of pair 14 are opposite to rounding: 4.8045 as published, or 4.7461 where arctan2 rounds
    # the other way.
    assert min(abs(found[13] - 4.8045), abs(found[13] - 4.7461)) < 5e-5


def test_all_published_pairs_come_out_the_same_turned_round(pairs: np.ndarray) -> None:
    there = delta_e_2000(pairs[:, 1:4], pairs[:, 4:7])
    np.testing.assert_allclose(delta_e_2000(pairs[:, 4:7], pairs[:, 1:4]), there, atol=1e-12)


@pytest.mark.parametrize(
    ("column", "difference"),
    [
        (8, delta_e_76),
        (9, delta_e_94),
        (10, lambda a, b: delta_e_94(a, b, textiles=True)),
        (11, delta_e_cmc),
        (12, lambda a, b: delta_e_cmc(a, b, lightness=1.0)),
    ],
)
def test_older_differences_of_the_same_pairs(pairs: np.ndarray, column: int, difference: Any) -> None:
    # Columns by colour-science 0.4.7, 4 decimals.
    np.testing.assert_allclose(difference(pairs[:, 1:4], pairs[:, 4:7]), pairs[:, column], atol=5.01e-5)


def test_cie94_values_of_the_colour_science_tests() -> None:
    one, two = (100, 21.57210357, 272.22819350), (100, 426.67945353, 72.39590835)
    assert delta_e_94(one, two) == pytest.approx(83.779225500887094, abs=1e-9)
    assert delta_e_94(one, two, textiles=True) == pytest.approx(88.335553057506502, abs=1e-9)


@pytest.mark.parametrize("apart", [100.0, 5.0, 0.01, 1e-6])
def test_ciede2000_agrees_with_colour_science(apart: float, colour_science: Any) -> None:
    one, two = random_pairs(7, 20_000, apart)
    oracle = colour_science.difference.delta_E_CIE2000(one, two)
    np.testing.assert_allclose(delta_e_2000(one, two), oracle, atol=1e-9)
    textiles = colour_science.difference.delta_E_CIE2000(one, two, textiles=True)
    np.testing.assert_allclose(delta_e_2000(one, two, k_l=2.0), textiles, atol=1e-9)


@pytest.mark.parametrize("apart", [100.0, 5.0, 0.01])
def test_older_differences_agree_with_colour_science(apart: float, colour_science: Any) -> None:
    one, two = random_pairs(8, 2_000, apart)
    oracle = colour_science.difference
    np.testing.assert_allclose(delta_e_76(one, two), oracle.delta_E_CIE1976(one, two), atol=1e-9)
    np.testing.assert_allclose(delta_e_94(one, two), oracle.delta_E_CIE1994(one, two), atol=1e-9)
    np.testing.assert_allclose(delta_e_cmc(one, two), oracle.delta_E_CMC(one, two), atol=1e-9)


colour_value = st.tuples(
    st.floats(0.0, 100.0),
    st.one_of(st.sampled_from([0.0, -0.0, 1.0, -1.0, 50.0, -50.0]), st.floats(-128.0, 128.0)),
    st.one_of(st.sampled_from([0.0, -0.0, 1.0, -1.0, 50.0, -50.0]), st.floats(-128.0, 128.0)),
)


@settings(deadline=None, max_examples=300)
@given(colour_value, colour_value, st.floats(0.5, 3.0), st.floats(0.5, 3.0), st.floats(0.5, 3.0))
def test_ciede2000_agrees_with_the_formula_as_published(
    one: tuple[float, ...], two: tuple[float, ...], k_l: float, k_c: float, k_h: float
) -> None:
    first, second = np.array([one]) + 0.0, np.array([two]) + 0.0
    found = delta_e_2000(first, second, k_l=k_l, k_c=k_c, k_h=k_h)
    published = as_published(first, second, k_l=k_l, k_c=k_c, k_h=k_h)
    np.testing.assert_allclose(found, published, atol=2e-5 * published.max() + 1e-9)
    if np.hypot(*one[1:]) > 1e-3 and np.hypot(*two[1:]) > 1e-3 and away_from_zero_hue(one, two):
        np.testing.assert_allclose(found, published, atol=1e-9)


def away_from_zero_hue(one: tuple[float, ...], two: tuple[float, ...]) -> bool:
    """At a mean hue of 0 = 360 degrees the published rotation term steps by 1e-5; either side is right."""
    direction = np.array(one[1:]) / np.hypot(*one[1:]) + np.array(two[1:]) / np.hypot(*two[1:])
    return bool(abs(direction[1]) > 1e-6 or direction[0] < 0)


@settings(deadline=None, max_examples=60)
@given(colour_value, colour_value)
def test_what_every_difference_obeys(one: tuple[float, ...], two: tuple[float, ...]) -> None:
    for difference in DIFFERENCES:
        assert difference(one, two) >= 0.0
        assert difference(one, one) == pytest.approx(0.0, abs=1e-12)
    for symmetric in (delta_e_76, delta_e_2000):
        assert symmetric(one, two) == pytest.approx(float(symmetric(two, one)), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("hue", np.radians([0.0, 33.0, 90.0, 180.0, 275.0, 359.9]))
@pytest.mark.parametrize("chroma", [1e-9, 1.0, 30.0, 120.0])
def test_opposite_hues_give_one_of_the_two_published_readings(hue: float, chroma: float) -> None:
    one = np.array([50.0, chroma * np.cos(hue), chroma * np.sin(hue)])
    turned = hue + np.pi + np.array([-1e-4, 0.0, 1e-4])
    two = np.stack([np.full(3, 50.0), chroma * np.cos(turned), chroma * np.sin(turned)], axis=-1)
    before, exact, after = delta_e_2000(one, two)
    assert min(abs(exact - before), abs(exact - after)) < 1e-3 * exact


def test_neutrals_have_no_hue_to_differ_in() -> None:
    # Pairs 7 and 8 of the source have a neutral; two neutrals differ in lightness only, by S_L.
    found = delta_e_2000([[40.0, 0.0, 0.0], [50.0, 0.0, -0.0]], [[60.0, 0.0, 0.0], [50.0, -0.0, 0.0]])
    np.testing.assert_allclose(found, [20.0, 0.0], atol=1e-12)


@pytest.mark.parametrize("difference", DIFFERENCES)
def test_missing_colours_stay_missing_and_harm_no_neighbour(difference: Any) -> None:
    one, two = random_pairs(3, 50, 5.0)
    whole = difference(one, two)
    for place in range(3):
        holed = one.copy()
        holed[7, place] = np.nan
        found = difference(holed, two)
        assert np.isnan(found[7])
        np.testing.assert_array_equal(np.delete(found, 7), np.delete(whole, 7))


@pytest.mark.parametrize("difference", DIFFERENCES)
def test_shapes_broadcast_and_inputs_stay(difference: Any) -> None:
    one, two = random_pairs(4, 12, 5.0)
    kept = one.copy(), two.copy()
    every = difference(one[:, None], two[None, :5])
    assert every.shape == (12, 5)
    for i in range(12):
        for j in range(5):
            assert every[i, j] == pytest.approx(float(difference(one[i], two[j])), abs=1e-12)
    assert difference(np.empty((0, 3)), two[0]).shape == (0,)
    assert np.shape(difference(one[0], two[0])) == ()
    np.testing.assert_array_equal(one, kept[0])
    np.testing.assert_array_equal(two, kept[1])


def test_blocks_and_threads_change_nothing() -> None:
    n = fast._THREADED_FROM + 12_345
    one, two = random_pairs(5, n, 20.0)
    one[::1000, 1:] = 0.0
    two[5::1000] = one[5::1000] * [1, -1, -1]
    whole = delta_e_2000(one, two, threads=3)
    np.testing.assert_array_equal(delta_e_2000(one, two, threads=1), whole)
    cut = fast._BLOCK_ALONE + 1
    np.testing.assert_allclose(delta_e_2000(one[:cut], two[:cut]), whole[:cut], atol=1e-12)


def test_a_failure_in_a_thread_is_not_swallowed(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: Any) -> None:
        raise MemoryError

    monkeypatch.setattr(fast, "_fill", fail)
    with pytest.raises(MemoryError):
        delta_e_2000(np.zeros((fast._THREADED_FROM, 3)), np.zeros(3), threads=2)


def test_cmc_lightness_weight_is_constant_for_darks() -> None:
    # Below L* = 16, S_L = 0.511 (BS 6923): a step of 1 in L* is 1 / (2 x 0.511).
    assert delta_e_cmc([10, 0, 0], [11, 0, 0]) == pytest.approx(1 / 1.022)
