"""CIE whiteness and tint with their limits, yellowness and R457."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.colour import white_point, xyz_from_reflectance
from laydown.science.medium import cie_whiteness, cie_whiteness_of_xyz, r457, yellowness
from laydown.science.medium.whiteness import R457_WEIGHTS, WHITENESS_FORMULAS

LIGHTS = sorted(WHITENESS_FORMULAS)


@pytest.mark.parametrize("light", LIGHTS)
def test_the_perfect_diffuser_has_whiteness_100_and_no_tint(
    light: tuple[str, str], bands: np.ndarray
) -> None:
    found = cie_whiteness(np.ones(36), wavelengths_nm=bands, illuminant=light[0], observer=light[1])
    # The chromaticities of the white have 4 decimals: 1700 x 0.00015 of play (C: see the method page).
    assert found.whiteness == pytest.approx(100.0, abs=0.3)
    assert found.tint == pytest.approx(0.0, abs=0.15)


def test_a_value_computed_by_hand() -> None:
    # Method section 4: X, Y, Z = 84, 88, 103 (D65, 10 degrees) gives W 113.38, T 0.36, limit 160; computed.
    found = cie_whiteness_of_xyz([84.0, 88.0, 103.0])
    assert found.whiteness == pytest.approx(113.38, abs=0.005)
    assert found.tint == pytest.approx(0.36, abs=0.005)
    assert found.valid
    assert found.why == ""


@pytest.mark.parametrize(("light", "observer"), [(("D65", "10"), "1964"), (("D65", "2"), "1931")])
def test_whiteness_agrees_with_colour_science(
    light: tuple[str, str], observer: str, colour_science: Any, rng: np.random.Generator
) -> None:
    xyz = white_point(*light) * rng.uniform(0.85, 1.05, (50, 3))
    found = cie_whiteness_of_xyz(xyz, illuminant=light[0], observer=light[1])
    formula = WHITENESS_FORMULAS[light]
    name = {"1964": "CIE 1964 10 Degree Standard Observer", "1931": "CIE 1931 2 Degree Standard Observer"}
    xy = xyz[:, :2] / xyz.sum(axis=1, keepdims=True)
    whites = np.array([formula.x_white.value, formula.y_white.value])
    oracle = colour_science.colorimetry.whiteness_CIE2004(xy, xyz[:, 1], whites, name[observer])
    np.testing.assert_allclose(found.whiteness, oracle[..., 0], atol=1e-9)
    np.testing.assert_allclose(found.tint, oracle[..., 1], atol=1e-9)


@pytest.mark.parametrize(
    ("xyz", "words"),
    [
        ([40.0, 42.0, 45.0], "below 5 Y - 280"),  # a grey: no white at all
        ([85.0, 90.0, 70.0], "not above 40"),  # cream
        ([84.0, 84.0, 103.0], "too reddish"),
        ([80.0, 90.0, 100.0], "too greenish"),
        ([np.nan, 90.0, 100.0], "missing"),
        ([0.0, 0.0, 0.0], "missing"),
    ],
)
def test_outside_the_limits_the_number_is_not_a_whiteness(xyz: list[float], words: str) -> None:
    found = cie_whiteness_of_xyz(xyz)
    assert not found.valid
    assert words in found.why


def test_limits_are_judged_sample_by_sample() -> None:
    found = cie_whiteness_of_xyz([[84.0, 88.0, 103.0], [85.0, 90.0, 70.0], [40.0, 42.0, 45.0]])
    np.testing.assert_array_equal(found.valid, [True, False, False])


def test_whiteness_of_spectra_uses_the_lights_own_colours(bands: np.ndarray, bluish: np.ndarray) -> None:
    for illuminant, observer in LIGHTS:
        xyz = xyz_from_reflectance(bluish, wavelengths_nm=bands, illuminant=illuminant, observer=observer)
        found = cie_whiteness(bluish, wavelengths_nm=bands, illuminant=illuminant, observer=observer)
        expected = cie_whiteness_of_xyz(xyz, illuminant=illuminant, observer=observer)
        assert found.whiteness == pytest.approx(float(expected.whiteness))
        assert found.whiteness > 105.0


def test_d50_has_no_whiteness_and_no_yellowness(bands: np.ndarray) -> None:
    with pytest.raises(BadSetting, match="CIE whiteness is not defined for illuminant D50"):
        cie_whiteness(np.ones(36), wavelengths_nm=bands, illuminant="D50", observer="2")
    with pytest.raises(BadSetting, match="not defined for illuminant D50"):
        cie_whiteness_of_xyz([90.0, 90.0, 90.0], illuminant="D50", observer="2")
    with pytest.raises(BadSetting, match=r"Yellowness .* D65 / 10 degrees"):
        yellowness(np.ones(36), wavelengths_nm=bands, illuminant="D50", observer="2")


@pytest.mark.parametrize("light", [("C", "2"), ("D65", "2"), ("D65", "10")])
def test_yellowness_agrees_with_colour_science(
    light: tuple[str, str], colour_science: Any, bands: np.ndarray, bluish: np.ndarray
) -> None:
    coefficients = colour_science.colorimetry.YELLOWNESS_COEFFICIENTS_ASTME313
    observer = {"2": "CIE 1931 2 Degree Standard Observer", "10": "CIE 1964 10 Degree Standard Observer"}
    for spectrum in (bluish, 1.6 - bluish, np.linspace(0.7, 0.9, 36)):
        xyz = xyz_from_reflectance(spectrum, wavelengths_nm=bands, illuminant=light[0], observer=light[1])
        oracle = colour_science.colorimetry.yellowness_ASTME313(
            xyz, coefficients[observer[light[1]]][light[0]]
        )
        found = yellowness(spectrum, wavelengths_nm=bands, illuminant=light[0], observer=light[1])
        assert found == pytest.approx(float(oracle), abs=1e-9)
    perfect = yellowness(np.ones(36), wavelengths_nm=bands, illuminant=light[0], observer=light[1])
    assert perfect == pytest.approx(0.0, abs=0.06)  # coefficients printed to 4 decimals


def test_r457_weights_are_those_of_the_standard() -> None:
    # ISO 2470-1: effective wavelength 457 nm. Recomputed: sum 468.5, centre 457.14 nm.
    weights, bands = np.array(R457_WEIGHTS), np.arange(400.0, 511.0, 10.0)
    assert weights.sum() == pytest.approx(468.5, abs=1e-9)
    assert (weights * bands).sum() / weights.sum() == pytest.approx(457.14, abs=0.005)
    percent = [0.213, 1.43, 3.885, 7.364, 12.295, 17.609, 21.345, 18.933, 11.334, 4.333, 1.195, 0.064]
    np.testing.assert_allclose(100 * weights / weights.sum(), percent, atol=5.1e-4)  # printed to 3 decimals


@settings(deadline=None, max_examples=25)
@given(st.floats(0.0, 1.3), st.sampled_from([1.0, 5.0, 10.0, 20.0]))
def test_r457_of_a_flat_spectrum_is_its_level(level: float, step: float) -> None:
    bands = np.arange(360.0, 761.0, step)
    assert r457(np.full(bands.size, level), wavelengths_nm=bands) == pytest.approx(100 * level, abs=1e-9)


def test_r457_sees_blue_only(bands: np.ndarray) -> None:
    outside = (bands < 400.0) | (bands > 510.0)
    assert r457(np.where(outside, 1.0, 0.0), wavelengths_nm=bands) == 0.0
    assert r457(np.where(bands == 460.0, 1.0, 0.0), wavelengths_nm=bands) == pytest.approx(21.345, abs=5e-4)


def test_stacked_missing_empty_and_short(bands: np.ndarray, bluish: np.ndarray) -> None:
    stack = np.stack([[bluish, bluish * 0.9], [np.full(36, np.nan), bluish * 0.95]])
    for function in (r457, yellowness):
        found = function(stack, wavelengths_nm=bands)
        assert found.shape == (2, 2)
        assert np.isnan(found[1, 0])
        assert found[0, 1] == pytest.approx(float(function(stack[0, 1], wavelengths_nm=bands)), abs=1e-12)
        assert function(np.empty((0, 36)), wavelengths_nm=bands).shape == (0,)
        with pytest.raises(NotEnoughData):
            function(stack[..., 5:], wavelengths_nm=bands[5:])
    found = cie_whiteness(stack, wavelengths_nm=bands)
    np.testing.assert_array_equal(found.valid, [[True, True], [False, True]])
    assert "missing" in found.why
    assert cie_whiteness(np.empty((0, 36)), wavelengths_nm=bands).why == ""
