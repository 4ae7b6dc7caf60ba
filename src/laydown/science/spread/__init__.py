"""How evenly a medium prints: inside a sheet, from sheet to sheet, from reading to reading.

Colour distances from the mean (MCDM) and variance components, from arrays of Lab.
"""

from __future__ import annotations

from laydown.science.spread.components import Share, SpreadComponents, variance_components
from laydown.science.spread.mcdm import (
    PatchSpread,
    RepeatSpread,
    distances,
    mcdm,
    repeat_mcdm,
    sheet_to_sheet,
)

__all__ = [
    "PatchSpread",
    "RepeatSpread",
    "Share",
    "SpreadComponents",
    "distances",
    "mcdm",
    "repeat_mcdm",
    "sheet_to_sheet",
    "variance_components",
]
