"""Cuts through the gamuts at chosen lightnesses, side by side."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def gamut_slices(comparison: Comparison, *, levels: tuple[float, ...] = (), width: int = 640) -> Figure:
    """Cuts through the gamuts at chosen lightnesses, side by side."""
    raise NotImplementedError
