"""The Yule-Nielsen-modified spectral Neugebauer model: how dots of four inks mix."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats

#: Which inks (columns C, M, Y, K) lie in each of the 16 primaries, from bare paper to all four.
PRIMARIES = np.array([[(row >> ink) & 1 for ink in range(4)] for row in range(16)], dtype=np.float64)
PRIMARIES.flags.writeable = False


def demichel_weights(areas: Floats) -> Floats:
    """Share of the paper covered by each combination of inks, for dots placed independently.

    Parameters
    ----------
    areas : array (..., 4), dot areas 0-1

    Returns
    -------
    array (..., 16), in the order of ``PRIMARIES``; sums to 1.

    References
    ----------
    Demichel, E., *Le Procédé* 26 (1924), as given by Wyble & Berns (2000).

    Checked against
    ---------------
    Sums, corners and the product formula for two inks.
    """
    on = np.asarray(areas, dtype=np.float64)
    weights = np.ones((*on.shape[:-1], 1))
    for ink in range(on.shape[-1]):
        a = on[..., ink, None]
        weights = np.concatenate([weights * (1.0 - a), weights * a], axis=-1)
    return weights


def overprints(densities: Floats, *, bare: Floats, strength: Floats, trapping: float) -> Floats:
    """Reflectance of the 16 solid overprints, their densities adding up (Beer's law).

    Parameters
    ----------
    densities : array (4, w), internal decadic density of each solid ink
    bare : array (w,), reflectance under the surface without ink, 0-1
    strength : array (4,), multiplies each ink's density
    trapping : float
        Share of the summed density that an overprint keeps for each ink beyond the first.

    Returns
    -------
    array (16, w), reflectance 0-1, in the order of ``PRIMARIES``.

    Checked against
    ---------------
    Sums of densities with trapping 1; lighter with less.
    """
    kept = trapping ** np.maximum(PRIMARIES.sum(axis=1) - 1.0, 0.0)
    total = (PRIMARIES * strength) @ densities * kept[:, None]
    return np.asarray(bare * 10.0**-total)


def mix(areas: Floats, solids: Floats, *, n_factor: float) -> Floats:
    """Reflectance of halftones from the reflectance of their solid overprints.

    Light spreads sideways in paper, so that dots look larger than they are; the Yule-Nielsen n (1 = no
    spread, 2 = complete diffusion, higher values absorb other departures) stands for it.

    Parameters
    ----------
    areas : array (..., 4), dot areas 0-1
    solids : array (16, w), reflectance of the primaries, 0-1
    n_factor : float, 1 or more

    Returns
    -------
    array (..., w), reflectance 0-1.

    Notes
    -----
    ``R = (sum_p w_p R_p^(1/n))^n``. With n = 1 and one ink this is the Murray-Davies formula.

    References
    ----------
    Yule & Nielsen, *TAGA Proc.* 3 (1951) 65-76; Viggiano, *TAGA Proc.* 37 (1985) 647-661; Wyble & Berns,
    *Color Res. Appl.* 25 (2000) 4-19. Cited from memory.

    Checked against
    ---------------
    Murray-Davies for one ink and n = 1; the geometric mean for very large n; the solids themselves.
    """
    weights = demichel_weights(areas)
    return (weights @ solids ** (1.0 / n_factor)) ** n_factor
