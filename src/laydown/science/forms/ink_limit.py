"""How much ink a medium takes: patches beyond it are not printed, or are brought back to it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Bools, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.patch_set import FULL_CODE, PatchSet, is_light

LEAST_LIMIT = Constant(
    1.0, "full inks", "our own choice: below it not even one ink could be shown full", "computed"
)


def beyond_limit(codes: Ints, ink_limit: float, *, channels: Sequence[str]) -> Bools:
    """Which colours ask for more ink than a limit allows.

    Parameters
    ----------
    codes : (n, k) whole numbers 0-255
    ink_limit : largest sum of inks, 1 for one full ink: 3 is what printers call 300 %
    channels : names of the k channels

    Returns
    -------
    (n,) bool

    Raises
    ------
    BadSetting
        for RGB, whose inks the driver decides, and for a limit below one full ink.

    Checked against
    ---------------
    Sums at, above and below the limit.
    """
    if is_light(channels):
        raise BadSetting(
            "an RGB form has no ink limit of its own: the driver decides how much ink a colour gets.",
            todo="Set the limit in the driver, or make the form in inks.",
        )
    if not ink_limit >= LEAST_LIMIT.value:
        raise BadSetting(
            f"with an ink limit of {100.0 * ink_limit:g} % no ink could be printed full.",
            todo="Give the sum of all inks, such as 3 for 300 %.",
        )
    # Codes are whole numbers: a hair of room keeps 2.4 from refusing 240 % for its rounding.
    return np.asarray(codes.sum(axis=1) > FULL_CODE * ink_limit + 1e-6)


def held_to_limit(patches: PatchSet, ink_limit: float | None) -> PatchSet:
    """A set whose colours beyond the limit are brought back to it, each colour once.

    Black keeps its amount and the others give way alike, as a driver would do it: the hue stays. For lists
    that are chosen to fill a space; a colour that somebody asked for is refused and never altered.

    Parameters
    ----------
    patches : PatchSet
    ink_limit : as for ``beyond_limit``; None for no limit

    Returns
    -------
    PatchSet of the same roles; colours that fall together remain where they first come

    Raises
    ------
    BadSetting
        as ``beyond_limit``.

    Checked against
    ---------------
    No sum beyond the limit, black untouched, nothing changed below it.
    """
    if ink_limit is None:
        return patches
    codes = patches.codes.copy()
    over = beyond_limit(codes, ink_limit, channels=patches.channels)
    codes[over] = _held(codes[over], ink_limit, patches.channels)
    _, first = np.unique(codes, axis=0, return_index=True)
    rows = np.sort(first)
    return PatchSet(patches.channels, codes[rows], tuple(patches.roles[row] for row in rows))


def _held(codes: Ints, ink_limit: float, channels: tuple[str, ...]) -> Ints:
    black = np.array([name == "K" for name in channels])
    kept = codes[:, black].sum(axis=1)
    others = codes[:, ~black].sum(axis=1)
    share = np.clip((FULL_CODE * ink_limit - kept) / np.maximum(others, 1), 0.0, 1.0)
    # Rounded down, so that the sum never passes the limit by rounding.
    given = np.floor(codes * share[:, None] + 1e-9).astype(np.int64)
    return np.where(black, codes, given)
