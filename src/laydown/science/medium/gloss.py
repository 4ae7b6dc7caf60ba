"""Gloss of a sheet: which angles there are, what a meter can show, repeats, and paper against ink."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant

# What each angle is laid down in; which standard names which angle is from memory.
ANGLES: Mapping[int, str] = MappingProxyType(
    {
        20: "ISO 2813; ASTM D523",
        45: "ASTM D2457",
        60: "ISO 2813; ASTM D523",
        75: "ISO 8254-1",
        85: "ISO 2813; ASTM D523",
    }
)
HIGHEST = Constant(2000.0, "GU", "polished metal at 20 degrees reaches about this; ISO 2813", "from memory")
SEMI_GLOSS = (
    Constant(10.0, "GU at 60 degrees", "below it 85 degrees; ISO 2813, ASTM D523", "from memory"),
    Constant(70.0, "GU at 60 degrees", "above it 20 degrees; ISO 2813, ASTM D523", "from memory"),
)
STEP = Constant(0.1, "GU", "last digit of ordinary gloss meters", "common practice, no source")
LEAST_MARGIN = Constant(1.0, "GU", "our own judgement: meters repeat no better", "common practice, no source")
MARGIN_SHARE = Constant(0.1, "of the value", "our own judgement", "common practice, no source")


@dataclass(frozen=True, slots=True)
class Repeats:
    """Repeated readings at one place of one sheet: their mean and spread (GU), and how many.

    ``sd`` is NaN where there is one.
    """

    mean: float
    sd: float
    n: int


def repeats_of(values: ArrayLike) -> Repeats:
    """The mean of repeated readings at one place, and how far they scatter.

    The scatter of repeats tells of meter, hand and texture. It says nothing of how sheets differ, so it never
    goes into the interval of a medium: for that, hand one mean per sheet to ``laydown.science.deciding``.

    Parameters
    ----------
    values : (n,) array
        Gloss units, all at one angle; NaN is left out and not counted.

    Returns
    -------
    Repeats
        In gloss units; NaN where nothing was read.

    Notes
    -----
    Standard deviation with n - 1.

    Checked against
    ---------------
    Worked by hand: 24, 25, 29 have mean 26 and standard deviation sqrt(7).
    """
    read = np.asarray(values, dtype=np.float64).ravel()
    read = read[np.isfinite(read)]
    mean = float(read.mean()) if read.size else float("nan")
    return Repeats(mean, float(read.std(ddof=1)) if read.size > 1 else float("nan"), read.size)


def gloss_differential(paper_white: ArrayLike, black: ArrayLike) -> Floats:
    """Gloss of the bare medium less that of full black, sheet by sheet: our own simple definition.

    Above 0 the whites are shinier than what is inked, below 0 duller: what an eye sees as gloss differential
    when it tilts a print. Not for readings at unlike angles, and blind to bronzing, which is a matter of
    colour. No standard defines it; another place than black may jump more.

    Parameters
    ----------
    paper_white, black : (n,) array
        Gloss units at one angle, the same sheets in the same order.

    Returns
    -------
    (n,) array
        Gloss units; NaN where either is.

    Checked against
    ---------------
    Worked by hand: 31.0 and 24.5 give +6.5.
    """
    return np.asarray(paper_white, dtype=np.float64) - np.asarray(black, dtype=np.float64)


def fitting_angle(gloss_at_60: float) -> int:
    """The angle at which prints of this gloss are told apart best.

    The scale at 60 degrees is narrow for very matte and for very glossy surfaces. A first reading at 60 says
    where to go on; a value at one angle cannot be turned into one at another.

    Parameters
    ----------
    gloss_at_60 : float
        Gloss units at 60 degrees.

    Returns
    -------
    int
        20, 60 or 85 degrees.

    Notes
    -----
    The common rule of ISO 2813 and ASTM D523, from memory: 20 above 70 GU, 85 below 10 GU, else 60.

    Checked against
    ---------------
    The rule at both of its limits.
    """
    low, high = SEMI_GLOSS
    if gloss_at_60 > float(high):
        return 20
    return 85 if gloss_at_60 < float(low) else 60


def gloss_margin(level: float) -> float:
    """The smallest difference in gloss that matters at a level of gloss: our own judgement, no source.

    A tenth of the level, and never less than 1 GU, at any angle. Not a limit of visibility.

    Parameters
    ----------
    level : float
        Gloss of the medium that others are held against, in gloss units.

    Returns
    -------
    float
        Gloss units.

    Checked against
    ---------------
    Worked by hand: 3 GU give 1, 30 GU give 3.
    """
    return max(float(LEAST_MARGIN), float(MARGIN_SHARE) * abs(level))
