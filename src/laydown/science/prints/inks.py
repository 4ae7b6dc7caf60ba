"""Invented inks: absorption spectra built from soft-edged bands, and how an RGB driver uses them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats

INKS = ("C", "M", "Y", "K")


@dataclass(frozen=True, slots=True)
class Band:
    """One absorption band of an ink: ``density`` between two edges, each edge a logistic curve.

    Edges are at half height, in nm; ``low_width_nm`` and ``high_width_nm`` are the logistic scale of each
    edge. An edge far outside the visible leaves that side open.
    """

    density: float
    low_nm: float
    high_nm: float
    low_width_nm: float = 12.0
    high_width_nm: float = 12.0


@dataclass(frozen=True, slots=True)
class InkSet:
    """Four inks and the habits of the driver that lays them down.

    ``cyan`` ... ``black`` are absorption bands whose densities add up (internal, decadic, solid on a medium
    of ``ink_strength`` 1). ``trapping`` is what every ink after the first keeps of its density in an
    overprint. ``colour_removed`` is the share (below 1) of the grey component that black prints in place of
    the colours; ``black_in_colour`` is how much more black a saturated colour gets than a grey, whose
    colours darken it too. ``tone_light`` and ``tone_dark`` per ink (C, M, Y, K) are the driver's
    linearisation from amount to dot area: below 1, ``tone_light`` strengthens light tints and ``tone_dark``
    lightens three-quarter tones; 1 and 1 is a straight line.
    """

    name: str
    cyan: tuple[Band, ...]
    magenta: tuple[Band, ...]
    yellow: tuple[Band, ...]
    black: tuple[Band, ...]
    trapping: float = 0.92
    colour_removed: float = 0.785
    black_in_colour: float = 0.9
    tone_light: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    tone_dark: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)


#: The invented ink set of the demonstration, the tests and the planning studies.
INVENTED_INKS = InkSet(
    name="Invented pigment set",
    cyan=(Band(1.5, 551.0, 2000.0, 11.0), Band(0.30, 0.0, 395.0, 12.0, 22.0), Band(0.10, 0.0, 2000.0)),
    magenta=(
        Band(1.36, 494.0, 585.0, 17.0, 5.5),
        Band(0.36, 0.0, 440.0, 12.0, 26.0),
        Band(0.02, 0.0, 2000.0),
    ),
    yellow=(Band(1.75, 0.0, 497.0, 12.0, 6.5), Band(0.02, 0.0, 2000.0)),
    black=(Band(1.75, 0.0, 2000.0), Band(0.12, 0.0, 500.0, 12.0, 60.0)),
    tone_light=(1.005, 1.105, 1.085, 0.99),
    tone_dark=(1.01, 0.92, 0.96, 0.51),
)


def ink_densities(ink_set: InkSet, *, wavelengths_nm: Floats) -> Floats:
    """Internal density spectrum of each solid ink.

    Parameters
    ----------
    ink_set : InkSet
    wavelengths_nm : array (w,), nm

    Returns
    -------
    array (4, w), decadic density, in the order C, M, Y, K.

    Notes
    -----
    Each band is ``density * rise(low edge) * fall(high edge)`` with logistic rise and fall. The spectra are
    invented: they have the shape of cyan, magenta, yellow and black pigments, and belong to no product.

    Checked against
    ---------------
    Overprints, whose densities must be sums of these.
    """
    nm = np.asarray(wavelengths_nm, dtype=np.float64)
    spectra = np.zeros((len(INKS), nm.size))
    for row, bands in enumerate((ink_set.cyan, ink_set.magenta, ink_set.yellow, ink_set.black)):
        for band in bands:
            rise = 1.0 / (1.0 + np.exp(np.clip(-(nm - band.low_nm) / band.low_width_nm, -60.0, 60.0)))
            fall = 1.0 / (1.0 + np.exp(np.clip((nm - band.high_nm) / band.high_width_nm, -60.0, 60.0)))
            spectra[row] += band.density * rise * fall
    return spectra
