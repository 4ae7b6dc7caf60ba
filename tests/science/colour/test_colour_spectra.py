"""Spectra on the 10 nm grid: taken, interpolated or refused, never extrapolated."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import NotEnoughData
from laydown.science.colour import correct_bandpass, to_ten_nm


@pytest.mark.parametrize("step", [1.0, 2.0, 2.5, 5.0, 10.0, 10.0 / 3.0])
def test_values_on_the_grid_are_taken_unchanged(step: float, rng: np.random.Generator) -> None:
    bands = np.arange(380.0, 730.0 + step / 2, step).round(2)
    spectra = rng.random((4, bands.size))
    found, grid = to_ten_nm(spectra, wavelengths_nm=bands)
    np.testing.assert_array_equal(grid, np.arange(380.0, 731.0, 10.0))
    nearest = np.abs(bands[:, None] - grid).argmin(axis=0)
    np.testing.assert_array_equal(found, spectra[:, nearest])


@pytest.mark.parametrize(("first", "step", "n"), [(380.0, 20.0, 18), (385.0, 10.0, 35), (400.0, 7.0, 44)])
def test_between_bands_agrees_with_the_sprague_interpolator_of_colour_science(
    first: float, step: float, n: int, rng: np.random.Generator, colour_science: Any
) -> None:
    bands = first + step * np.arange(n)
    spectrum = rng.random(n)
    found, grid = to_ten_nm(spectrum, wavelengths_nm=bands)
    assert grid[0] >= bands[0]
    assert grid[-1] <= bands[-1]
    np.testing.assert_allclose(found, colour_science.SpragueInterpolator(bands, spectrum)(grid), atol=1e-12)


@settings(deadline=None, max_examples=25)
@given(
    st.floats(385.0, 400.0),
    st.floats(3.0, 20.0),
    st.lists(st.floats(-1.0, 1.0), min_size=3, max_size=3),
)
def test_parabolas_pass_through_interpolation(first: float, step: float, coefficients: list[float]) -> None:
    bands = first + step * np.arange(np.ceil((700.0 - first) / step) + 1)
    found, grid = to_ten_nm(np.polyval(coefficients, (bands - 550) / 150), wavelengths_nm=bands)
    error = np.abs(found - np.polyval(coefficients, (grid - 550) / 150))
    inside = (grid > bands[2]) & (grid < bands[-3])
    assert error[inside].max() < 1e-12  # six neighbours determine a parabola ...
    assert error.max() < 2e-3  # ... but the published end values are not quite exact for one


def test_only_the_measured_part_of_the_table_range_is_used() -> None:
    _, grid = to_ten_nm(np.ones(10 * 60 + 1), wavelengths_nm=np.arange(300.0, 901.0))
    assert (grid[0], grid[-1]) == (360.0, 780.0)
    _, grid = to_ten_nm(np.ones(31), wavelengths_nm=np.arange(400.0, 701.0, 10.0))
    assert (grid[0], grid[-1]) == (400.0, 700.0)


def test_stacked_spectra_equal_spectra_one_by_one_and_inputs_stay(rng: np.random.Generator) -> None:
    bands = np.arange(380.0, 721.0, 20.0)
    spectra = rng.random((2, 3, bands.size))
    kept = spectra.copy()
    found, _ = to_ten_nm(spectra, wavelengths_nm=bands)
    for i in np.ndindex(2, 3):
        np.testing.assert_allclose(found[i], to_ten_nm(spectra[i], wavelengths_nm=bands)[0], atol=1e-14)
    np.testing.assert_array_equal(spectra, kept)
    found, grid = to_ten_nm(np.empty((0, bands.size)), wavelengths_nm=bands)
    assert found.shape == (0, grid.size)


def test_a_missing_band_leaves_the_others_of_its_stack_alone(rng: np.random.Generator) -> None:
    bands = np.arange(380.0, 731.0, 10.0)
    spectra = rng.random((3, bands.size))
    spectra[1, 4] = np.nan
    found, _ = to_ten_nm(spectra, wavelengths_nm=bands)
    np.testing.assert_array_equal(np.isnan(found).any(axis=1), [False, True, False])


@pytest.mark.parametrize(
    ("bands", "words"),
    [
        (np.arange(410.0, 731.0, 10.0), "410 to 730 nm"),
        (np.arange(380.0, 691.0, 10.0), "380 to 690 nm"),
        (np.arange(380.0, 731.0, 25.0), "too coarse"),
        (np.arange(380.0, 731.0, 10.0)[::-1], "ascending"),
        (np.r_[np.arange(380.0, 500.0, 10.0), np.arange(500.0, 731.0, 5.0)], "even steps"),
        (np.r_[380.0, 550.0, 720.0], "too short"),
        (np.r_[np.nan, np.arange(390.0, 731.0, 10.0)], "too short"),
        (np.empty(0), "too short"),
    ],
)
def test_wavelengths_that_cannot_give_a_colour_are_refused_in_words(bands: np.ndarray, words: str) -> None:
    with pytest.raises(NotEnoughData, match=words) as caught:
        to_ten_nm(np.ones(bands.size), wavelengths_nm=bands)
    assert caught.value.todo


def test_bands_and_wavelengths_must_match() -> None:
    with pytest.raises(NotEnoughData, match="35 bands but 36 wavelengths"):
        to_ten_nm(np.ones(35), wavelengths_nm=np.arange(380.0, 731.0, 10.0))
    with pytest.raises(NotEnoughData):
        to_ten_nm(1.0, wavelengths_nm=np.arange(380.0, 731.0, 10.0))


def test_bandpass_correction_undoes_the_triangle_to_second_order() -> None:
    # A triangle as wide as the step adds step^2 / 12 of curvature (1/12 = 0.0833, published as 0.083).
    bands = np.arange(380.0, 731.0, 10.0)
    sharp = (bands / 100.0) ** 2
    blurred = sharp + 2.0 * 0.1**2 * 0.083
    found = correct_bandpass(blurred, wavelengths_nm=bands)
    np.testing.assert_allclose(found[1:-1], sharp[1:-1], atol=1e-12)


def test_bandpass_correction_keeps_flat_spectra_and_agrees_at_the_first_band(colour_science: Any) -> None:
    bands = np.arange(380.0, 731.0, 10.0)
    np.testing.assert_allclose(correct_bandpass(np.full(36, 0.4), wavelengths_nm=bands), 0.4, atol=1e-15)
    # colour-science works in place, so only its first band comes from untouched readings.
    spectrum = np.linspace(0.1, 0.9, 36) ** 2
    oracle = colour_science.colorimetry.bandpass_correction_Stearns1988(
        colour_science.SpectralDistribution(spectrum.copy(), bands)
    )
    assert correct_bandpass(spectrum, wavelengths_nm=bands)[0] == pytest.approx(oracle.values[0], abs=1e-12)
