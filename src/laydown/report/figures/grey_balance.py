"""Colour cast of the neutral ramp: a* and b* against L*, one line per candidate."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def grey_balance(comparison: Comparison, *, width: int = 640) -> Figure:
    """Colour cast of the neutral ramp: a* and b* against L*, one line per candidate."""
    raise NotImplementedError
