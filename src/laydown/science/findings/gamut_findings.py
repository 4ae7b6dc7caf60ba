"""Colour range of the sheets of one medium, and the body to draw and to intersect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.gamut_metrics import FIRST_HUE, HUE_SECTORS
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.gamut import DeviceSurface, hue_sector_volumes, hull_triangles, hull_volume, volume
from laydown.science.numeric.known_mean import known_mean

MINIMUM_FOR_HULL = 8


@dataclass(frozen=True, slots=True, eq=False)
class MediumBody:
    """The mean sheet's gamut as a closed mesh: vertices (v, 3), triangles (f, 3), and what kind it is."""

    vertices: Floats
    triangles: Ints
    bound: str
    why: str


def gamut_findings(sheets: Sequence[SheetOnChart], chart: Chart | None) -> dict[str, Found]:
    """Gamut volume and its hue sectors, sheet by sheet.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        The chart they were printed from; None where the files have no device values.

    Returns
    -------
    dict of str to Found
        ``gamut_volume``, and ``gamut_reds`` to ``gamut_magentas`` where the chart has a surface.

    Notes
    -----
    A sheet that lacks a colour of the surface has no volume rather than a wrong one.

    Checked against: volumes of spaces with known limits, through ``laydown.science.gamut``.
    """
    labs = np.stack([sheet.lab for sheet in sheets])
    hulls = np.array([_hull(sheet) for sheet in sheets])
    hull = {"gamut_hull": Found(hulls, detail="upper bound: a hull bridges every dent")}
    if chart is None or not isinstance(chart.surface, DeviceSurface):
        why = "" if chart is None or isinstance(chart.surface, DeviceSurface) else chart.surface.reason
        bound = Found(hulls, note=f"convex hull of all patches, an upper bound. {why}".strip())
        return {"gamut_volume": bound, **hull}
    whole = ~np.isnan(labs[:, chart.surface.vertices]).any(axis=(1, 2))
    values = np.full(len(labs), np.nan)
    sectors = None
    if whole.any():
        values[whole] = volume(labs[whole], chart.surface.triangles)
        sectors = hue_sector_volumes(
            labs[whole], chart.surface.triangles, sectors=len(HUE_SECTORS), start=FIRST_HUE
        )
    note = (
        ""
        if whole.all()
        else f"{int((~whole).sum())} sheet(s) lack a colour of the surface and give no volume"
    )
    found = {"gamut_volume": Found(values, detail="closed surface of the chart", note=note)}
    if sectors is not None:
        for index, name in enumerate(HUE_SECTORS):
            part = np.full(len(labs), np.nan)
            part[whole] = sectors.volume[..., index]
            found[f"gamut_{name}"] = Found(part)
    return found | hull


def medium_body(sheets: Sequence[SheetOnChart], chart: Chart | None) -> MediumBody | None:
    """The gamut of the mean sheet as a mesh; None where there are too few colours to enclose anything.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        The chart they were printed from, or None.

    Returns
    -------
    MediumBody or None

    Notes
    -----
    Checked against: see ``gamut_findings``.
    """
    lab = known_mean([sheet.lab for sheet in sheets])
    if chart is not None and isinstance(chart.surface, DeviceSurface):
        rows = chart.surface.vertices
        if not np.isnan(lab[rows]).any():
            renumber = np.full(len(lab), -1, dtype=np.int64)
            renumber[rows] = np.arange(len(rows))
            return MediumBody(lab[rows], renumber[chart.surface.triangles], "surface", "")
    known = lab[~np.isnan(lab).any(axis=1)]
    if len(np.unique(known, axis=0)) < MINIMUM_FOR_HULL:
        return None
    triangles = hull_triangles(known)
    rows = np.unique(triangles)
    renumber = np.full(len(known), -1, dtype=np.int64)
    renumber[rows] = np.arange(len(rows))
    why = "" if chart is None or isinstance(chart.surface, DeviceSurface) else chart.surface.reason
    return MediumBody(known[rows], renumber[triangles], "hull", why)


def _hull(sheet: SheetOnChart) -> float:
    """Hull of all patches as read, repeats included."""
    lab = sheet.readings[0].lab
    known = lab[~np.isnan(lab).any(axis=1)]
    return float(hull_volume(known)) if len(np.unique(known, axis=0)) >= MINIMUM_FOR_HULL else float("nan")
