"""Colour range of the sheets of one medium, and the body to draw and to intersect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData
from laydown.science.findings.chart import MISSING_ALLOWED, Chart
from laydown.science.findings.found import Found
from laydown.science.findings.gamut_metrics import FIRST_HUE, HUE_SECTORS
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.gamut import (
    DeviceSurface,
    device_surface,
    hue_sector_volumes,
    hull_triangles,
    hull_volume,
    volume,
)
from laydown.science.numeric.known_mean import known_mean

MINIMUM_FOR_HULL = 8
BARE_FACE = Constant(
    0.99, "of full scale", "a triangle's side as long as the face: nothing lies between corners", "computed"
)
CORNERS_ONLY = (
    "from solid colours alone, about a tenth too small; only for media read in the same few colours"
)


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
    A sheet that lacks a colour or two of the surface is triangulated without them; one that lacks more, or a
    corner, has no volume rather than a wrong one. A chart of corners alone gives a volume that is about a
    tenth too small (sRGB: 742 459 from its corners, 833 248 in full), which its note says, and no sectors.

    Checked against: volumes of spaces with known limits, through ``laydown.science.gamut``.
    """
    labs = np.stack([sheet.lab for sheet in sheets])
    hulls = np.array([_hull(sheet) for sheet in sheets])
    hull = {"gamut_hull": Found(hulls, detail="upper bound: a hull bridges every dent")}
    if chart is None or not isinstance(chart.surface, DeviceSurface):
        why = "" if chart is None or isinstance(chart.surface, DeviceSurface) else chart.surface.reason
        note = f"convex hull of all patches, an upper bound. {why}".strip()
        bound = Found(hulls, note=note, basis="a convex hull")
        return {"gamut_volume": bound, **hull}
    volumes, sectors = _volumes(labs, chart, chart.surface)
    lost = int(np.isnan(volumes).sum())
    note = f"{lost} sheet(s) lack too many colours of the surface and give no volume" if lost else ""
    if chart.surface.longest_edge > BARE_FACE.value:
        note = "; ".join(part for part in (CORNERS_ONLY, note) if part)
        return {"gamut_volume": Found(volumes, detail="from the corners of the chart", note=note), **hull}
    found = {"gamut_volume": Found(volumes, detail="closed surface of the chart", note=note)}
    found |= {f"gamut_{name}": Found(sectors[:, index]) for index, name in enumerate(HUE_SECTORS)}
    return found | hull


def _volumes(labs: Floats, chart: Chart, surface: DeviceSurface) -> tuple[Floats, Floats]:
    """Volume (s,) and its hue sectors (s, 6), whole sheets together and the others one by one."""
    volumes = np.full(len(labs), np.nan)
    sectors = np.full((len(labs), len(HUE_SECTORS)), np.nan)
    known: Bools = np.asarray(np.isfinite(labs).all(axis=-1))
    whole = known[:, surface.vertices].all(axis=1)
    groups = [(np.flatnonzero(whole), np.arange(labs.shape[1]), surface.triangles)] if whole.any() else []
    for sheet in np.flatnonzero(~whole):
        rows = np.flatnonzero(known[sheet])
        missing = int((~known[sheet, surface.vertices]).sum())
        if missing > float(MISSING_ALLOWED) * len(surface.vertices):
            continue
        # The surface without a colour or two, triangulated anew, is within 0.03 % (see methods, gamut).
        mended = device_surface(chart.device[rows], channels=chart.channels)
        if mended is not None:
            groups.append((np.array([sheet]), rows, mended.triangles))
    for sheets, rows, triangles in groups:
        taken = labs[np.ix_(sheets, rows)]
        volumes[sheets] = volume(taken, triangles)
        told = hue_sector_volumes(taken, triangles, sectors=len(HUE_SECTORS), start=FIRST_HUE)
        sectors[sheets] = told.volume
    return volumes, sectors


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
    try:
        triangles = hull_triangles(known)
    except NotEnoughData:  # a ramp of greys, say, encloses nothing
        return None
    rows = np.unique(triangles)
    renumber = np.full(len(known), -1, dtype=np.int64)
    renumber[rows] = np.arange(len(rows))
    why = "" if chart is None or isinstance(chart.surface, DeviceSurface) else chart.surface.reason
    return MediumBody(known[rows], renumber[triangles], "hull", why)


def _hull(sheet: SheetOnChart) -> float:
    """Hull of all patches as read, repeats included; NaN where they enclose nothing."""
    lab = sheet.readings[0].lab
    known = lab[~np.isnan(lab).any(axis=1)]
    if len(np.unique(known, axis=0)) < MINIMUM_FOR_HULL:
        return float("nan")
    try:
        return float(hull_volume(known))
    except NotEnoughData:
        return float("nan")
