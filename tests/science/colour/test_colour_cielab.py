"""CIELAB both ways, relative to the medium, adapted, and in chroma and hue."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from laydown.science.colour import (
    adapt_bradford,
    bradford_matrix,
    hue_difference,
    lab_from_reflectance,
    lab_from_xyz,
    lch_from_lab,
    media_relative,
    white_point,
    xyz_from_lab,
    xyz_from_reflectance,
)
from laydown.science.colour.packaged_tables import tristimulus_weights

XYZ = arrays(np.float64, (5, 3), elements=st.floats(0.0, 130.0))
LAB = arrays(np.float64, (5, 3), elements=st.tuples(st.floats(0.0, 100.0)).map(lambda v: v[0])).map(
    lambda v: (v - [0.0, 50.0, 50.0]) * [1.0, 2.4, 2.4]
)


def test_24_chart_spectra_give_the_expected_lab(chart: Any) -> None:
    xyz = xyz_from_reflectance(chart.reflectance, wavelengths_nm=chart.wavelengths_nm)
    white = tristimulus_weights("D50", "2")[:, 1:].sum(axis=0)  # the white the table was reckoned from
    # Printed to 3 decimals.
    np.testing.assert_allclose(lab_from_xyz(xyz, white=white), chart["L a b"], atol=5.5e-4)
    # The stated white differs in Z by 0.008, which is 0.006 in b* of a white.
    found = lab_from_reflectance(chart.reflectance, wavelengths_nm=chart.wavelengths_nm)
    np.testing.assert_allclose(found, chart["L a b"], atol=0.0065)
    np.testing.assert_allclose(found[..., :2], chart["L a"], atol=0.005)


@pytest.mark.parametrize(
    ("name", "white", "dark"),
    [  # README beside the measured charts: white L*a*b* of RGB 255 (mean), darkest L*; printed to 2 decimals
        ("chart-2033-M0", (96.22, 0.97, -4.42), 15.09),
        ("chart-2033-M2", (96.09, -0.97, 1.45), 15.13),
        ("chart-3190-M0", (96.30, 1.01, -4.33), 14.72),
        ("chart-3190-M2", (96.16, -0.94, 1.57), 14.74),
    ],
)
@pytest.mark.shared_data
def test_measured_charts_give_their_published_white_and_black(
    name: str, white: tuple[float, ...], dark: float, measured: Any
) -> None:
    device, spectra, bands = measured(name)
    lab = lab_from_reflectance(spectra, wavelengths_nm=bands)
    paper = lab[(device == 255).all(axis=1)].mean(axis=0)
    # Published with a b* reckoned from a slightly different Z of the white: within 0.012.
    np.testing.assert_allclose(paper, white, atol=0.015)
    assert lab[:, 0].min() == pytest.approx(dark, abs=0.0051)


@settings(deadline=None, max_examples=30)
@given(XYZ)
def test_lab_agrees_with_colour_science(colour_science: Any, xyz: np.ndarray) -> None:
    white = np.array([96.422, 100.0, 82.521])
    x, y, z = white
    chromaticity = np.array([x / (x + y + z), y / (x + y + z)])
    np.testing.assert_allclose(
        lab_from_xyz(xyz), colour_science.XYZ_to_Lab(xyz / 100, chromaticity), atol=1e-9
    )
    lab = lab_from_xyz(xyz)
    np.testing.assert_allclose(
        xyz_from_lab(lab), 100 * colour_science.Lab_to_XYZ(lab, chromaticity), atol=1e-9
    )


@settings(deadline=None, max_examples=50)
@given(arrays(np.float64, (5, 3), elements=st.floats(-5.0, 130.0)))
def test_lab_and_back_is_the_same_colour_below_zero_too(xyz: np.ndarray) -> None:
    np.testing.assert_allclose(xyz_from_lab(lab_from_xyz(xyz)), xyz, atol=1e-9)


def test_the_perfect_diffuser_is_100_0_0_and_black_is_0() -> None:
    np.testing.assert_allclose(lab_from_xyz(white_point()), [100.0, 0.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(lab_from_xyz(np.zeros(3)), 0.0, atol=1e-12)


def test_the_icc_white_would_move_b_by_three_hundredths() -> None:
    # Section 2 of the method: the effect of 82.49 instead of 82.52 on the b* of a white is +0.03. (computed)
    moved = lab_from_xyz(white_point(), white=[96.422, 100.0, 82.49])
    assert abs(moved[2]) == pytest.approx(0.025, abs=0.005)


def test_missing_empty_stacked_and_untouched(rng: np.random.Generator) -> None:
    xyz = rng.uniform(0, 100, (2, 3, 3))
    xyz[1, 1, 0] = np.nan
    kept = xyz.copy()
    lab = lab_from_xyz(xyz)
    assert np.isnan(lab[1, 1, 1])
    assert np.isfinite(np.delete(lab.reshape(6, 3), 4, axis=0)).all()
    for i in np.ndindex(2, 3):
        np.testing.assert_array_equal(lab[i], lab_from_xyz(xyz[i]))
    np.testing.assert_array_equal(xyz, kept)
    for function in (lab_from_xyz, xyz_from_lab, lch_from_lab):
        assert function(np.empty((0, 3))).shape == (0, 3)


def test_the_medium_becomes_the_white() -> None:
    paper = np.array([85.0, 88.0, 70.0])
    found = media_relative(np.stack([paper, paper / 2]), paper_xyz=paper)
    np.testing.assert_allclose(found, [white_point(), white_point() / 2], atol=1e-12)


def test_bradford_agrees_with_colour_science(colour_science: Any, rng: np.random.Generator) -> None:
    xyz = rng.uniform(0, 100, (7, 3))
    one, two = white_point("D50", "2"), white_point("D65", "2")
    oracle = colour_science.adaptation.chromatic_adaptation_VonKries(
        xyz / 100, one / 100, two / 100, transform="Bradford"
    )
    found = adapt_bradford(xyz, from_white=one, to_white=two)
    np.testing.assert_allclose(found, 100 * oracle, atol=1e-9)
    np.testing.assert_allclose(adapt_bradford(one, from_white=one, to_white=two), two, atol=1e-10)
    np.testing.assert_allclose(
        bradford_matrix(from_white=one, to_white=two) @ bradford_matrix(from_white=two, to_white=one),
        np.eye(3),
        atol=1e-12,
    )


@settings(deadline=None, max_examples=30)
@given(LAB, LAB)
def test_lch_and_hue_difference_fit_together(colour_science: Any, one: np.ndarray, two: np.ndarray) -> None:
    first, second = lch_from_lab(one), lch_from_lab(two)
    np.testing.assert_allclose(first, colour_science.models.Lab_to_LCHab(one), atol=1e-9)
    turn = np.radians(second[:, 2] - first[:, 2]) / 2
    expected = 2 * np.sqrt(first[:, 1] * second[:, 1]) * np.abs(np.sin(turn))
    found = hue_difference(one, two)
    np.testing.assert_allclose(np.abs(found), expected, atol=1e-5)
    np.testing.assert_allclose(np.abs(hue_difference(two, one)), np.abs(found), atol=1e-12)


def test_hue_difference_is_positive_anticlockwise_the_shorter_way() -> None:
    assert hue_difference([50, 10, 0], [50, 0, 10]) == pytest.approx(np.sqrt(200.0))
    assert hue_difference([50, 0, 10], [50, 10, 0]) == pytest.approx(-np.sqrt(200.0))
    assert hue_difference([50, 10, -1], [50, 10, 1]) > 0
