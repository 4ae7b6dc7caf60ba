"""What a kind of finding is: its unit, source, margin and preference."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.kernel.preference import Preference

Family = Literal["white", "black", "gamut", "tone", "spread"]
FAMILY_TITLES: dict[str, str] = {
    "white": "The bare medium",
    "black": "Black",
    "gamut": "Colour range",
    "tone": "Tone",
    "spread": "Spread",
}


@dataclass(frozen=True, slots=True)
class Metric:
    """One kind of finding.

    ``margin`` is the smallest difference that matters; with ``margin_is_relative`` it is a fraction of the
    reference medium's value. ``resolution`` is the smallest step the number can take or an ordinary
    instrument can tell; spread below it is not believed. ``needs_same_chart``: media measured on different
    charts are not compared in it. ``judged``: differences in it are called.
    ``at_least`` is the smallest value it can have; an interval stops there. ``echoes`` names a finding that
    says much the same: where that one is told apart, a summary leaves this one out.
    """

    id: str
    label: str
    family: Family
    unit: str
    decimals: int
    method: str
    source: str
    preference: Preference = "none"
    margin: Constant | None = None
    margin_is_relative: bool = False
    resolution: float = 0.0
    needs_same_chart: bool = False
    judged: bool = True
    colorimetry: str = "D50/2°"
    at_least: float = -math.inf
    echoes: str = ""


def practice(value: float, unit: str) -> Constant:
    """A margin that is common practice and has no source.

    Parameters
    ----------
    value, unit
        The margin.

    Returns
    -------
    Constant

    Notes
    -----
    Checked against: nothing; that is what it says.
    """
    return Constant(value, unit, "common practice, no source", "common practice, no source")


# The last digit an ordinary instrument's file gives, or its short-term repeatability on paper (about 0.1
# dE00, from memory): identical readings do not mean a spread of nothing.
LAB_STEP = 0.05
DENSITY_STEP = 0.005
