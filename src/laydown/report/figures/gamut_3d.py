"""Two gamut bodies for a page that can turn them: plain numbers, no drawing library."""

from __future__ import annotations

from typing import Any

from laydown.usecases.comparison import Comparison


def gamut_3d(comparison: Comparison, candidate: str, *, other: str = "") -> dict[str, Any]:
    """``{"data": [...], "layout": {...}}`` for ``Plotly.newPlot``; ``other`` is a candidate or reference body."""
    raise NotImplementedError
