"""RGB colour spaces as gamuts: computed from the chromaticities and transfer curves of their standards."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import BadSetting
from laydown.science.colour import adapt_bradford, lab_from_xyz, white_point
from laydown.science.gamut.mesh import outward
from laydown.science.gamut.surface import device_surface

Chromaticity = tuple[float, float]

D65: Chromaticity = (0.3127, 0.3290)


@dataclass(frozen=True, slots=True)
class RgbSpace:
    """What an RGB space is made of: chromaticities (x, y), the curve from code to light, and its standard."""

    name: str
    red: Chromaticity
    green: Chromaticity
    blue: Chromaticity
    white: Chromaticity
    decode: Callable[[Floats], Floats]
    source: str


def _srgb_curve(code: Floats) -> Floats:
    low: Floats = code / 12.92
    return np.where(code <= 0.04045, low, ((code + 0.055) / 1.055) ** 2.4)


def _adobe_rgb_curve(code: Floats) -> Floats:
    curved: Floats = code ** (563.0 / 256.0)
    return curved


SRGB = RgbSpace(
    name="sRGB",
    red=(0.64, 0.33),
    green=(0.30, 0.60),
    blue=(0.15, 0.06),
    white=D65,
    decode=_srgb_curve,
    source="IEC 61966-2-1:1999",
)

ADOBE_RGB_1998 = RgbSpace(
    name="Adobe RGB (1998)",
    red=(0.64, 0.33),
    green=(0.21, 0.71),
    blue=(0.15, 0.06),
    white=D65,
    decode=_adobe_rgb_curve,
    source="Adobe RGB (1998) Color Image Encoding, May 2005; ISO 12640-4",
)


def rgb_to_lab(rgb: Floats, space: RgbSpace) -> Floats:
    """CIELAB (D50, 2 degrees) of code values in an RGB space.

    The space's own white is taken to D50 by Bradford, so that its white is L* 100, a* 0, b* 0; that is what
    a picture editor shows and what a print is compared with. Not for colours outside 0 to 1.

    Parameters
    ----------
    rgb : (..., 3) code values, 0 to 1
    space : the RGB space

    Returns
    -------
    (..., 3) L*, a*, b*

    Raises
    ------
    Nothing.

    Notes
    -----
    White XYZ 96.422, 100, 82.521. Against its own D65 white the volume of sRGB would be 1.5 % smaller.

    References
    ----------
    The standard named in ``space.source``; ISO 15076-1 (Bradford).

    Checked against
    ---------------
    Reference volumes of seven RGB spaces; colour-science for sRGB.
    """
    code = np.asarray(rgb, dtype=np.float64)
    primaries = np.stack([_xyz(xy) for xy in (space.red, space.green, space.blue)], axis=-1)
    native = _xyz(space.white)
    to_xyz = primaries * np.linalg.solve(primaries, native)
    d50 = white_point("D50", "2")
    xyz = adapt_bradford(100.0 * space.decode(code) @ to_xyz.T, from_white=100.0 * native, to_white=d50)
    return lab_from_xyz(xyz, white=d50)


def cube_faces(cells: int) -> Floats:
    """Device colours of an even grid on the six faces of the unit cube, ``cells`` per side.

    The levels a chart needs for a clean surface mesh.

    Parameters
    ----------
    cells : steps along an edge, 1 or more

    Returns
    -------
    (6 cells^2 + 2, 3) values from 0 to 1

    Raises
    ------
    BadSetting
        if ``cells`` is below 1.

    Notes
    -----
    Every colour once, in lexicographic order.

    References
    ----------
    None.

    Checked against
    ---------------
    Its count.
    """
    if cells < 1:
        what = f"A face needs at least one cell per side; got {cells}."
        raise BadSetting(what)
    levels: Floats = np.linspace(0.0, 1.0, cells + 1)
    inside = range(1, cells)
    picked = [p for p in itertools.product(range(cells + 1), repeat=3) if any(i not in inside for i in p)]
    device: Floats = levels[np.array(picked)]
    return device


def rgb_space_mesh(space: RgbSpace, *, cells: int = 16) -> tuple[Floats, Ints]:
    """The gamut of an RGB space as a closed mesh in Lab, wound outward.

    For asking how much of a working space a print can show. It is a bound of the space, not of a screen.

    Parameters
    ----------
    space : the RGB space
    cells : steps along an edge of the cube; 8 is within 0.25 % of the limit, 16 within 0.1 %

    Returns
    -------
    vertices (v, 3) L*, a*, b*, and triangles (f, 3)

    Raises
    ------
    BadSetting
        if ``cells`` is below 1.

    Notes
    -----
    Even steps of code value.

    References
    ----------
    ISO/TS 18621-11:2022 (triangulation in device space).

    Checked against
    ---------------
    Reference volumes of seven RGB spaces at 1 to 32 cells.
    """
    device = cube_faces(cells)
    surface = device_surface(device)
    assert surface is not None  # every corner and face is there by construction
    vertices = rgb_to_lab(device, space)
    return vertices, outward(vertices, surface.triangles)


def _xyz(chromaticity: Chromaticity) -> Floats:
    """XYZ of a chromaticity at Y = 1."""
    x, y = chromaticity
    return np.array([x / y, 1.0, (1.0 - x - y) / y])
