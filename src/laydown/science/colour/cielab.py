"""CIELAB: from XYZ and back, from spectra, relative to the medium, and in lightness, chroma and hue."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.science.colour.tristimulus import white_point, xyz_from_reflectance

# CIE 15: the cube root gives way to a straight line below (6/29)^3; exact fractions, not rounded decimals.
_LINE_BELOW = (6.0 / 29.0) ** 3
_LINE_SLOPE = (29.0 / 6.0) ** 2 / 3.0
_LINE_START = 4.0 / 29.0


def lab_from_xyz(xyz: ArrayLike, *, white: ArrayLike | None = None) -> Floats:
    """CIELAB of tristimulus values.

    Lab compares colours seen beside the same white; it does not say how a colour looks under another one.

    Parameters
    ----------
    xyz
        (..., 3), Y = 100 for the perfect diffuser.
    white
        (..., 3), XYZ of the white; the ISO 13655 white (D50, 2 degrees) if not given.

    Returns
    -------
    Floats
        Lab, (..., 3), L* 0-100 (above 100 is legal). NaN stays NaN.

    Notes
    -----
    Below (6/29)^3 the straight line of CIE 15 applies, so noise below zero reflectance gives no NaN.

    References
    ----------
    CIE 15:2004; ISO/CIE 11664-4.

    Checked against
    ---------------
    colour-science 0.4.7 ``XYZ_to_Lab`` to 1e-9.
    """
    reference = white_point() if white is None else np.asarray(white, dtype=np.float64)
    ratio = np.asarray(xyz, dtype=np.float64) / reference
    f = np.where(ratio > _LINE_BELOW, np.cbrt(ratio), ratio * _LINE_SLOPE + _LINE_START)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def xyz_from_lab(lab: ArrayLike, *, white: ArrayLike | None = None) -> Floats:
    """Tristimulus values of CIELAB colours; the inverse of ``lab_from_xyz``.

    Parameters
    ----------
    lab
        (..., 3), L* 0-100.
    white
        (..., 3), XYZ of the white Lab was reckoned from; ISO 13655's (D50, 2 degrees) if not given.

    Returns
    -------
    Floats
        XYZ, (..., 3), Y = 100 for the perfect diffuser.

    References
    ----------
    CIE 15:2004; ISO/CIE 11664-4.

    Checked against
    ---------------
    colour-science 0.4.7 ``Lab_to_XYZ`` to 1e-9.
    """
    reference = white_point() if white is None else np.asarray(white, dtype=np.float64)
    values = np.asarray(lab, dtype=np.float64)
    y = (values[..., 0] + 16.0) / 116.0
    f = np.stack([y + values[..., 1] / 500.0, y, y - values[..., 2] / 200.0], axis=-1)
    return np.asarray(np.where(f > 6.0 / 29.0, f**3, (f - _LINE_START) / _LINE_SLOPE) * reference)


def lab_from_reflectance(
    reflectance: ArrayLike, *, wavelengths_nm: ArrayLike, illuminant: str = "D50", observer: str = "2"
) -> Floats:
    """CIELAB of reflectance spectra, reckoned from the illuminant's own white.

    Parameters
    ----------
    reflectance
        (..., w), 0-1.
    wavelengths_nm
        (w,), nm; see ``xyz_from_reflectance``.
    illuminant, observer
        See ``xyz_from_reflectance``.

    Returns
    -------
    Floats
        Lab, (..., 3), L* 0-100.

    Raises
    ------
    NotEnoughData, BadSetting
        As ``xyz_from_reflectance``.

    References
    ----------
    ISO 13655; ASTM E308-15; CIE 15:2004.

    Checked against
    ---------------
    24 chart spectra with Lab by colour-science 0.4.7, to 0.005 with the same white.
    """
    xyz = xyz_from_reflectance(
        reflectance, wavelengths_nm=wavelengths_nm, illuminant=illuminant, observer=observer
    )
    return lab_from_xyz(xyz, white=white_point(illuminant, observer))


def media_relative(xyz: ArrayLike, *, paper_xyz: ArrayLike, white: ArrayLike | None = None) -> Floats:
    """Scale XYZ so that the unprinted medium becomes the white.

    Each of X, Y and Z is multiplied by white / paper, as ICC media-relative colorimetry does. Use it to ask
    how prints look to an eye adapted to each medium; not where the colour of the medium itself matters.

    Parameters
    ----------
    xyz
        (..., 3), Y = 100 for the perfect diffuser.
    paper_xyz
        (3,) or (..., 3), the unprinted medium.
    white
        (3,), the white it is to become; ISO 13655's (D50, 2 degrees) if not given.

    Returns
    -------
    Floats
        XYZ, (..., 3).

    References
    ----------
    ISO 15076-1 (ICC), media-relative colorimetry.

    Checked against
    ---------------
    Definition: the medium itself gives exactly the white.
    """
    reference = white_point() if white is None else np.asarray(white, dtype=np.float64)
    return np.asarray(
        np.asarray(xyz, dtype=np.float64) * (reference / np.asarray(paper_xyz, dtype=np.float64))
    )


def lch_from_lab(lab: ArrayLike) -> Floats:
    """Lightness, chroma and hue angle.

    Hue means nothing for a neutral: below a chroma of about 2 it is mostly noise.

    Parameters
    ----------
    lab
        (..., 3), L* 0-100.

    Returns
    -------
    Floats
        (..., 3): L*, C*ab, and h in degrees, 0 up to 360.

    References
    ----------
    CIE 15:2004.

    Checked against
    ---------------
    colour-science 0.4.7 ``Lab_to_LCHab``.
    """
    values = np.asarray(lab, dtype=np.float64)
    a, b = values[..., 1], values[..., 2]
    return np.stack([values[..., 0], np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360.0], axis=-1)


def hue_difference(reference: ArrayLike, sample: ArrayLike) -> Floats:
    """The metric hue difference dH*: how far apart two hues are, as a distance in the Lab space.

    Parameters
    ----------
    reference, sample
        Lab, (..., 3), broadcast against each other.

    Returns
    -------
    Floats
        dH*ab, (...); positive where the sample's hue angle is larger, going the shorter way round.

    Notes
    -----
    dH*^2 = da*^2 + db*^2 - dC*^2, with the sign of the cross product of the two (a*, b*).

    References
    ----------
    CIE 15:2004.

    Checked against
    ---------------
    2 sqrt(C1 C2) sin(dh / 2).
    """
    first = np.asarray(reference, dtype=np.float64)
    second = np.asarray(sample, dtype=np.float64)
    a1, b1, a2, b2 = first[..., 1], first[..., 2], second[..., 1], second[..., 2]
    squared = (a2 - a1) ** 2 + (b2 - b1) ** 2 - (np.hypot(a2, b2) - np.hypot(a1, b1)) ** 2
    return np.asarray(np.copysign(np.sqrt(np.maximum(squared, 0.0)), a1 * b2 - b1 * a2))
