"""The unprinted medium: its white, the brightener in it, and whether it shows what lies behind.

From a 45:0 instrument all of these are indicators to compare media by, not the figures of a paper maker's
data sheet, which are measured in diffuse light with calibrated ultraviolet.
"""

from laydown.science.medium.brightener import Brightener, brightener, brightener_word
from laydown.science.medium.opacity import opacity
from laydown.science.medium.whiteness import (
    Whiteness,
    cie_whiteness,
    cie_whiteness_of_xyz,
    r457,
    yellowness,
)

__all__ = [
    "Brightener",
    "Whiteness",
    "brightener",
    "brightener_word",
    "cie_whiteness",
    "cie_whiteness_of_xyz",
    "opacity",
    "r457",
    "yellowness",
]
