"""From reflectance spectra to XYZ under a stated illuminant and observer."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.science.colour import packaged_tables
from laydown.science.colour.spectra import correct_bandpass, matched, ten_nm_operator

# Three values of Z circulate for D50: 82.49 (the ICC's, after rounding in its file format), 82.521 (stated in
# ASTM E308 and ISO 13655) and 82.513 (the sum of the weights). Measurements are converted with the second.
_STATED_D50 = "ASTM E308, ISO 13655: stated white of D50, 2 degrees"
WHITE_D50_2 = (
    Constant(96.422, "1", _STATED_D50, "from memory"),
    Constant(100.0, "1", _STATED_D50, "from memory"),
    Constant(82.521, "1", _STATED_D50, "from memory"),
)


def xyz_from_reflectance(
    reflectance: ArrayLike,
    *,
    wavelengths_nm: ArrayLike,
    illuminant: str = "D50",
    observer: str = "2",
    bandpass: bool = False,
) -> Floats:
    """Tristimulus values of reflectance spectra.

    A weighted sum over 10 nm bands with weights made as ASTM E2022 describes. Weights for wavelengths that
    were not measured are added to the first or last band that was, as ASTM E308 asks; reflectance is never
    extrapolated and the sum never rescaled. Not for spectra under a light other than the illuminant's where
    the medium is brightened: the fluorescence then belongs to the measuring light.

    Parameters
    ----------
    reflectance
        (..., w), 0-1; above 1 is legal; NaN where missing.
    wavelengths_nm
        (w,), nm, ascending and even, covering at least 400-700 nm in steps of at most 20 nm.
    illuminant
        ``"D50"``, ``"D65"``, ``"C"`` or ``"A"``.
    observer
        ``"2"`` or ``"10"``, degrees (10 only with D50 and D65).
    bandpass
        Correct for a triangular bandpass as wide as the step first; see ``correct_bandpass``.

    Returns
    -------
    Floats
        XYZ, (..., 3), Y = 100 for the perfect diffuser. NaN where any band is missing.

    Raises
    ------
    NotEnoughData
        For wavelengths that are uneven, too coarse, or leave part of 400-700 nm out.
    BadSetting
        For an illuminant and observer without a table.

    Notes
    -----
    One matrix product; the matrix is remembered for each set of wavelengths.

    References
    ----------
    ASTM E308-15; ASTM E2022; ISO 13655.

    Checked against
    ---------------
    colour-science 0.4.7 (``method="ASTM E308"``): 24 spectra to 1e-4 in XYZ.
    """
    values, bands = matched(reflectance, wavelengths_nm)
    weights = folded_weights(tuple(bands.tolist()), illuminant, observer)
    if bandpass:
        values = correct_bandpass(values, wavelengths_nm=bands)
    return np.asarray(values @ weights)


def white_point(illuminant: str = "D50", observer: str = "2") -> Floats:
    """XYZ of the perfect diffuser, the white that CIELAB is reckoned from.

    For D50 with the 2 degree observer this is the white stated by ISO 13655 and ASTM E308, 96.422 / 100 /
    82.521; for the others it is the sum of the weights, to three decimals. The ICC's D50 (96.42 / 100 /
    82.49) differs by 0.03 in b* and is not meant for measurements.

    Parameters
    ----------
    illuminant
        ``"D50"``, ``"D65"``, ``"C"`` or ``"A"``.
    observer
        ``"2"`` or ``"10"``, degrees.

    Returns
    -------
    Floats
        XYZ, (3,), Y = 100.

    Raises
    ------
    BadSetting
        For an illuminant and observer without a table.

    References
    ----------
    ISO 13655; ASTM E308-15.

    Checked against
    ---------------
    The white points that colour-science 0.4.7 computes by the same standards.
    """
    if (illuminant, observer) == ("D50", "2"):
        return np.array([part.value for part in WHITE_D50_2])
    return np.asarray(packaged_tables.tristimulus_weights(illuminant, observer)[:, 1:].sum(axis=0).round(3))


@lru_cache(maxsize=128)
def folded_weights(wavelengths_nm: tuple[float, ...], illuminant: str, observer: str) -> Floats:
    """Weights for spectra at these wavelengths, unmeasured ends folded in.

    Remembered for each set of wavelengths, hence a tuple.

    Parameters
    ----------
    wavelengths_nm
        (w,), nm; as ``xyz_from_reflectance``.
    illuminant, observer
        See ``xyz_from_reflectance``.

    Returns
    -------
    Floats
        (w, 3) for ``spectra @ weights``, Y = 100 for the perfect diffuser; read-only.

    Raises
    ------
    NotEnoughData, BadSetting
        As ``xyz_from_reflectance``.

    Checked against
    ---------------
    As ``xyz_from_reflectance``.
    """
    table = packaged_tables.tristimulus_weights(illuminant, observer)
    grid, operator = ten_nm_operator(wavelengths_nm)
    weights = np.asarray(operator @ fold(table[:, 0], table[:, 1:], grid))
    weights.setflags(write=False)
    return weights


def fold(table_nm: Floats, weights: Floats, grid_nm: Floats) -> Floats:
    """The part of a 10 nm table that was measured, the rest of it added to the two ends.

    Parameters
    ----------
    table_nm
        (t,), nm, ascending.
    weights
        (t, k), whatever is summed over wavelength.
    grid_nm
        (v,), nm, the measured part of ``table_nm``.

    Returns
    -------
    Floats
        (v, k), each column adding up to what it did.

    References
    ----------
    ASTM E308-15.

    Checked against
    ---------------
    colour-science 0.4.7 ``adjust_tristimulus_weighting_factors_ASTME308``.
    """
    inside = (table_nm >= grid_nm[0]) & (table_nm <= grid_nm[-1])
    folded = np.zeros((grid_nm.size, weights.shape[1]))
    folded[np.searchsorted(grid_nm, table_nm[inside])] = weights[inside]
    folded[0] += weights[table_nm < grid_nm[0]].sum(axis=0)
    folded[-1] += weights[table_nm > grid_nm[-1]].sum(axis=0)
    return folded
