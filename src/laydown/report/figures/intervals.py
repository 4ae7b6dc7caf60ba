"""One finding: dot and interval per candidate, band of the margin around the house medium."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def intervals(comparison: Comparison, finding: str, *, condition: str = "", width: int = 640) -> Figure:
    """One finding: dot and interval per candidate, band of the margin around the house medium."""
    raise NotImplementedError
