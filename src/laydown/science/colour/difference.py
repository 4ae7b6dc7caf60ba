"""The older colour differences: CIE 1976, CIE94 and CMC(l:c). For CIEDE2000 see its own file."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats


def delta_e_76(lab_1: ArrayLike, lab_2: ArrayLike) -> Floats:
    """Colour difference CIE 1976: plain distance in Lab.

    For volumes, geometry and older specifications. It overstates differences between saturated colours by a
    factor of two and more; use CIEDE2000 to judge prints.

    Parameters
    ----------
    lab_1, lab_2
        Lab, (..., 3), L* 0-100, broadcast against each other.

    Returns
    -------
    Floats
        dE*ab, (...). NaN where either colour is missing.

    References
    ----------
    CIE 15:2004; ISO/CIE 11664-4.

    Checked against
    ---------------
    colour-science 0.4.7 ``delta_E_CIE1976``.
    """
    step = np.asarray(lab_2, dtype=np.float64) - np.asarray(lab_1, dtype=np.float64)
    return np.asarray(np.sqrt(np.sum(step * step, axis=-1)))


def delta_e_94(reference: ArrayLike, sample: ArrayLike, *, textiles: bool = False) -> Floats:
    """Colour difference CIE94.

    Superseded by CIEDE2000; kept because older tolerances are written in it. Not symmetric: the weights come
    from the chroma of the reference.

    Parameters
    ----------
    reference, sample
        Lab, (..., 3), L* 0-100, broadcast against each other.
    textiles
        Use the textile constants (0.048, 0.014, k_L = 2) instead of graphic arts (0.045, 0.015, k_L = 1).

    Returns
    -------
    Floats
        dE94, (...). NaN where either colour is missing.

    References
    ----------
    CIE 116-1995.

    Checked against
    ---------------
    colour-science 0.4.7 ``delta_E_CIE1994`` and its published test values.
    """
    k_1, k_2, k_l = (0.048, 0.014, 2.0) if textiles else (0.045, 0.015, 1.0)
    d_l, d_c, d_h2, c_1 = _parts(reference, sample)
    return np.asarray(
        np.sqrt((d_l / k_l) ** 2 + (d_c / (1.0 + k_1 * c_1)) ** 2 + d_h2 / (1.0 + k_2 * c_1) ** 2)
    )


def delta_e_cmc(
    reference: ArrayLike, sample: ArrayLike, *, lightness: float = 2.0, chroma: float = 1.0
) -> Floats:
    """Colour difference CMC(l:c).

    A textile formula, kept because some buyers' tolerances are written in it. Not symmetric: the weights
    come from the reference.

    Parameters
    ----------
    reference, sample
        Lab, (..., 3), L* 0-100, broadcast against each other.
    lightness, chroma
        The l and c of CMC(l:c): 2 and 1 for acceptability, 1 and 1 for perceptibility.

    Returns
    -------
    Floats
        dE CMC, (...). NaN where either colour is missing.

    References
    ----------
    BS 6923; ISO 105-J03.

    Checked against
    ---------------
    colour-science 0.4.7 ``delta_E_CMC``, on the 34 pairs of the CIEDE2000 table and at random.
    """
    d_l, d_c, d_h2, c_1 = _parts(reference, sample)
    first = np.asarray(reference, dtype=np.float64)
    l_1 = first[..., 0]
    h_1 = np.degrees(np.arctan2(first[..., 2], first[..., 1])) % 360.0
    with np.errstate(divide="ignore"):  # the line through L* = -56.7 is not used below L* = 16
        s_l = np.where(l_1 < 16.0, 0.511, 0.040975 * l_1 / (1.0 + 0.01765 * l_1))
    s_c = 0.0638 * c_1 / (1.0 + 0.0131 * c_1) + 0.638
    t = np.where(
        (h_1 >= 164.0) & (h_1 <= 345.0),
        0.56 + np.abs(0.2 * np.cos(np.radians(h_1 + 168.0))),
        0.36 + np.abs(0.4 * np.cos(np.radians(h_1 + 35.0))),
    )
    f = np.sqrt(c_1**4 / (c_1**4 + 1900.0))
    s_h = s_c * (f * t + 1.0 - f)
    return np.asarray(np.sqrt((d_l / (lightness * s_l)) ** 2 + (d_c / (chroma * s_c)) ** 2 + d_h2 / s_h**2))


def _parts(reference: ArrayLike, sample: ArrayLike) -> tuple[Floats, Floats, Floats, Floats]:
    """Differences in lightness and chroma, squared hue difference, and chroma of the reference."""
    first, second = np.asarray(reference, dtype=np.float64), np.asarray(sample, dtype=np.float64)
    c_1 = np.hypot(first[..., 1], first[..., 2])
    d_c = np.hypot(second[..., 1], second[..., 2]) - c_1
    step = second - first
    d_h2 = np.maximum(step[..., 1] ** 2 + step[..., 2] ** 2 - d_c**2, 0.0)
    return np.asarray(step[..., 0]), np.asarray(d_c), np.asarray(d_h2), np.asarray(c_1)
