"""Paper white in the a*b* plane with UV (M1) and without (M2), an arrow between."""

from __future__ import annotations

from laydown.report.figures.figure import Figure
from laydown.usecases.comparison import Comparison


def white_and_brightener(comparison: Comparison, *, width: int = 640) -> Figure:
    """Paper white in the a*b* plane with UV (M1) and without (M2), an arrow between."""
    raise NotImplementedError
