"""Spread: within a sheet, from sheet to sheet, from reading to reading."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.spread import repeat_mcdm, sheet_to_sheet


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
    return found | _readings(sheets)


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
