"""Where the steps between none and full are placed."""

from __future__ import annotations

import itertools

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.patch_set import FULL_CODE

#: The level that every list of three or more has. The control strip's tints are of this level and no other,
#: so that adding the strip to a surface leaves the faces full grids.
MIDDLE_CODE = 128
SURFACE_BEND = Constant(
    0.3,
    "of the even step",
    "gamut volume near the truth on simulated and on measured prints, benchmarks/compare_patch_sets.py",
    "computed",
)
NEUTRAL_BEND = Constant(
    0.6,
    "of the even step",
    "our own choice: steps near black and white less than half the even ones",
    "computed",
)

NARROWEST_GAP = Constant(
    3, "codes of 255", "our own choice: closer steps of a ramp cannot be told apart in print", "computed"
)


def placed_levels(count: int, *, bend: float = SURFACE_BEND.value, light: bool = True) -> Ints:
    """Levels from none to full, closer together at both ends than in the middle.

    Prints bend most where a colour leaves the paper and where it nears full ink; in between they run nearly
    straight. Not for judging a single medium, whose own bends are better known once it is measured.

    Parameters
    ----------
    count : 2 or more
    bend : how much shorter the first and last step are than an even one: 0 for even steps, below 1
    light : whether the levels are light (RGB) or ink; only where the extra step of an even count falls

    Returns
    -------
    (count,) whole numbers 0-255, ascending

    Raises
    ------
    BadSetting
        if there are fewer than two, or more than fit between 0 and 255.

    Notes
    -----
    ``y = x - bend sin(2 pi x) / (2 pi)``. One level is always ``MIDDLE_CODE``; of an even count the half
    nearer the bare paper gets the extra step, since light tints are seen best.

    Checked against
    ---------------
    Ends, order and symmetry for every count that is possible.
    """
    if count < 2 or not 0.0 <= bend < 1.0:
        raise BadSetting(
            f"{count} levels with a bend of {bend:g} cannot be placed.", todo="Ask for 2 or more."
        )
    below = (count - 1) // 2
    above = count - 1 - below
    low = np.linspace(0.0, 0.5, below + 1)[:-1] if below else np.zeros(1)
    high = np.linspace(0.5, 1.0, above + 1) if below else np.ones(1)
    x = np.concatenate([low, high])
    codes = np.floor(FULL_CODE * (x - bend * np.sin(2.0 * np.pi * x) / (2.0 * np.pi)) + 0.5).astype(np.int64)
    codes[x == 0.5] = MIDDLE_CODE
    if not light:
        codes = FULL_CODE - codes[::-1]
        codes[codes == FULL_CODE - MIDDLE_CODE] = MIDDLE_CODE
    if (np.diff(codes) < 1).any():
        raise BadSetting(f"{count} levels do not fit between 0 and {FULL_CODE}.", todo="Ask for fewer.")
    return codes


def refined_levels(given: Ints, count: int, *, bend: float) -> Ints:
    """Levels that are there already and more between them, the widest gaps first.

    For a ramp that shares steps with other patches: no step comes to lie right beside another.

    Parameters
    ----------
    given : whole numbers 0-255; ends that are missing are put in
    count : how many levels in all
    bend : as for ``placed_levels``: what a gap counts for depends on where it is

    Returns
    -------
    ascending whole numbers 0-255 that hold all that were given; fewer than ``count`` where gaps of
    ``NARROWEST_GAP`` would be cut, more where more were given

    Checked against
    ---------------
    Steps nested from one count to the next; no gap narrower than stated.
    """
    codes = sorted({0, FULL_CODE, *(int(code) for code in given)})
    x = np.linspace(0.0, 1.0, 10 * FULL_CODE + 1)
    place = np.interp(
        np.arange(FULL_CODE + 1) / FULL_CODE, x - bend * np.sin(2.0 * np.pi * x) / (2.0 * np.pi), x
    )
    while len(codes) < count:
        wide = [
            (place[high] - place[low], -low, high)
            for low, high in itertools.pairwise(codes)
            if high - low >= 2 * NARROWEST_GAP.value
        ]
        if not wide:
            break
        _, low, high = max(wide)
        middle = (place[-low] + place[high]) / 2.0
        inside = np.arange(-low + int(NARROWEST_GAP.value), high - int(NARROWEST_GAP.value) + 1)
        codes.append(int(inside[np.argmin(np.abs(place[inside] - middle))]))
        codes.sort()
    return np.array(codes, dtype=np.int64)
