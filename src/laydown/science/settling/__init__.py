"""How a print changes in the hours after printing, and when it has stopped changing.

``drift_curve`` sets several readings of one sheet against one another; ``Repeatability`` is the yardstick:
how far two readings of an unchanging print lie apart.
"""

from __future__ import annotations

from laydown.science.settling.drift import Apart, DriftCurve, drift_curve
from laydown.science.settling.repeatability import (
    Repeatability,
    agreement_chance,
    agreement_limit,
    given_repeatability,
    hidden_change,
    planned_repeatability,
    seen_repeatability,
)
from laydown.science.settling.verdict import Settling, settle

__all__ = [
    "Apart",
    "DriftCurve",
    "Repeatability",
    "Settling",
    "agreement_chance",
    "agreement_limit",
    "drift_curve",
    "given_repeatability",
    "hidden_change",
    "planned_repeatability",
    "seen_repeatability",
    "settle",
]
