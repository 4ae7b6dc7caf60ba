"""XYZ from spectra, against colour-science and 24 chart spectra."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.colour import correct_bandpass, white_point, xyz_from_reflectance
from laydown.science.colour.packaged_tables import ILLUMINANTS_AND_OBSERVERS, tristimulus_weights

OBSERVERS = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}


def one_nm(colour_science: Any, illuminant: str, observer: str) -> tuple[Any, Any]:
    """Colour-matching functions and illuminant at 1 nm, 360-780 nm."""
    shape = colour_science.SpectralShape(360, 780, 1)
    functions = colour_science.MSDS_CMFS[OBSERVERS[observer]].copy().align(shape)
    return functions, colour_science.SDS_ILLUMINANTS[illuminant].copy().align(shape)


@pytest.mark.parametrize(("illuminant", "observer"), ILLUMINANTS_AND_OBSERVERS)
def test_packaged_weights_are_what_colour_science_computes(
    illuminant: str, observer: str, colour_science: Any
) -> None:
    functions, light = one_nm(colour_science, illuminant, observer)
    oracle = colour_science.colorimetry.tristimulus_weighting_factors_ASTME2022(
        functions, light, colour_science.SpectralShape(360, 780, 10)
    )
    table = tristimulus_weights(illuminant, observer)
    np.testing.assert_array_equal(table[:, 0], np.arange(360.0, 781.0, 10.0))
    # Half a unit of the fifth decimal the tables are printed to.
    np.testing.assert_allclose(table[:, 1:], oracle, atol=5.1e-6)


def test_24_chart_spectra_give_the_expected_xyz(chart: Any) -> None:
    found = xyz_from_reflectance(chart.reflectance, wavelengths_nm=chart.wavelengths_nm)
    # Printed to 4 decimals; weights to 5 decimals over 36 bands add up to as much again.
    np.testing.assert_allclose(found, chart["X Y Z"], atol=1e-4)


@settings(deadline=None, max_examples=20)
@given(
    st.sampled_from(ILLUMINANTS_AND_OBSERVERS),
    st.sampled_from([(360, 780), (380, 730), (400, 700), (380, 780)]),
    st.integers(0, 2**31),
)
def test_random_spectra_agree_with_colour_science(
    colour_science: Any, light: tuple[str, str], ends: tuple[int, int], seed: int
) -> None:
    bands = np.arange(ends[0], ends[1] + 1.0, 10.0)
    spectrum = np.random.default_rng(seed).random(bands.size)
    functions, illuminant = one_nm(colour_science, *light)
    with warnings.catch_warnings():  # it says that it folds the ends, which is what is to be checked
        warnings.simplefilter("ignore")
        oracle = colour_science.colorimetry.sd_to_XYZ_tristimulus_weighting_factors_ASTME308(
            colour_science.SpectralDistribution(spectrum, bands), functions, illuminant
        )
    found = xyz_from_reflectance(spectrum, wavelengths_nm=bands, illuminant=light[0], observer=light[1])
    np.testing.assert_allclose(found, oracle, atol=3e-4)


def test_a_smooth_spectrum_gives_one_colour_at_every_step(chart: Any, colour_science: Any) -> None:
    fine = np.arange(380.0, 731.0)
    for spectrum in chart.reflectance[::5]:
        smooth = colour_science.SpragueInterpolator(chart.wavelengths_nm, spectrum)(fine)
        whole = xyz_from_reflectance(smooth, wavelengths_nm=fine)
        for step in (2, 5, 10):
            found = xyz_from_reflectance(smooth[::step], wavelengths_nm=fine[::step])
            np.testing.assert_allclose(found, whole, atol=1e-12)
        functions, light = one_nm(colour_science, "D50", "2")
        trimmed = colour_science.SpectralShape(380, 730, 1)
        exact = 100 * (
            smooth @ (functions.copy().align(trimmed).values * light.copy().align(trimmed).values[:, None])
        )
        exact /= (functions.values[:, 1] * light.values).sum()
        # 10 nm weights stand in for 1 nm summation to 0.03 (the ends beyond 380-730 nm included).
        np.testing.assert_allclose(whole, exact, atol=0.03)
        coarse = xyz_from_reflectance(smooth[::20][:-1], wavelengths_nm=fine[::20][:-1])
        np.testing.assert_allclose(coarse, whole, atol=0.4)


def test_unmeasured_ends_are_folded_into_the_outer_bands() -> None:
    bands = np.arange(400.0, 701.0, 10.0)
    perfect = xyz_from_reflectance(np.ones(31), wavelengths_nm=bands)
    np.testing.assert_allclose(perfect, tristimulus_weights("D50", "2")[:, 1:].sum(axis=0), atol=1e-12)
    first_only = xyz_from_reflectance(np.eye(31)[0], wavelengths_nm=bands)
    table = tristimulus_weights("D50", "2")
    np.testing.assert_allclose(first_only, table[table[:, 0] <= 400.0, 1:].sum(axis=0), atol=1e-12)


def test_the_white_of_d50_is_the_one_stated_by_iso_13655() -> None:
    # ISO 13655 / ASTM E308 (from memory). Not the ICC's 82.49, not the sum of the weights, 82.513.
    np.testing.assert_array_equal(white_point(), [96.422, 100.0, 82.521])


@pytest.mark.parametrize(
    ("light", "white"),
    [  # computed by colour-science 0.4.7 from the CIE tables, 3 decimals
        (("D65", "10"), (94.811, 100.0, 107.305)),
        (("D65", "2"), (95.047, 100.0, 108.883)),
        (("D50", "10"), (96.721, 100.0, 81.415)),
        (("C", "2"), (98.062, 100.0, 118.175)),
        (("A", "2"), (109.849, 100.0, 35.591)),
    ],
)
def test_other_whites(light: tuple[str, str], white: tuple[float, ...]) -> None:
    np.testing.assert_allclose(white_point(*light), white, atol=5.1e-4)
    bands = np.arange(380.0, 731.0, 10.0)
    perfect = xyz_from_reflectance(np.ones(36), wavelengths_nm=bands, illuminant=light[0], observer=light[1])
    np.testing.assert_allclose(perfect, white, atol=6e-4)


def test_stacked_missing_empty_and_untouched(chart: Any) -> None:
    bands, spectra = chart.wavelengths_nm, chart.reflectance.reshape(4, 6, -1).copy()
    spectra[2, 3, 7] = np.nan
    kept = spectra.copy()
    found = xyz_from_reflectance(spectra, wavelengths_nm=bands)
    for i in np.ndindex(4, 6):
        np.testing.assert_allclose(
            found[i], xyz_from_reflectance(spectra[i], wavelengths_nm=bands), atol=1e-12
        )
    assert np.isnan(found[2, 3]).all()
    assert np.isnan(found).sum() == 3
    assert xyz_from_reflectance(np.empty((0, 36)), wavelengths_nm=bands).shape == (0, 3)
    np.testing.assert_array_equal(spectra, kept)


def test_bandpass_option_is_the_correction_first(chart: Any) -> None:
    bands, spectra = chart.wavelengths_nm, chart.reflectance
    corrected = xyz_from_reflectance(correct_bandpass(spectra, wavelengths_nm=bands), wavelengths_nm=bands)
    found = xyz_from_reflectance(spectra, wavelengths_nm=bands, bandpass=True)
    np.testing.assert_array_equal(found, corrected)
    assert np.abs(found - xyz_from_reflectance(spectra, wavelengths_nm=bands)).max() > 0.01


def test_an_unknown_light_is_refused_with_the_known_ones() -> None:
    with pytest.raises(BadSetting, match=r"illuminant F11 .* D50 / 2 degrees"):
        white_point("F11")
    with pytest.raises(BadSetting):
        xyz_from_reflectance(
            np.ones(36), wavelengths_nm=np.arange(380.0, 731.0, 10.0), illuminant="A", observer="10"
        )


def test_shared_tables_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        tristimulus_weights("D50", "2")[0, 0] = 1.0
