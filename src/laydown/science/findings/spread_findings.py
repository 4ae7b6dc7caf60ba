"""Spread: within a sheet, from sheet to sheet, from reading to reading."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.spread import repeat_mcdm, sheet_to_sheet, variance_components


def spread_findings(sheets: Sequence[SheetOnChart], chart: Chart | None) -> dict[str, Found]:
    """How much repeats of a colour differ on a sheet, sheets from each other, and readings of one sheet.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        Their chart; without device values repeats on a sheet cannot be known.

    Returns
    -------
    dict of str to Found

    Notes
    -----
    Checked against: see ``laydown.science.spread``.
    """
    found: dict[str, Found] = {}
    if chart is not None:
        found |= _repeats(sheets)
    if len(sheets) > 1:
        between = sheet_to_sheet(np.stack([sheet.lab for sheet in sheets]))
        detail = f"over {len(sheets)} sheets"
        for name, value in (("", between.mean), ("_p95", between.p95), ("_max", between.max)):
            values = np.full(len(sheets), float(value))
            found[f"sheet_spread{name}"] = Found(values, detail=detail, of_medium=True)
    return found | _readings(sheets) | _components(sheets)


def _repeats(sheets: Sequence[SheetOnChart]) -> dict[str, Found]:
    told = [repeat_mcdm(sheet.readings[0].lab, groups=sheet.places[0]) for sheet in sheets]
    if not any(item.repeats for item in told):
        return {}
    detail = f"{told[0].groups} colours repeated, {told[0].repeats} patches"
    return {
        "repeat_mcdm": Found(np.array([item.mean for item in told]), detail=detail),
        "repeat_p95": Found(np.array([item.p95 for item in told]), detail=detail),
        "repeat_max": Found(np.array([item.max for item in told]), detail=detail),
    }


def _readings(sheets: Sequence[SheetOnChart]) -> dict[str, Found]:
    """Repeated readings of one sheet, patch by patch, where a sheet was read more than once."""
    values = np.full(len(sheets), np.nan)
    for index, sheet in enumerate(sheets):
        labs = [reading.lab for reading in sheet.readings]
        if len(labs) > 1 and all(np.array_equal(place, sheet.places[0]) for place in sheet.places):
            values[index] = float(sheet_to_sheet(np.stack(labs)).mean)
    if not np.isfinite(values).any():
        return {}
    return {"reading_spread": Found(values, detail="repeated readings of a sheet, patch by patch")}


def _components(sheets: Sequence[SheetOnChart]) -> dict[str, Found]:
    """Spread of the repeated colours split into sheets, places on a sheet, and readings."""
    labs, groups = _aligned(sheets)
    if not groups.size or len(sheets) < 2:
        return {}
    told = variance_components(labs, groups=groups)
    readings = labs.shape[1]
    shares = {"component_sheet": told.sheet, "component_place": told.place, "component_reading": told.reading}
    found = {}
    for name, share in shares.items():
        if np.isfinite(share.mean):
            detail = (
                f"{share.colours} repeated colours; 95th percentile {share.p95:.3f}, largest {share.max:.3f}"
            )
            if name == "component_place" and readings == 1:
                detail += "; holds the reading too, as nothing was read twice"
            found[name] = Found(np.full(len(sheets), share.mean), detail=detail, of_medium=True)
    return found


def _aligned(sheets: Sequence[SheetOnChart]) -> tuple[Floats, Ints]:
    """Repeated colours of all sheets and readings side by side, (s, r, n, 3), and which colour each is (n,).

    Sheets may hold their patches in different orders, and one may have lost some: gaps are NaN.
    """
    counts = np.stack([np.bincount(s.places[0][s.places[0] >= 0], minlength=len(s.lab)) for s in sheets])
    slots = counts.max(axis=0)
    slots[slots < 2] = 0
    groups = np.repeat(np.arange(slots.size), slots)
    starts = np.cumsum(slots) - slots
    most = max(len(sheet.readings) for sheet in sheets)
    labs = np.full((len(sheets), most, groups.size, 3), np.nan)
    for s, sheet in enumerate(sheets):
        for r, (reading, place) in enumerate(zip(sheet.readings, sheet.places, strict=True)):
            order = np.argsort(place, kind="stable")
            order = order[(place[order] >= 0) & (slots[place[order]] > 0)]
            colour = place[order]
            nth = np.arange(colour.size) - np.searchsorted(colour, colour)
            kept = nth < slots[colour]
            labs[s, r, starts[colour[kept]] + nth[kept]] = reading.lab[order[kept]]
    return labs, groups
