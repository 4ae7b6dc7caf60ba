"""How far two readings of one unchanging print lie apart, and how small a change that lets one see.

The mean dE00 of two identical but noisy readings is not 0: distances cannot be negative, and noise adds up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import erf, ndtr

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.colour import delta_e_2000

PATCH_REPEATABILITY = Constant(
    0.1,
    "dE00",
    "mean difference of two immediate readings of a patch, from the short-term repeatability of ordinary "
    "instruments on white; planning value",
    "from memory",
)
OCCASION_SHIFT = Constant(
    0.05,
    "dE00",
    "mean shift that all patches share between readings taken hours apart (calibration, warm-up, placing); "
    "our own judgement, planning value",
    "common practice, no source",
)
LEAST_BELIEVED = Constant(
    0.02, "dE00", "our own judgement: closer re-reads are a file saved twice", "common practice, no source"
)
FEWEST_REREAD = Constant(
    12, "patches", "our own judgement: fewer give no mean worth using", "common practice, no source"
)
# A distance in three equal directions: mean and SD in units of the SD along each (chi with 3 df).
_MEAN_3 = float(2.0 * np.sqrt(2.0 / np.pi))
_SD_3 = float(np.sqrt(3.0 - 8.0 / np.pi))
#: SD over mean of a distance along one direction, the largest any normal scatter has (chi with 1 df).
_WIDEST = float(np.sqrt(0.5 * np.pi - 1.0))
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)
_REACH = 7.0


@dataclass(frozen=True, slots=True)
class Repeatability:
    """How well an instrument says the same again; everything in dE00.

    ``patch`` is the mean difference of two immediate readings of a patch, ``patch_sd`` the SD of that
    difference from patch to patch and time to time; ``shift`` the mean of what all patches move together from
    one occasion to another. ``seen`` is the number of differences ``patch`` was estimated from, 0 where it
    was given. ``source`` says in words where ``patch`` is from; ``planning`` that it is nobody's measurement.
    """

    patch: float
    patch_sd: float
    shift: float
    source: str
    planning: bool = False
    seen: int = 0


def given_repeatability(patch: float, *, shift: float = OCCASION_SHIFT.value) -> Repeatability:
    """Repeatability as a user knows it: the mean dE00 of two readings of one sheet, taken at once.

    Parameters
    ----------
    patch : float
        Mean dE00, above 0.
    shift : float
        Mean dE00 that all patches move together between occasions, 0 or more.

    Returns
    -------
    Repeatability

    Raises
    ------
    BadSetting
        A number that is out of range.

    Checked against
    ---------------
    Simulated readings of the print model, with and without a common shift.
    """
    if not (np.isfinite(patch) and patch > 0.0):
        raise BadSetting(
            f"The instrument's repeatability is {patch} dE00.",
            todo="Give the mean dE00 of two readings of one sheet, above 0, or leave it out.",
        )
    if not (np.isfinite(shift) and shift >= 0.0):
        raise BadSetting(f"The instrument's shift between readings is {shift} dE00.", todo="Give 0 or more.")
    return Repeatability(patch, _WIDEST * patch, shift, "as given")


def planned_repeatability() -> Repeatability:
    """The planning values, for a studio that has not yet read a sheet twice.

    Returns
    -------
    Repeatability
        Marked as ``planning``.

    Checked against
    ---------------
    Nothing; its sources say so.
    """
    patch = PATCH_REPEATABILITY.value
    return Repeatability(patch, _WIDEST * patch, OCCASION_SHIFT.value, "planning value", planning=True)


def seen_repeatability(
    rereads: Sequence[Floats], *, shift: float = OCCASION_SHIFT.value
) -> Repeatability | None:
    """Repeatability from sheets that were read again at once, None where that says too little.

    Immediate re-reads do not show what recalibration and a new day add, so that ``shift`` stays as given.

    Parameters
    ----------
    rereads : sequence of (r, n, 3) array
        Lab of r readings in a row of one unchanged sheet, each sequence of readings by itself.
    shift : float
        Mean dE00 that all patches move together between occasions.

    Returns
    -------
    Repeatability or None
        None for fewer differences than ``FEWEST_REREAD``, and for re-reads too close to be two readings.

    Checked against
    ---------------
    Simulated readings with known scatter.
    """
    apart = [delta_e_2000(labs[:-1], labs[1:]).ravel() for labs in rereads if len(labs) >= 2]
    seen = np.concatenate([*apart, np.empty(0)])
    seen = seen[np.isfinite(seen)]
    if seen.size < FEWEST_REREAD.value or seen.mean() < LEAST_BELIEVED.value:
        return None
    return Repeatability(
        patch=float(seen.mean()),
        patch_sd=float(seen.std(ddof=1)),
        shift=shift,
        source=f"{sum(len(labs) >= 2 for labs in rereads)} immediate re-read(s)",
        seen=int(seen.size),
    )


def agreement_chance(
    mean_de00: float,
    repeatability: Repeatability,
    *,
    patches: int,
    readings: tuple[int, int] = (1, 1),
    change: float = 0.0,
) -> float:
    """Chance that two readings of a print lie no further apart than this, in mean dE00 over patches.

    Parameters
    ----------
    mean_de00 : float
        The mean dE00 asked about.
    repeatability : Repeatability
        Of the instrument.
    patches : int
        Patches averaged over.
    readings : pair of int
        Immediate readings averaged on either occasion.
    change : float
        How far every patch has truly moved, dE00; 0 for a print at rest.

    Returns
    -------
    float
        Probability.

    Notes
    -----
    Close to a colour dE00 is taken as a distance in which noise is the same in every direction. Noise of
    one patch (SD s along each of three directions, mean ``s sqrt(8 / pi)``) then gives a mean distance, at a
    common move g, of ``s (sqrt(2 / pi) exp(-u^2 / 2) + (u + 1 / u) erf(u / sqrt 2))``, u = g / s (the mean of
    a noncentral chi with 3 df); the mean over patches is normal about it. g is the length of the true change
    plus the common shift of two occasions, integrated over by Gauss-Legendre quadrature. Approximations:
    equal noise in all directions (for the mean), patches independent but for the shift, normal from few
    patches on.

    Checked against
    ---------------
    Simulation from the same assumptions, and readings of the print model, which does not share them.
    """
    scale = 0.5 * (1.0 / readings[0] + 1.0 / readings[1])
    moved, weight = _moves(repeatability.shift / _MEAN_3, change)
    noise = repeatability.patch / _MEAN_3 * np.sqrt(scale)
    centre, relative_sd = _distance(moved / noise)
    # The SD in use is that stated; what a move does to it is taken from the distance in three directions.
    sd = repeatability.patch_sd * np.sqrt(scale) * relative_sd / _SD_3
    error = np.sqrt(
        sd**2 / patches + (repeatability.patch_sd**2 / repeatability.seen if repeatability.seen else 0.0)
    )
    return float(np.sum(weight * ndtr((mean_de00 - noise * centre) / error)))


def agreement_limit(
    repeatability: Repeatability,
    *,
    patches: int,
    readings: tuple[int, int] = (1, 1),
    comparisons: int = 1,
    confidence: float = 0.95,
) -> float:
    """Mean dE00 within which two readings of an unchanging print lie, with this confidence.

    Parameters
    ----------
    repeatability, patches, readings
        As for ``agreement_chance``.
    comparisons : int
        Comparisons that shall all agree; each is then allowed the more (Bonferroni).
    confidence : float
        Between 0 and 1.

    Returns
    -------
    float
        In dE00.

    Checked against
    ---------------
    As ``agreement_chance``.
    """
    wanted = 1.0 - (1.0 - confidence) / comparisons
    return _crossing(
        lambda limit: agreement_chance(limit, repeatability, patches=patches, readings=readings) - wanted
    )


def hidden_change(
    limit: float,
    repeatability: Repeatability,
    *,
    patches: int,
    readings: tuple[int, int] = (1, 1),
    chance: float = 0.05,
) -> float:
    """Largest true change of all patches that readings still call agreement, with this chance.

    Parameters
    ----------
    limit : float
        The limit of agreement in use, dE00.
    repeatability, patches, readings
        As for ``agreement_chance``.
    chance : float
        Of missing such a change; with 0.5 it is the change that is missed as often as seen.

    Returns
    -------
    float
        In dE00; 0 where even a print at rest would agree less often than that.

    Checked against
    ---------------
    As ``agreement_chance``.
    """
    return _crossing(
        lambda change: (
            chance - agreement_chance(limit, repeatability, patches=patches, readings=readings, change=change)
        )
    )


def _moves(shift_sd: float, change: float) -> tuple[Floats, Floats]:
    """Lengths of a true change plus a random shift in three directions, and their weights."""
    if shift_sd == 0.0:
        return np.array([change]), np.ones(1)
    low, high = max(0.0, change - _REACH * shift_sd), change + _REACH * shift_sd
    length = 0.5 * (low + high) + 0.5 * (high - low) * _NODES
    r, d = length / shift_sd, change / shift_sd
    if d > 1e-6:
        density = r / d * (np.exp(-0.5 * (r - d) ** 2) - np.exp(-0.5 * (r + d) ** 2))
    else:
        density = 2.0 * r**2 * np.exp(-0.5 * r**2)
    weight = _WEIGHTS * density
    return length, weight / weight.sum()


def _distance(move: Floats) -> tuple[Floats, Floats]:
    """Mean and SD of the length of a unit normal vector in three directions moved by so much."""
    u = np.maximum(move, 1e-4)
    mean = np.sqrt(2.0 / np.pi) * np.exp(-0.5 * u**2) + (u + 1.0 / u) * erf(u / np.sqrt(2.0))
    return mean, np.sqrt(np.maximum(3.0 + u**2 - mean**2, 0.0))


def _crossing(rising: Callable[[float], float]) -> float:
    """Where a rising function of a number from 0 crosses 0, by doubling and bisection."""
    high = 0.05
    while rising(high) < 0.0:
        high *= 2.0
    low = 0.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return high
