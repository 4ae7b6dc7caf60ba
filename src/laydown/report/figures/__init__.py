"""Figures of a comparison: each function takes the one result and returns a `Figure`.

A figure whose numbers are not there raises `NotEnoughData`; `every_figure` leaves such figures out.
Medium is told from medium by line dash, point shape and a label beside the line: colour is only ever a
measured colour.
"""

from __future__ import annotations

from laydown.report.figures.differences import differences
from laydown.report.figures.every_figure import every_figure
from laydown.report.figures.figure import Figure, figure_csv, figure_png, figure_svg
from laydown.report.figures.gamut_3d import gamut_3d
from laydown.report.figures.gamut_outlines import gamut_outlines
from laydown.report.figures.gamut_slices import gamut_slices
from laydown.report.figures.grey_balance import grey_balance
from laydown.report.figures.house_differences import house_differences
from laydown.report.figures.intervals import intervals
from laydown.report.figures.patch_map import patch_map
from laydown.report.figures.tone_curves import tone_curves
from laydown.report.figures.white_and_brightener import white_and_brightener

__all__ = [
    "Figure",
    "differences",
    "every_figure",
    "figure_csv",
    "figure_png",
    "figure_svg",
    "gamut_3d",
    "gamut_outlines",
    "gamut_slices",
    "grey_balance",
    "house_differences",
    "intervals",
    "patch_map",
    "tone_curves",
    "white_and_brightener",
]
