"""Densities against colormath, the chart table and measured charts; density beside lightness."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.colour import densities, density_from_l_star, l_star_from_density, visual_density
from laydown.science.colour.packaged_tables import density_products


@pytest.mark.parametrize(
    ("status", "name", "column"),
    [
        *[(s, f, f"D_STATUS_{s}_{f.upper()}") for s in "TA" for f in ("red", "green", "blue")],
        ("E", "blue", "D_STATUS_E_BLUE"),
        ("T", "visual", "D_ISO_VISUAL"),
    ],
)
def test_24_chart_spectra_give_the_expected_densities(
    status: str, name: str, column: str, chart: Any
) -> None:
    found = densities(chart.reflectance, wavelengths_nm=chart.wavelengths_nm, status=status)[name]
    np.testing.assert_allclose(found, chart[column], atol=0.001)


@pytest.mark.parametrize("status", ["T", "A", "E", "M"])
def test_densities_agree_with_colormath(status: str, chart: Any) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colormath import density_standards
        from colormath.color_objects import SpectralColor
        from colormath.density import ansi_density
    found = densities(chart.reflectance, wavelengths_nm=chart.wavelengths_nm, status=status)
    names = {f: f"ANSI_STATUS_{status}_{f.upper()}" for f in ("red", "green", "blue")} | {
        "visual": "ISO_VISUAL"
    }
    for i, spectrum in enumerate(chart.reflectance):
        # It has no rule for unmeasured ends: held at the outermost readings, which is what folding means.
        whole = np.interp(np.arange(340.0, 831.0, 10.0), chart.wavelengths_nm, spectrum)
        sample = SpectralColor(**{f"spec_{340 + 10 * k}nm": float(value) for k, value in enumerate(whole)})
        for name, standard in names.items():
            oracle = ansi_density(sample, getattr(density_standards, standard))
            assert found[name][i] == pytest.approx(oracle, abs=0.001)


def test_status_a_blue_at_480_nm_is_not_the_misprinted_one() -> None:
    # IT2.18-1996 table: 2.989. colormath 3.0.0 has 0.79 %, which is 2.898, digits transposed.
    table = density_products()
    at = table["wavelength_nm"] == 480.0
    np.testing.assert_allclose(np.log10(table["status_a_blue"][at]) + 5.0, 2.989, atol=1e-9)


@pytest.mark.parametrize(
    ("name", "darkest"),
    [("2033-M0", 1.712), ("2033-M2", 1.710), ("3190-M0", 1.726), ("3190-M2", 1.727)],
)
@pytest.mark.shared_data
def test_measured_blacks_give_their_published_visual_density(
    name: str, darkest: float, measured: Any
) -> None:
    # README beside the charts: visual density of the darkest patch, from A x V(lambda), 3 decimals.
    _, spectra, bands = measured(f"chart-{name}")
    assert visual_density(spectra, wavelengths_nm=bands).max() == pytest.approx(darkest, abs=0.003)


@settings(deadline=None, max_examples=30)
@given(
    st.floats(0.001, 1.2),
    st.sampled_from(["T", "A", "E", "M"]),
    st.sampled_from([(360, 780), (380, 730), (400, 700), (340, 830)]),
)
def test_a_flat_spectrum_has_one_density_in_every_status(level: float, status: str, ends: Any) -> None:
    # Invariants: R = 0.1 gives 1.000 in every status, R = 1 gives 0.
    bands = np.arange(ends[0], ends[1] + 1.0, 10.0)
    for found in densities(np.full(bands.size, level), wavelengths_nm=bands, status=status).values():
        assert found == pytest.approx(-np.log10(level), abs=1e-12)


def test_stacked_missing_dark_and_empty(chart: Any) -> None:
    bands, spectra = chart.wavelengths_nm, chart.reflectance.reshape(4, 6, -1).copy()
    spectra[1, 2, 3] = np.nan
    spectra[0, 0] = 0.0
    found = densities(spectra, wavelengths_nm=bands)
    assert set(found) == {"red", "green", "blue", "visual"}
    for name, values in found.items():
        assert values.shape == (4, 6)
        assert np.isnan(values[1, 2])
        assert np.isnan(values[0, 0])
        assert np.isnan(values).sum() == 2
        alone = densities(spectra[3, 3], wavelengths_nm=bands)[name]
        assert values[3, 3] == pytest.approx(float(alone), abs=1e-13)
    np.testing.assert_allclose(visual_density(spectra, wavelengths_nm=bands), found["visual"], atol=1e-13)
    assert visual_density(np.empty((0, 36)), wavelengths_nm=bands).shape == (0,)


def test_an_unknown_status_is_refused() -> None:
    with pytest.raises(BadSetting, match="no density status I"):
        densities(np.ones(36), wavelengths_nm=np.arange(380.0, 731.0, 10.0), status="I")


def test_lightness_of_densities(tables: Path) -> None:
    table = np.genfromtxt(tables / "density_to_l_star.csv", delimiter=",", skip_header=2)
    np.testing.assert_allclose(l_star_from_density(table[:, 0]), table[:, 2], atol=0.0051)
    # Computed, no published figure: L* 16, 12, 8, 4, 3.
    found = density_from_l_star([16.0, 12.0, 8.0, 4.0, 3.0])
    np.testing.assert_allclose(found, [1.678, 1.852, 2.053, 2.354, 2.479], atol=5.1e-4)
    # A black solid published with L* 31 (Y 6.65) has visual density 1.177.
    assert density_from_l_star(31.0) == pytest.approx(1.177, abs=0.001)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.0, 4.0))
def test_density_to_lightness_and_back(density: float) -> None:
    assert density_from_l_star(l_star_from_density(density)) == pytest.approx(density, abs=1e-9)


def test_lightness_without_density_is_missing() -> None:
    assert np.isnan(density_from_l_star([0.0, -1.0, np.nan])).all()
    assert np.isnan(l_star_from_density(np.nan))
