"""RGB spaces computed from their definitions, against the table of reference volumes."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.gamut import (
    ADOBE_RGB_1998,
    SRGB,
    RgbSpace,
    cube_faces,
    rgb_space_mesh,
    rgb_to_lab,
    signed_volume,
    volume,
)

D50 = (0.3457, 0.3585)


def power(code: Floats, exponent: float) -> Floats:
    return np.asarray(code**exponent)


def l_star_curve(code: Floats) -> Floats:
    lightness = 100.0 * code
    return np.where(lightness <= 8.0, lightness / 903.2962962, ((lightness + 16.0) / 116.0) ** 3)


def bt2020_curve(code: Floats) -> Floats:
    # ITU-R BT.2020: alpha 1.0993, beta 0.0181.
    return np.where(code < 4.5 * 0.0181, code / 4.5, ((code + 0.0993) / 1.0993) ** (1 / 0.45))


def prophoto_curve(code: Floats) -> Floats:
    # ISO 22028-2 (ROMM RGB): linear below 16/512.
    return np.where(code < 16.0 / 512.0, code / 16.0, code**1.8)


def space(name: str, red, green, blue, white, decode) -> RgbSpace:
    return RgbSpace(name, red, green, blue, white, decode, "test")


# Chromaticities: the standards named; copied here from memory, confirmed by the volumes.
SPACES = [
    SRGB,
    ADOBE_RGB_1998,
    space("ECI RGB v2", (0.67, 0.33), (0.21, 0.71), (0.14, 0.08), (0.34567, 0.35850), l_star_curve),
    space(
        "Adobe Wide Gamut RGB",
        (0.7347, 0.2653),
        (0.1152, 0.8264),
        (0.1566, 0.0177),
        D50,
        partial(power, exponent=563 / 256),
    ),
    space(
        "ProPhoto RGB",
        (0.734699, 0.265301),
        (0.159597, 0.840403),
        (0.036598, 0.000105),
        (0.345704, 0.358540),
        prophoto_curve,
    ),
    space("ITU-R BT.2020", (0.708, 0.292), (0.170, 0.797), (0.131, 0.046), (0.3127, 0.3290), bt2020_curve),
    space(
        "DCI-P3", (0.680, 0.320), (0.265, 0.690), (0.150, 0.060), (0.314, 0.351), partial(power, exponent=2.6)
    ),
]


@pytest.mark.parametrize("rgb", SPACES, ids=lambda s: s.name)
@pytest.mark.parametrize("cells", [1, 8, 16])
def test_volumes_of_the_table(tables: Path, rgb: RgbSpace, cells: int) -> None:
    # tests/tables/gamut_volumes_rgb_spaces_lab_d50.json; within 0.1 %, as the standards round their figures.
    published = json.loads((tables / "gamut_volumes_rgb_spaces_lab_d50.json").read_text(encoding="utf-8"))
    vertices, triangles = rgb_space_mesh(rgb, cells=cells)
    assert float(volume(vertices, triangles)) == pytest.approx(published[rgb.name][str(cells)], rel=1e-3)


def test_white_is_neutral_and_the_mesh_faces_outward() -> None:
    vertices, triangles = rgb_space_mesh(SRGB)
    np.testing.assert_allclose(vertices[-1], [100.0, 0.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(vertices[0], 0.0, atol=1e-9)
    assert float(signed_volume(vertices, triangles)) > 0.0


def test_srgb_colours_agree_with_a_public_library(rng: np.random.Generator) -> None:
    colour = pytest.importorskip("colour")
    rgb = rng.random((50, 3))
    linear = colour.cctf_decoding(rgb, function="sRGB")
    native = colour.xy_to_XYZ(np.array(SRGB.white))
    d50 = np.array([96.422, 100.0, 82.521]) / 100.0
    matrix = colour.normalised_primary_matrix([*SRGB.red, *SRGB.green, *SRGB.blue], np.array(SRGB.white))
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(native, d50, transform="Bradford")
    expected = colour.XYZ_to_Lab(linear @ matrix.T @ adapt.T, colour.XYZ_to_xy(d50))
    np.testing.assert_allclose(rgb_to_lab(rgb, SRGB), expected, atol=1e-6)


def test_a_wider_primary_makes_a_larger_gamut() -> None:
    wider = replace(SRGB, green=(0.21, 0.71))
    assert volume(*rgb_space_mesh(wider, cells=4)) > volume(*rgb_space_mesh(SRGB, cells=4))


def test_cube_faces_counts() -> None:
    for cells in (1, 2, 7):
        assert cube_faces(cells).shape == (6 * cells**2 + 2, 3)
    with pytest.raises(BadSetting, match="at least one cell"):
        cube_faces(0)
