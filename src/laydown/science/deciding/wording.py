"""Plain sentences for calls and assumptions; no word of printing but the sheet, which is the unit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Bools
from laydown.science.deciding.pairs import SPREAD_RATIO
from laydown.science.deciding.spreads import OWN_SPREAD_FROM, Spreads
from laydown.science.deciding.types import Call, Quantity

_CHANCE = "Chance alone could make a difference this large"
_NOT_ENOUGH = (
    "Taken alone it looks real, but with every comparison of the trial counted "
    "chance could still be behind it"
)


def reason(
    call: Call,
    *,
    names: tuple[str, str],
    counts: tuple[int, int],
    spread_known: bool,
    real: bool,
    clear: bool,
    beyond: bool,
    quantity: Quantity,
    sheets: int | None,
) -> str:
    """Why this call and no other, in one or two sentences.

    Parameters
    ----------
    call : str
        The call.
    names, counts : pair
        The two candidates and their sheets.
    spread_known : bool
        Whether the difference has a standard error.
    real : bool
        Whether the difference is real.
    clear : bool
        Whether its ordinary interval leaves out zero.
    beyond : bool
        Whether its ordinary interval lies wholly beyond the margin.
    quantity : Quantity
        For margin and unit.
    sheets : int or None
        Sheets per candidate that would settle it.

    Returns
    -------
    str
        The sentence.

    Checked against
    ---------------
    A judgement of each kind, in the tests.
    """
    if call == "same":
        margin = f"{quantity.margin:g} {quantity.unit}".strip()
        if real:
            return f"A real but small difference, inside the margin that matters ({margin})."
        return f"The difference is surely smaller than the margin that matters ({margin})."
    if call != "cannot_tell":
        return "The difference is larger than chance allows, after counting every comparison made."
    return (
        _missing(names, counts, spread_known)
        or f"{_undecided(quantity, clear=clear, beyond=beyond)} {_more(sheets)}"
    )


def _missing(names: tuple[str, str], counts: tuple[int, int], spread_known: bool) -> str:
    """What is lacking for any test, or an empty string."""
    for name, count in zip(names, counts, strict=True):
        if count == 0:
            return f"No sheet of {name} has this number."
        if count == 1:
            return f"{name}: one sheet: nothing can be said about spread; print at least two more."
    if not spread_known:
        return (
            "Every sheet gave exactly the same number and no resolution is stated, so nothing can be said "
            "about spread; check that the files are not copies of one another."
        )
    return ""


def _undecided(quantity: Quantity, *, clear: bool, beyond: bool) -> str:
    """What the two tests left open."""
    if beyond:
        return (
            "Larger than the margin on these sheets, but so few sheets do not show how much such a medium "
            "varies, and with every comparison of the trial counted that is not certain enough to call."
        )
    chance = _NOT_ENOUGH if clear else _CHANCE
    if quantity.margin is None:
        return f"{chance}; no margin is set, so nothing can be called the same."
    return f"{chance}, and it may also be larger than the margin that matters."


def _more(sheets: int | None) -> str:
    """How many sheets might settle it."""
    if sheets is None:
        return "No practical number of sheets would settle it if difference and spread stay as seen."
    return f"About {sheets} sheets of each would settle it if difference and spread stay as seen."


def assumption(names: Sequence[str], found: Spreads, quantity: Quantity) -> str:
    """How the spread was got and checked, in a sentence or two.

    Parameters
    ----------
    names : sequence of str
        Candidates.
    found : Spreads
        Their spreads, not stacked.
    quantity : Quantity
        For its resolution.

    Returns
    -------
    str
        The sentences.

    Checked against
    ---------------
    A judgement of each kind, in the tests.
    """
    if not np.any(found.variance > 0):
        return "No spread between sheets is known, so no interval or call can be given."
    own_from = int(OWN_SPREAD_FROM.value)
    wide = _named(names, found.too_wide)
    single = found.n < 2
    if (found.shares | single).all():
        said = "One spread between sheets is used for all candidates."
    elif found.shares.any():
        said = f"{_named(names, found.shares)} share one spread between sheets; the rest use their own."
    else:
        said = "Each candidate uses its own spread between sheets."
    if wide:
        said += f" {wide} varied too much to share a spread with the rest."
    elif np.isfinite(found.check_p):
        p = float(found.check_p)
        said += f" No candidate varied too much for the rest (largest-variance test, p = {p:.2g})."
    if found.shares.any():
        said += (
            f" With fewer than {own_from} sheets that cannot be seen well, so calls allow for one candidate"
            f" varying {SPREAD_RATIO.value:g} times as much as another."
        )
    return said + _raised(names, found, quantity)


def _named(names: Sequence[str], chosen: Bools) -> str:
    """The chosen names in a row."""
    return ", ".join(name for name, flag in zip(names, chosen, strict=True) if flag)


def _raised(names: Sequence[str], found: Spreads, quantity: Quantity) -> str:
    """Which spreads were raised to the resolution, or left out."""
    raised, alike = _named(names, found.floored), _named(names, found.alike)
    said = ""
    if raised:
        said += (
            f" The spread of {raised} was raised to what the resolution"
            f" ({quantity.resolution:g} {quantity.unit}) can hide."
        )
    if alike:
        said += f" All sheets of {alike} gave the same number, which is no evidence of a small spread."
    return said
