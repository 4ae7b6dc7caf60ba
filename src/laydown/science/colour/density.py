"""Optical density of spectra: visual and Status T, A, E and M; and density beside lightness."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.colour import packaged_tables
from laydown.science.colour.spectra import matched, ten_nm_operator
from laydown.science.colour.tristimulus import fold

STATUSES = ("T", "A", "E", "M")
FILTERS = ("red", "green", "blue")


def densities(reflectance: ArrayLike, *, wavelengths_nm: ArrayLike, status: str = "T") -> dict[str, Floats]:
    """Densities of reflectance spectra through red, green and blue status filters, and the visual one.

    Absolute: the medium is not subtracted. Status T and E for prints, A for photographic prints, M for
    negatives. Densities of two statuses are different scales and may not be compared.

    Parameters
    ----------
    reflectance
        (..., w), 0-1; NaN where missing.
    wavelengths_nm
        (w,), nm, ascending and even, covering at least 400-700 nm in steps of at most 20 nm.
    status
        ``"T"``, ``"A"``, ``"E"`` or ``"M"``.

    Returns
    -------
    dict of str to Floats
        ``"red"``, ``"green"``, ``"blue"`` and ``"visual"``, each (...), log10 units. NaN where a band is
        missing or the filter sees no light at all.

    Raises
    ------
    BadSetting
        For an unknown status.
    NotEnoughData
        For unusable wavelengths; see ``xyz_from_reflectance``.

    Notes
    -----
    D = -log10(sum of P R / sum of P), with P the product of influx and receiver at 10 nm steps; products at
    wavelengths that were not measured are added to the first or last that was. The 2009 edition of ISO 5-3
    gives abridged weights for spectra instead, which Laydown does not hold: the difference is at most 0.003.

    References
    ----------
    ISO 5-3:1995 = ANSI/NAPM IT2.18-1996.

    Checked against
    ---------------
    colormath 3.0.0 on 24 chart spectra, 0.001.
    """
    if status not in STATUSES:
        raise BadSetting(f"There is no density status {status}.", todo=f"Use one of {', '.join(STATUSES)}.")
    names = tuple(f"status_{status.lower()}_{name}" for name in FILTERS)
    found = _densities(reflectance, wavelengths_nm, (*names, "visual"))
    return {name: found[..., i] for i, name in enumerate((*FILTERS, "visual"))}


def visual_density(reflectance: ArrayLike, *, wavelengths_nm: ArrayLike) -> Floats:
    """Visual density of reflectance spectra: the darkness of a black as a densitometer gives it.

    Absolute: the medium is not subtracted. Near the limit of the instrument (2.5 and above) it is mostly
    flare.

    Parameters
    ----------
    reflectance
        (..., w), 0-1; NaN where missing.
    wavelengths_nm
        (w,), nm; as ``densities``.

    Returns
    -------
    Floats
        (...), log10 units. NaN where a band is missing or nothing is reflected at all.

    Raises
    ------
    NotEnoughData
        For unusable wavelengths.

    References
    ----------
    ISO 5-3 (ISO visual density: illuminant A x V(lambda)).

    Checked against
    ---------------
    Densities published beside measured charts, 0.003; colormath 3.0.0, 0.001.
    """
    return np.asarray(_densities(reflectance, wavelengths_nm, ("visual",))[..., 0])


def l_star_from_density(density: ArrayLike) -> Floats:
    """Lightness L* that a neutral of this visual density has.

    Takes 10^-D for Y / 100. Exact for a flat spectrum; other colours differ, because density is weighted for
    illuminant A and L* here for D50.

    Parameters
    ----------
    density
        (...), visual, absolute, log10 units.

    Returns
    -------
    Floats
        L*, (...), 0-100.

    References
    ----------
    ISO 5-3; CIE 15:2004.

    Checked against
    ---------------
    Computed table: D 1.70 gives 15.46, D 2.00 gives 8.99.
    """
    y = 10.0 ** -np.asarray(density, dtype=np.float64)
    return np.asarray(np.where(y > (6.0 / 29.0) ** 3, 116.0 * np.cbrt(y) - 16.0, y * (29.0 / 3.0) ** 3))


def density_from_l_star(l_star: ArrayLike) -> Floats:
    """Visual density that a neutral of this lightness has; the inverse of ``l_star_from_density``.

    Parameters
    ----------
    l_star
        (...), 0-100.

    Returns
    -------
    Floats
        (...), absolute, log10 units. NaN for L* of 0 or less.

    References
    ----------
    ISO 5-3; CIE 15:2004.

    Checked against
    ---------------
    Computed table: L* 16 gives 1.678, L* 8 gives 2.053, L* 3 gives 2.479.
    """
    lightness = np.asarray(l_star, dtype=np.float64)
    y = np.where(lightness > 8.0, ((lightness + 16.0) / 116.0) ** 3, lightness / (29.0 / 3.0) ** 3)
    return _minus_log10(y)


def _densities(reflectance: ArrayLike, wavelengths_nm: ArrayLike, names: tuple[str, ...]) -> Floats:
    """Densities (..., len(names))."""
    values, bands = matched(reflectance, wavelengths_nm)
    return _minus_log10(values @ _folded_products(tuple(bands.tolist()), names))


@lru_cache(maxsize=64)
def _folded_products(wavelengths_nm: tuple[float, ...], names: tuple[str, ...]) -> Floats:
    """Products (w, len(names)), each adding up to 1, unmeasured ends folded in. Read-only."""
    table = packaged_tables.density_products()
    grid, operator = ten_nm_operator(wavelengths_nm)
    table_nm, products = table["wavelength_nm"], np.stack([table[name] for name in names], axis=1)
    inside = grid[(grid >= table_nm[0]) & (grid <= table_nm[-1])]
    folded = np.zeros((grid.size, len(names)))
    folded[np.isin(grid, inside)] = fold(table_nm, products, inside)
    weights = np.asarray(operator @ (folded / products.sum(axis=0)))
    weights.setflags(write=False)
    return weights


def _minus_log10(fraction: ArrayLike) -> Floats:
    """-log10, NaN where there is no light to take the logarithm of."""
    light = np.asarray(fraction, dtype=np.float64)
    return np.asarray(-np.log10(np.where(light > 0.0, light, np.nan)))
