"""How white the unprinted medium looks and which way it leans: CIE whiteness and tint, yellowness, R457."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Certainty, Constant
from laydown.kernel.errors import BadSetting
from laydown.science.colour import to_ten_nm, xyz_from_reflectance

Light = tuple[str, str]


@dataclass(frozen=True, slots=True)
class WhitenessFormula:
    """Constants of CIE whiteness for one illuminant and observer: the white, and the slope of tint in x."""

    x_white: Constant
    y_white: Constant
    tint_slope: Constant


@dataclass(frozen=True, slots=True)
class Whiteness:
    """CIE whiteness and tint, each (...), and whether the formula holds for them.

    ``valid`` is False outside the formula's limits: the numbers are then not a whiteness, only arithmetic.
    ``why`` says in words which limits the samples passed, "" where all are valid.
    """

    whiteness: Floats
    tint: Floats
    valid: Bools
    why: str


def _formula(x: float, y: float, slope: float, source: str, certainty: Certainty) -> WhitenessFormula:
    """The three constants of one light, sharing a source."""
    return WhitenessFormula(
        Constant(x, "1", source, certainty),
        Constant(y, "1", source, certainty),
        Constant(slope, "1", source, certainty),
    )


WHITENESS_FORMULAS: Mapping[Light, WhitenessFormula] = MappingProxyType(
    {
        ("D65", "10"): _formula(0.3138, 0.3310, 900.0, "CIE 15:2004; ISO 11475", "read in a library"),
        ("D65", "2"): _formula(0.3127, 0.3290, 1000.0, "CIE 15:2004", "read in a library"),
        ("C", "2"): _formula(0.3101, 0.3161, 1000.0, "ISO 11476", "from memory"),
    }
)
_LIMITS = "CIE 15:2004; ISO 11475 has -3 to +3 for tint"
WHITENESS_MIN = Constant(40.0, "1", _LIMITS, "from memory")
WHITENESS_MAX_PER_Y = Constant(5.0, "1", _LIMITS, "from memory")
WHITENESS_MAX_LESS = Constant(280.0, "1", _LIMITS, "from memory")
TINT_MIN = Constant(-4.0, "1", _LIMITS, "from memory")
TINT_MAX = Constant(2.0, "1", _LIMITS, "from memory")

_E313 = "ASTM E313 as in colour-science 0.4.7"
YELLOWNESS: Mapping[Light, tuple[Constant, Constant]] = MappingProxyType(
    {
        light: (
            Constant(c_x, "1", _E313, "read in a library"),
            Constant(c_z, "1", _E313, "read in a library"),
        )
        for light, c_x, c_z in (
            (("C", "2"), 1.2769, 1.0592),
            (("D65", "2"), 1.2985, 1.1335),
            (("D65", "10"), 1.3013, 1.1498),
        )
    }
)

R457_FROM_NM = Constant(400.0, "nm", "ISO 2470-1", "standard")
# Relative weights at 400, 410 ... 510 nm, ISO 2470-1 (two transcriptions): centre 457 nm, half width 44 nm.
R457_WEIGHTS = (1.0, 6.7, 18.2, 34.5, 57.6, 82.5, 100.0, 88.7, 53.1, 20.3, 5.6, 0.3)


def cie_whiteness(
    reflectance: ArrayLike, *, wavelengths_nm: ArrayLike, illuminant: str = "D65", observer: str = "10"
) -> Whiteness:
    """CIE whiteness and tint of an unprinted medium, from its spectrum.

    Higher is whiter, bluish counting as white; a positive tint is greenish, a negative one reddish. Compare
    media read by the same instrument only. From a 45:0 instrument this is an indicator and not the figure on
    a paper maker's data sheet: ISO 11475 asks for diffuse light with its ultraviolet set to D65, and for a
    brightened medium the ultraviolet of the instrument's lamp decides the result.

    Parameters
    ----------
    reflectance
        (..., w), 0-1; above 1 is legal.
    wavelengths_nm
        (w,), nm; see ``xyz_from_reflectance``.
    illuminant, observer
        ``"D65"`` and ``"10"`` (outdoor, ISO 11475), ``"C"`` and ``"2"`` (indoor, ISO 11476), or ``"D65"`` and
        ``"2"``.

    Returns
    -------
    Whiteness
        Whiteness and tint, (...), without unit; the perfect diffuser has 100 and 0.

    Raises
    ------
    BadSetting
        For another illuminant and observer.
    NotEnoughData
        For unusable wavelengths.

    Notes
    -----
    W = Y + 800 (xn - x) + 1700 (yn - y); T = 900 (10 degrees) or 1000 (2 degrees) times (xn - x), less
    650 (yn - y). Valid for 40 < W < 5 Y - 280 and -4 < T < 2.

    References
    ----------
    CIE 15:2004; ISO 11475; ISO 11476.

    Checked against
    ---------------
    colour-science 0.4.7 ``whiteness_CIE2004``.
    """
    _known(illuminant, observer, tuple(WHITENESS_FORMULAS), "CIE whiteness")
    xyz = xyz_from_reflectance(
        reflectance, wavelengths_nm=wavelengths_nm, illuminant=illuminant, observer=observer
    )
    return cie_whiteness_of_xyz(xyz, illuminant=illuminant, observer=observer)


def cie_whiteness_of_xyz(xyz: ArrayLike, *, illuminant: str = "D65", observer: str = "10") -> Whiteness:
    """CIE whiteness and tint of XYZ that was measured or computed for the same illuminant and observer.

    XYZ for D50 will not do, and adapting it to D65 gives no whiteness: start from the spectrum.

    Parameters
    ----------
    xyz
        (..., 3), Y = 100 for the perfect diffuser.
    illuminant, observer
        Those of the XYZ; see ``cie_whiteness``.

    Returns
    -------
    Whiteness
        See ``cie_whiteness``. A missing colour is NaN and not valid.

    Raises
    ------
    BadSetting
        For another illuminant and observer.

    References
    ----------
    CIE 15:2004; ISO 11475; ISO 11476.

    Checked against
    ---------------
    colour-science 0.4.7 ``whiteness_CIE2004``; X, Y, Z = 84, 88, 103 gives 113.38 and 0.36.
    """
    _known(illuminant, observer, tuple(WHITENESS_FORMULAS), "CIE whiteness")
    formula = WHITENESS_FORMULAS[(illuminant, observer)]
    values = np.asarray(xyz, dtype=np.float64)
    total = values.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):  # a black medium has no chromaticity: NaN
        d_x = formula.x_white.value - values[..., 0] / total
        d_y = formula.y_white.value - values[..., 1] / total
    luminance = values[..., 1]
    whiteness = np.asarray(luminance + 800.0 * d_x + 1700.0 * d_y)
    tint = np.asarray(formula.tint_slope.value * d_x - 650.0 * d_y)
    most = WHITENESS_MAX_PER_Y.value * luminance - WHITENESS_MAX_LESS.value
    reasons = (
        (~np.isfinite(whiteness), "the colour of the medium is missing"),
        (whiteness <= WHITENESS_MIN.value, f"whiteness is not above {WHITENESS_MIN.value:g}"),
        (whiteness >= most, "whiteness is not below 5 Y - 280"),
        (tint <= TINT_MIN.value, f"tint is not above {TINT_MIN.value:g} (too reddish)"),
        (tint >= TINT_MAX.value, f"tint is not below {TINT_MAX.value:g} (too greenish)"),
    )
    invalid = np.zeros(whiteness.shape, dtype=np.bool_)
    for broken, _ in reasons:
        invalid |= broken
    why = "; ".join(words for broken, words in reasons if np.any(broken))
    return Whiteness(whiteness=whiteness, tint=tint, valid=np.asarray(~invalid), why=why)


def yellowness(
    reflectance: ArrayLike, *, wavelengths_nm: ArrayLike, illuminant: str = "D65", observer: str = "10"
) -> Floats:
    """Yellowness index ASTM E313 of an unprinted medium.

    One number for how yellow a near-white is, negative when it is bluish. Not for media with a tint toward
    green or red, which it cannot see. There is no D50 version.

    Parameters
    ----------
    reflectance
        (..., w), 0-1.
    wavelengths_nm
        (w,), nm.
    illuminant, observer
        ``"D65"`` and ``"10"``, ``"D65"`` and ``"2"``, or ``"C"`` and ``"2"``.

    Returns
    -------
    Floats
        YI, (...), without unit; the perfect diffuser has 0. NaN for a black or missing spectrum.

    Raises
    ------
    BadSetting
        For another illuminant and observer.
    NotEnoughData
        For unusable wavelengths.

    Notes
    -----
    YI = 100 (Cx X - Cz Z) / Y.

    References
    ----------
    ASTM E313.

    Checked against
    ---------------
    colour-science 0.4.7 ``yellowness_ASTME313``.
    """
    _known(illuminant, observer, tuple(YELLOWNESS), "Yellowness (ASTM E313)")
    xyz = xyz_from_reflectance(
        reflectance, wavelengths_nm=wavelengths_nm, illuminant=illuminant, observer=observer
    )
    c_x, c_z = (part.value for part in YELLOWNESS[(illuminant, observer)])
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(100.0 * (c_x * xyz[..., 0] - c_z * xyz[..., 2]) / xyz[..., 1])


def r457(reflectance: ArrayLike, *, wavelengths_nm: ArrayLike) -> Floats:
    """Blue reflectance around 457 nm, weighted as ISO brightness is.

    The band of ISO 2470-1, but ISO brightness itself needs diffuse light with calibrated ultraviolet, so
    from a 45:0 instrument this is an indicator to compare media by.

    Parameters
    ----------
    reflectance
        (..., w), 0-1; above 1 is legal.
    wavelengths_nm
        (w,), nm.

    Returns
    -------
    Floats
        (...), percent; the perfect diffuser has 100. NaN where a band is missing.

    Raises
    ------
    NotEnoughData
        For unusable wavelengths.

    References
    ----------
    ISO 2470-1; TAPPI T 525.

    Checked against
    ---------------
    Properties of the weights: sum 468.5, centre 457.14 nm.
    """
    values, grid = to_ten_nm(reflectance, wavelengths_nm=wavelengths_nm)
    first = int(np.searchsorted(grid, R457_FROM_NM.value))
    weights = np.array(R457_WEIGHTS)
    band = values[..., first : first + weights.size]
    return np.asarray(100.0 * (band @ weights) / weights.sum())


def _known(illuminant: str, observer: str, known: tuple[Light, ...], what: str) -> None:
    """Refuse an illuminant and observer the formula is not defined for."""
    if (illuminant, observer) not in known:
        words = ", ".join(f"{i} / {o} degrees" for i, o in known)
        raise BadSetting(
            f"{what} is not defined for illuminant {illuminant} with the {observer} degree observer.",
            todo=f"Use one of: {words}.",
        )
