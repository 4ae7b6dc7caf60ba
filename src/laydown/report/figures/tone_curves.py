"""Lightness down a ramp from paper to full ink, one line per candidate."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def tone_curves(comparison: Comparison, *, name: str = "neutral", width: int = 640) -> Figure:
    """Lightness down a ramp from paper to full ink, one line per candidate."""
    raise NotImplementedError
