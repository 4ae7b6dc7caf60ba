"""Swatches for a screen, and what they say when the screen cannot show a colour."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from laydown.science.colour import lab_from_xyz, srgb_from_lab, srgb_hex, xyz_from_lab


@pytest.mark.parametrize(
    ("lab", "hexadecimal"),
    [
        ([100, 0, 0], "#ffffff"),
        ([0, 0, 0], "#000000"),
        ([50, 0, 0], "#777777"),
    ],  # L* 50 is 119, by definition
)
def test_neutrals_are_neutral(lab: list[float], hexadecimal: str) -> None:
    assert srgb_hex(lab) == (hexadecimal, False)


def test_swatches_agree_with_colour_science(colour_science: Any, rng: np.random.Generator) -> None:
    space = colour_science.RGB_COLOURSPACES["sRGB"]
    white = np.array([96.422, 100.0, 82.521])
    whitepoint = white[:2] / white.sum()
    lab = rng.uniform([0, -100, -100], [100, 100, 100], (500, 3))
    oracle = colour_science.XYZ_to_RGB(
        xyz_from_lab(lab) / 100,
        space,
        whitepoint,
        chromatic_adaptation_transform="Bradford",
        apply_cctf_encoding=True,
    )
    found, clipped = srgb_from_lab(lab)
    inside = ((oracle > -1e-3) & (oracle < 1 + 1e-3)).all(axis=1)
    assert 20 < inside.sum() < 480
    # Its matrix is the rounded one of IEC 61966-2-1 (4 decimals).
    np.testing.assert_allclose(found, np.clip(oracle, 0.0, 1.0), atol=2e-3)
    assert not clipped[inside].any()
    assert clipped[((oracle < -0.01) | (oracle > 1.01)).any(axis=1)].all()


def test_every_eight_bit_colour_survives_the_way_to_lab_and_back(colour_science: Any) -> None:
    steps = np.array([0, 1, 10, 64, 127, 200, 254, 255]) / 255
    rgb = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    space = colour_science.RGB_COLOURSPACES["sRGB"]
    white = np.array([96.422, 100.0, 82.521])
    xyz = colour_science.RGB_to_XYZ(
        rgb,
        space,
        white[:2] / white.sum(),
        chromatic_adaptation_transform="Bradford",
        apply_cctf_decoding=True,
    )
    found, clipped = srgb_from_lab(lab_from_xyz(100 * xyz))
    assert not clipped.any()
    np.testing.assert_array_equal(np.rint(found * 255), np.rint(rgb * 255))


def test_a_colour_beyond_the_screen_is_flagged_and_clipped() -> None:
    rgb, clipped = srgb_from_lab([[60.0, 90.0, 60.0], [60.0, 5.0, 5.0], [np.nan, 0.0, 0.0]])
    np.testing.assert_array_equal(clipped, [True, False, False])
    assert rgb[0].max() == 1.0
    assert rgb[0].min() == 0.0
    assert np.isnan(rgb[2]).all()
    assert srgb_hex([60.0, 90.0, 60.0])[1]
    assert srgb_hex([np.nan, 0.0, 0.0]) == ("", False)


def test_shapes(rng: np.random.Generator) -> None:
    lab = rng.uniform([20, -20, -20], [80, 20, 20], (2, 4, 3))
    rgb, clipped = srgb_from_lab(lab)
    assert rgb.shape == (2, 4, 3)
    assert clipped.shape == (2, 4)
    np.testing.assert_allclose(rgb[1, 2], srgb_from_lab(lab[1, 2])[0], atol=1e-14)
    rgb, clipped = srgb_from_lab(np.empty((0, 3)))
    assert (rgb.shape, clipped.shape) == ((0, 3), (0,))
