"""Every pair of candidates in one finding: difference, interval, margin and call."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def differences(comparison: Comparison, finding: str, *, condition: str = "", width: int = 640) -> Figure:
    """Every pair of candidates in one finding: difference, interval, margin and call."""
    raise NotImplementedError
