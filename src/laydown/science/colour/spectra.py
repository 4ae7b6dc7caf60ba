"""Spectra on the 10 nm grid that the published weighting tables are made for."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData

GRID_STEP_NM = Constant(10.0, "nm", "ASTM E308, ISO 13655: abridged tables at 10 nm", "standard")
NEEDED_FROM_NM = Constant(400.0, "nm", "ISO 13655: smallest permitted range 400-700 nm", "standard")
NEEDED_TO_NM = Constant(700.0, "nm", "ISO 13655: smallest permitted range 400-700 nm", "standard")
LARGEST_STEP_NM = Constant(20.0, "nm", "ASTM E308: measurement intervals up to 20 nm", "standard")
STEARNS_ALPHA = Constant(
    0.083,
    "1",
    "Stearns and Stearns 1988, as in colour-science 0.4.7",
    "read in a library",
)
_EVEN_WITHIN_NM = 0.02  # 3.33 nm spectra are written with two decimals

# CIE 167:2005, table V: the four values beyond the ends, and the quintic through six neighbours.
_SPRAGUE_ENDS = (
    np.array(
        [
            [884, -1960, 3033, -2648, 1080, -180],
            [508, -540, 488, -367, 144, -24],
            [-24, 144, -367, 488, -540, 508],
            [-180, 1080, -2648, 3033, -1960, 884],
        ]
    )
    / 209.0
)
_SPRAGUE_QUINTIC = (
    np.array(
        [
            [0, 0, 24, 0, 0, 0],
            [2, -16, 0, 16, -2, 0],
            [-1, 16, -30, 16, -1, 0],
            [-9, 39, -70, 66, -33, 7],
            [13, -64, 126, -124, 61, -12],
            [-5, 25, -50, 50, -25, 5],
        ]
    )
    / 24.0
)


def to_ten_nm(reflectance: ArrayLike, *, wavelengths_nm: ArrayLike) -> tuple[Floats, Floats]:
    """Bring spectra to the wavelengths 360, 370 ... 780 nm that lie within the measured range.

    Bands that already stand on the grid are taken as they are, so a 5 nm or 1 nm spectrum gives every
    second or tenth value; otherwise the spectrum is interpolated by Sprague's fifth-order method. Nothing is
    ever extrapolated. Not for emission spectra with lines, which interpolation between bands would smear.

    Parameters
    ----------
    reflectance
        (..., w), 0-1 (above 1 is legal for brightened media); NaN where missing.
    wavelengths_nm
        (w,), nm, ascending and evenly spaced, covering at least 400-700 nm in steps of at most 20 nm.

    Returns
    -------
    tuple of Floats
        The spectra (..., v) and their wavelengths (v,) in nm.

    Raises
    ------
    NotEnoughData
        Where the wavelengths do not match the spectra, are not even, or leave part of 400-700 nm out.

    Notes
    -----
    A spectrum with one missing band is missing (NaN) in every band of the result.

    References
    ----------
    CIE 167:2005 (Sprague); ASTM E308-15.

    Checked against
    ---------------
    colour-science ``SpragueInterpolator``.
    """
    values, bands = matched(reflectance, wavelengths_nm)
    grid, operator = ten_nm_operator(tuple(bands.tolist()))
    return values @ operator, grid.copy()


def correct_bandpass(reflectance: ArrayLike, *, wavelengths_nm: ArrayLike) -> Floats:
    """Sharpen spectra measured through a triangular bandpass as wide as their step.

    Only for raw readings of an instrument whose bandwidth equals its step and which does not correct for
    it; most strip-reading instruments already do. Never apply it twice.

    Parameters
    ----------
    reflectance
        (..., w), 0-1.
    wavelengths_nm
        (w,), nm, as in ``to_ten_nm``.

    Returns
    -------
    Floats
        (..., w), 0-1.

    Raises
    ------
    NotEnoughData
        As ``to_ten_nm``.

    References
    ----------
    E. I. Stearns and R. E. Stearns, Color Research and Application 13 (1988) 257-259.

    Checked against
    ---------------
    colour-science ``bandpass_correction_Stearns1988``, but for the second and every later band: that
    function overwrites its input as it goes, this one uses the readings as they were.
    """
    values, _ = matched(reflectance, wavelengths_nm)
    alpha = STEARNS_ALPHA.value
    padded = np.concatenate([values[..., :1], values, values[..., -1:]], axis=-1)
    return np.asarray(values - alpha * (padded[..., :-2] - 2.0 * values + padded[..., 2:]))


def matched(reflectance: ArrayLike, wavelengths_nm: ArrayLike) -> tuple[Floats, Floats]:
    """Spectra and wavelengths as arrays, refused unless the last axis holds one value per wavelength.

    Parameters
    ----------
    reflectance
        (..., w), 0-1.
    wavelengths_nm
        (w,), nm.

    Returns
    -------
    tuple of Floats
        Both as float64; views of the inputs where these already are.

    Raises
    ------
    NotEnoughData
        Where they do not match.

    Checked against
    ---------------
    Definition.
    """
    values = np.asarray(reflectance, dtype=np.float64)
    bands = np.asarray(wavelengths_nm, dtype=np.float64)
    if bands.ndim != 1 or values.ndim == 0 or values.shape[-1] != bands.size:
        have = values.shape[-1] if values.ndim else 0
        raise NotEnoughData(
            f"The spectra have {have} bands but {bands.size} wavelengths are given.",
            todo="Give one wavelength for each band.",
        )
    return values, bands


@lru_cache(maxsize=64)
def ten_nm_operator(wavelengths_nm: tuple[float, ...]) -> tuple[Floats, Floats]:
    """The 10 nm grid inside a measured range, and the matrix that takes spectra to it.

    Remembered for each set of wavelengths, hence a tuple.

    Parameters
    ----------
    wavelengths_nm
        (w,), nm; as ``to_ten_nm``.

    Returns
    -------
    tuple of Floats
        The grid (v,), nm, and the matrix (w, v) for ``spectra @ matrix``; both read-only.

    Raises
    ------
    NotEnoughData
        As ``to_ten_nm``.

    Checked against
    ---------------
    As ``to_ten_nm``.
    """
    bands = np.array(wavelengths_nm)
    _refuse_unusable(bands)
    step = (bands[-1] - bands[0]) / (bands.size - 1)
    first = np.ceil((bands[0] - _EVEN_WITHIN_NM) / GRID_STEP_NM.value)
    last = np.floor((bands[-1] + _EVEN_WITHIN_NM) / GRID_STEP_NM.value)
    grid = np.arange(max(first, 36.0), min(last, 78.0) + 1.0) * GRID_STEP_NM.value
    position = (grid - bands[0]) / step
    nearest = np.clip(np.rint(position).astype(int), 0, bands.size - 1)
    if np.all(np.abs(bands[nearest] - grid) <= _EVEN_WITHIN_NM):
        operator = np.zeros((bands.size, grid.size))
        operator[nearest, np.arange(grid.size)] = 1.0
    else:
        operator = _sprague(bands.size, position)
    grid.setflags(write=False)
    operator.setflags(write=False)
    return grid, operator


def _sprague(size: int, position: Floats) -> Floats:
    """Matrix (size, v) interpolating values at 0, 1 ... size-1 to the given positions."""
    padded = np.zeros((size, size + 4))
    padded[np.arange(size), np.arange(size) + 2] = 1.0
    padded[:6, :2] = _SPRAGUE_ENDS[:2].T
    padded[-6:, -2:] = _SPRAGUE_ENDS[2:].T
    below = np.clip(np.floor(position).astype(int), 0, size - 2)
    powers = (position - below)[:, None] ** np.arange(6.0)
    near = powers @ _SPRAGUE_QUINTIC
    operator = np.zeros((size, position.size))
    for offset in range(6):
        operator += padded[:, below + offset] * near[:, offset]
    return operator


def _refuse_unusable(bands: Floats) -> None:
    """Refuse wavelengths that are not ascending and even, too far apart, or short of 400-700 nm."""
    steps = np.diff(bands)
    if bands.size < 6 or not np.all(np.isfinite(bands)):
        raise NotEnoughData(
            f"A spectrum of {bands.size} bands is too short to compute colour from.",
            todo="Export the spectra from 400 to 700 nm or more, in steps of 20 nm or less.",
        )
    if not np.all(steps > 0) or np.ptp(steps) > 2 * _EVEN_WITHIN_NM:
        raise NotEnoughData(
            "The wavelengths are not in ascending order with even steps "
            f"(steps from {steps.min():g} to {steps.max():g} nm).",
            todo="Export the spectra at even steps, such as every 10 nm.",
        )
    if steps.max() > LARGEST_STEP_NM.value + _EVEN_WITHIN_NM:
        raise NotEnoughData(
            f"Spectra in steps of {steps.max():g} nm are too coarse to compute colour from.",
            todo="Export the spectra in steps of 20 nm or less.",
        )
    if bands[0] > NEEDED_FROM_NM.value + _EVEN_WITHIN_NM or bands[-1] < NEEDED_TO_NM.value - _EVEN_WITHIN_NM:
        raise NotEnoughData(
            f"The spectra cover {bands[0]:g} to {bands[-1]:g} nm, but 400 to 700 nm is needed.",
            todo="Export the full range the instrument measures.",
        )
