"""Invented media: what a sheet does to light before and after ink is laid on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting

#: How much of the brightener's M1 glow each measuring condition excites.
UV_SHARE = {
    "M0": Constant(
        0.7, "1", "ISO 13655 leaves the UV of M0 undefined; a tungsten lamp has less than D50", "from memory"
    ),
    "M1": Constant(1.0, "1", "ISO 13655: M1 is D50 including its UV", "standard"),
    "M2": Constant(0.0, "1", "ISO 13655: M2 excludes UV", "standard"),
}
GLOW_PEAK_NM = Constant(438.0, "nm", "stilbene brighteners glow at about 440 nm", "from memory")
GLOW_RISE_NM = Constant(14.0, "nm", "invented: short-wave flank of the glow", "computed")
GLOW_FALL_NM = Constant(25.0, "nm", "invented: long-wave flank of the glow", "computed")
UV_EDGE_NM = Constant(395.0, "nm", "brighteners absorb up to the end of the near UV", "from memory")


@dataclass(frozen=True, slots=True)
class Medium:
    """A paper or canvas, with the recipe it is printed by.

    ``white`` is the reflectance of the bare medium at long wavelengths (0-1, white backing, no glow);
    ``warmth`` the density it loses towards 380 nm; ``brightener`` the rise of reflectance at the glow's peak
    under M1; ``opacity`` the ratio of bare reflectance on black to that on white backing (ISO 13655 sense);
    ``surface`` the light reflected before it reaches any ink, which sets the deepest black;
    ``ink_strength`` scales every ink's density and ``black_strength`` the black's once more; ``n_factor`` is
    the Yule-Nielsen n. ``ink_limit`` (sum of amounts, 4 = none) and ``overdrive`` (1 = linearised; above 1
    the dots are full before the file asks for full ink) belong to the recipe. Beyond ``capacity`` (sum of
    amounts times overdrive) ink sinks in and loses ``coalescence`` of its density per unit of excess.
    ``texture`` multiplies the scatter from patch to patch.
    """

    name: str
    white: float = 0.90
    warmth: float = 0.06
    brightener: float = 0.0
    opacity: float = 0.97
    surface: float = 0.013
    ink_strength: float = 1.0
    black_strength: float = 1.0
    n_factor: float = 3.0
    ink_limit: float = 2.4
    overdrive: float = 1.0
    capacity: float = 4.0
    coalescence: float = 0.0
    texture: float = 1.0

    def __post_init__(self) -> None:
        limits = {
            "white": (0.3, 1.0),
            "brightener": (0.0, 0.6),
            "opacity": (0.0, 1.0),
            "surface": (0.0, 0.2),
            "ink_strength": (0.0, 5.0),
            "n_factor": (1.0, 20.0),
            "ink_limit": (0.5, 4.0),
            "overdrive": (0.5, 3.0),
            "texture": (0.0, 20.0),
        }
        for name, (low, high) in limits.items():
            value = getattr(self, name)
            if not low <= value <= high:
                raise BadSetting(
                    f"medium {self.name!r}: {name} is {value}, which no print medium has.",
                    todo=f"Give a number from {low:g} to {high:g}.",
                )


MATTE_COTTON = Medium("Matte cotton (invented)", white=0.905, warmth=0.055)
BRIGHT_MATTE = Medium(
    "Bright white matte (invented)", white=0.915, warmth=0.02, brightener=0.17, opacity=0.96
)
BARYTA = Medium(
    "Baryta gloss (invented)",
    white=0.915,
    warmth=0.035,
    brightener=0.06,
    opacity=0.98,
    surface=0.0035,
    ink_strength=1.42,
    black_strength=1.05,
    ink_limit=2.8,
    texture=0.8,
)
CANVAS = Medium(
    "Matte canvas (invented)",
    white=0.885,
    warmth=0.05,
    brightener=0.04,
    opacity=0.95,
    surface=0.0155,
    ink_strength=0.83,
    black_strength=1.0,
    texture=2.3,
)


def bare_reflectance(medium: Medium, *, backing: str, wavelengths_nm: Floats) -> Floats:
    """Reflectance inside the bare medium, under its surface and without the brightener's glow.

    Parameters
    ----------
    medium : Medium
    backing : "white" or "black"
    wavelengths_nm : array (w,), nm

    Returns
    -------
    array (w,), reflectance 0-1. Adding the surface gives ``medium.white`` at long wavelengths.

    Raises
    ------
    BadSetting
        The backing is neither white nor black.

    Checked against
    ---------------
    White points of the trade's classes; the ISO 13655 opacity ratio.
    """
    if backing not in ("white", "black"):
        raise BadSetting(f"there is no backing {backing!r}.", todo="Use white or black.")
    nm = np.asarray(wavelengths_nm, dtype=np.float64)
    inside = (medium.white - medium.surface) / (1.0 - medium.surface)
    warm = medium.warmth * np.exp(-(nm - 380.0) / 75.0)
    absorbed_uv = 0.5 * medium.brightener / (1.0 + np.exp((nm - UV_EDGE_NM.value) / 7.0))
    spectrum = inside * 10.0 ** -(warm + absorbed_uv)
    return spectrum * medium.opacity if backing == "black" else spectrum


def glow(medium: Medium, *, condition: str, wavelengths_nm: Floats) -> Floats:
    """Light the brightener of the bare medium adds under a measuring condition.

    Parameters
    ----------
    medium : Medium
    condition : "M0", "M1" or "M2"
    wavelengths_nm : array (w,), nm

    Returns
    -------
    array (w,), on the reflectance scale (0-1); zero everywhere under M2.

    Raises
    ------
    BadSetting
        The condition is none of the three; polarised readings (M3) are not modelled.

    Notes
    -----
    One emission band, a Gaussian with a steeper short-wave flank.

    Checked against
    ---------------
    Nothing under M2, the stated peak under M1, nothing above 590 nm.
    """
    if condition not in UV_SHARE:
        raise BadSetting(f"there is no measuring condition {condition!r} here.", todo="Use M0, M1 or M2.")
    nm = np.asarray(wavelengths_nm, dtype=np.float64)
    away = nm - GLOW_PEAK_NM.value
    width = np.where(away < 0.0, GLOW_RISE_NM.value, GLOW_FALL_NM.value)
    return medium.brightener * UV_SHARE[condition].value * np.exp(-0.5 * (away / width) ** 2)
