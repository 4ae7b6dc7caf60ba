"""How much of a medium's white is optical brightener: the same sheet read with and without ultraviolet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.science.colour import delta_e_2000, lab_from_reflectance, to_ten_nm
from laydown.science.medium.whiteness import r457

_BANDS = "bands of b* difference used in the trade"
NONE_BELOW = Constant(0.5, "b*", _BANDS, "common practice, no source")
LOW_UP_TO = Constant(2.0, "b*", _BANDS, "common practice, no source")
MODERATE_UP_TO = Constant(5.0, "b*", _BANDS, "common practice, no source")
GLOW_FROM_NM = Constant(400.0, "nm", "brighteners glow in the violet and blue", "common practice, no source")
GLOW_TO_NM = Constant(500.0, "nm", "brighteners glow in the violet and blue", "common practice, no source")


@dataclass(frozen=True, slots=True)
class Brightener:
    """What ultraviolet adds to an unprinted medium, each (...).

    ``d_b_star``: b* without ultraviolet less b* with it, positive when brightened. ``d_r457``: blue
    reflectance with ultraviolet less without, percent. ``de00``: how different the two whites look.
    ``peak``: largest reflectance gain between 400 and 500 nm, 0-1, at ``peak_nm``. ``words``: none, low,
    moderate or high by ``d_b_star`` (common practice, no source), "" where unknown; not a class of ISO 15397.
    """

    d_b_star: Floats
    d_r457: Floats
    de00: Floats
    peak: Floats
    peak_nm: Floats
    words: tuple[str, ...]


def brightener(
    reflectance_uv_in: ArrayLike, reflectance_uv_out: ArrayLike, *, wavelengths_nm: ArrayLike
) -> Brightener:
    """Compare readings of one medium with ultraviolet (M0 or M1) and without (M2).

    An indicator: the ultraviolet in M0 is not specified and varies between instruments, so compare media
    only by readings of one instrument and condition. A coating or a lamp without ultraviolet takes the
    effect away, and light wears it off.

    Parameters
    ----------
    reflectance_uv_in, reflectance_uv_out
        (..., w), 0-1, of the same places; M0 or M1, and M2.
    wavelengths_nm
        (w,), nm, shared by both.

    Returns
    -------
    Brightener
        b* (D50, 2 degrees) and R457 differences, dE00, and the peak of the glow.

    Raises
    ------
    NotEnoughData
        For unusable wavelengths.

    References
    ----------
    ISO 13655 (measurement conditions); ISO 2470-1 (R457 weights). Bands: common practice, no source.

    Checked against
    ---------------
    Two measured matte charts read M0 and M2: 5.87 and 5.90 in b*.
    """
    uv_in, grid = to_ten_nm(reflectance_uv_in, wavelengths_nm=wavelengths_nm)
    uv_out, _ = to_ten_nm(reflectance_uv_out, wavelengths_nm=wavelengths_nm)
    lab_in = lab_from_reflectance(uv_in, wavelengths_nm=grid)
    lab_out = lab_from_reflectance(uv_out, wavelengths_nm=grid)
    d_b_star = np.asarray(lab_out[..., 2] - lab_in[..., 2])
    glow = (grid >= GLOW_FROM_NM.value) & (grid <= GLOW_TO_NM.value)
    gain = (uv_in - uv_out)[..., glow]
    peak = np.asarray(gain.max(axis=-1))  # NaN where a band is missing
    return Brightener(
        d_b_star=d_b_star,
        d_r457=np.asarray(r457(uv_in, wavelengths_nm=grid) - r457(uv_out, wavelengths_nm=grid)),
        de00=delta_e_2000(lab_in, lab_out),
        peak=peak,
        peak_nm=np.where(np.isnan(peak), np.nan, grid[glow][gain.argmax(axis=-1)]),
        words=tuple(brightener_word(float(value)) for value in np.ravel(d_b_star)),
    )


def brightener_word(d_b_star: float) -> str:
    """The trade's word for an amount of brightener: none, low, moderate or high.

    Bands of the b* difference of common practice, without a source; never a class of ISO 15397, which needs
    a brightness meter with calibrated ultraviolet.

    Parameters
    ----------
    d_b_star
        b* without ultraviolet less b* with it.

    Returns
    -------
    str
        The word; "" for NaN.

    References
    ----------
    Common practice, no source.

    Checked against
    ---------------
    The bands as stated: below 0.5 none, to 2 low, to 5 moderate, above that high.
    """
    if np.isnan(d_b_star):
        return ""
    if d_b_star < NONE_BELOW.value:
        return "none"
    if d_b_star <= LOW_UP_TO.value:
        return "low"
    return "moderate" if d_b_star <= MODERATE_UP_TO.value else "high"
