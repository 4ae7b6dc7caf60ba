"""Greatest chroma at every hue, seen from above: one outline per candidate."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def gamut_outlines(comparison: Comparison, *, width: int = 640) -> Figure:
    """Greatest chroma at every hue, seen from above: one outline per candidate."""
    raise NotImplementedError
