"""Colours on a screen: sRGB for swatches, and whether the screen can show them at all."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Bools, Floats
from laydown.science.colour.adaptation import bradford_matrix
from laydown.science.colour.cielab import xyz_from_lab
from laydown.science.colour.tristimulus import white_point

# IEC 61966-2-1: chromaticities of red, green, blue (ITU-R BT.709) and of the D65 white.
_PRIMARIES_XY = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_WHITE_XY = (0.3127, 0.3290)
_CLIP_WITHIN = 0.5 / 255.0  # half a step of an 8-bit screen cannot be seen as clipping


def srgb_from_lab(lab: ArrayLike) -> tuple[Floats, Bools]:
    """sRGB of Lab colours (D50, 2 degrees), with a mask of those the screen cannot show.

    For swatches beside a number. Not for judging: a saturated print colour lies outside sRGB and is clipped.

    Parameters
    ----------
    lab
        (..., 3), L* 0-100, reckoned from the ISO 13655 white.

    Returns
    -------
    tuple of Floats and Bools
        RGB (..., 3), 0-1, companded and clipped; and (...), True where clipping changed the colour by more
        than half an 8-bit step. A NaN colour gives NaN and is not called clipped.

    References
    ----------
    IEC 61966-2-1 (sRGB); ISO 15076-1 (Bradford).

    Checked against
    ---------------
    colour-science 0.4.7 ``XYZ_to_RGB`` with Bradford adaptation.
    """
    to_rgb = _srgb_matrix()
    linear = xyz_from_lab(lab) @ to_rgb.T
    magnitude = np.abs(linear)
    coded = np.where(magnitude <= 0.0031308, 12.92 * magnitude, 1.055 * magnitude ** (1.0 / 2.4) - 0.055)
    coded = np.copysign(coded, linear)
    clipped = np.any((coded < -_CLIP_WITHIN) | (coded > 1.0 + _CLIP_WITHIN), axis=-1)
    return np.clip(coded, 0.0, 1.0), np.asarray(clipped)


def srgb_hex(lab: ArrayLike) -> tuple[str, bool]:
    """A swatch colour for one Lab value, such as ``("#7f3a21", False)``.

    Parameters
    ----------
    lab
        (3,), L* 0-100, D50, 2 degrees.

    Returns
    -------
    tuple of str and bool
        The sRGB colour as ``#rrggbb`` and whether it was clipped; ``("", False)`` for a missing colour.

    References
    ----------
    IEC 61966-2-1 (sRGB).

    Checked against
    ---------------
    ``srgb_from_lab``.
    """
    rgb, clipped = srgb_from_lab(lab)
    if not np.all(np.isfinite(rgb)):
        return "", False
    red, green, blue = (int(part) for part in np.rint(rgb * 255.0))
    return f"#{red:02x}{green:02x}{blue:02x}", bool(clipped)


def _srgb_matrix() -> Floats:
    """XYZ (Y = 100, D50) to linear sRGB (0-1)."""
    white = _xyz(_WHITE_XY)
    primaries = np.stack([_xyz(xy) for xy in _PRIMARIES_XY], axis=1)
    to_xyz = primaries * np.linalg.solve(primaries, white)
    adapt = bradford_matrix(from_white=white_point("D50", "2") / 100.0, to_white=white)
    return np.asarray(np.linalg.inv(to_xyz) @ adapt / 100.0)


def _xyz(xy: tuple[float, float]) -> Floats:
    """XYZ with Y = 1 of a chromaticity."""
    x, y = xy
    return np.array([x / y, 1.0, (1.0 - x - y) / y])
