"""All figures that a comparison has the numbers for, in reading order."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def every_figure(comparison: Comparison, *, width: int = 640) -> tuple[Figure, ...]:
    """Every figure that can be drawn, in reading order; `NotEnoughData` ones are left out."""
    raise NotImplementedError
