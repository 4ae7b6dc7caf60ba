"""One candidate against the house medium in every judged finding, in units of the margin."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def house_differences(comparison: Comparison, candidate: str, *, width: int = 640) -> Figure:
    """One candidate against the house medium in every judged finding, in units of the margin."""
    raise NotImplementedError
