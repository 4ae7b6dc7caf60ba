"""What "full" was in a file's device values: 1, 100, 255 or more, told from the values and never silently."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated

_DEEP: Final = (1023.0, 4095.0, 16383.0, 32768.0, 65535.0)
_TODO: Final = "Check that the chart's full colours are in this file; a full chart settles the question."


def find_device_scale(
    device: Floats, *, channels: Sequence[str], file: str, table: str = ""
) -> tuple[Stated[float], list[Problem]]:
    """Find the value that means full light (RGB) or full ink.

    The highest value decides. Where it could belong to two scales, the likelier one is taken and a warning
    says so. Not for files that state their scale (CxF does).

    Parameters
    ----------
    device : (n, k) device values as the file gives them.
    channels : (k) names of the columns.
    file, table : where the values come from, for messages.

    Returns
    -------
    scale : the value of full, and the evidence in words.
    problems : warnings where the values do not settle it.

    Checked against
    ---------------
    Eighteen sets of values, certain and not (``test_device_scale.py``).
    """
    highest = float(np.nanmax(device)) if device.size else 0.0
    rgb = tuple(channels) == ("R", "G", "B")
    kind = "RGB" if rgb else "ink"
    scale, doubt = _rgb_scale(device, highest) if rgb else _ink_scale(highest)
    where = f"the {kind} values: the highest is {highest:g}"
    if not doubt:
        return Stated(scale, where), []
    place = f" in table {table}" if table else ""
    what = f"the highest {kind} value{place} is {highest:g}, so {doubt}; {scale:g} was taken as full."
    return Stated(scale, where + ", not certain"), [Problem("warning", what, todo=_TODO, file=file)]


def _rgb_scale(device: Floats, highest: float) -> tuple[float, str]:
    """Scale of RGB values, and what is doubtful about it."""
    if highest > 100.0:
        return (255.0, "") if highest <= 255.0 else _deep_scale(highest)
    if highest <= 0.0:
        return 255.0, "it cannot be told whether full light is 1, 100 or 255"
    if highest <= 1.0:
        return 1.0, "" if highest == 1.0 else "full light may be 1, or the patches may be nearly black of 255"
    if highest == 100.0:
        white = bool((device == highest).all(axis=-1).any())
        return 100.0, "" if white else "full light may be 100 or 255"
    return 255.0, "full light may be 100 or 255"


def _ink_scale(highest: float) -> tuple[float, str]:
    """Scale of ink values, and what is doubtful about it."""
    if highest in {100.0, 1.0}:
        return highest, ""
    if highest <= 0.0:
        return 100.0, "" if highest == 0.0 else "ink values are below zero"
    if highest < 1.0:
        return 1.0, "full ink may be 1 or 100"
    if highest <= 100.0:
        return 100.0, ""
    if highest <= 255.0:
        return 255.0, "" if highest == 255.0 else "full ink may be 255, or a value is above 100 percent"
    return _deep_scale(highest)


def _deep_scale(highest: float) -> tuple[float, str]:
    """Scale of values beyond eight bits."""
    for full in _DEEP:
        if highest == full:
            return full, ""
    full = next((value for value in _DEEP if value >= highest), highest)
    return full, f"it cannot be told how many steps make full; {full:g} is the next usual number"
