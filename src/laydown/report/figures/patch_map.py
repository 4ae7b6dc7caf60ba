"""Every patch of one sheet in its measured colour; suspicious patches carry a mark."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def patch_map(
    comparison: Comparison, candidate: str, *, sheet: str = "", condition: str = "", width: int = 640
) -> Figure:
    """Every patch of one sheet in its measured colour; suspicious patches carry a mark."""
    raise NotImplementedError
