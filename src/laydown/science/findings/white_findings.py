"""The bare medium, sheet by sheet: white, whiteness, yellowness, brightener, opacity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import xyz_from_lab
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.medium import brightener, cie_whiteness, opacity, r457, yellowness
from laydown.science.numeric.known_mean import known_mean

Key = tuple[str, str]


def white_findings(
    sheets: Sequence[SheetOnChart], chart: Chart | None, *, others: Mapping[Key, Sequence[SheetOnChart]]
) -> dict[str, Found]:
    """White and what follows from its spectrum.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        Their chart; where it has no unprinted patch, the lightest colour stands in, and the note says so.
    others
        The same medium's sheets under its other conditions, by (M, backing); a brightener needs M2, opacity
        the other backing.

    Returns
    -------
    dict of str to Found

    Notes
    -----
    Checked against: reference figures of measured charts (``tests/reference``).
    """
    labs = np.stack([sheet.lab for sheet in sheets])
    if np.isnan(labs[..., 0]).all():  # densities only: nothing can be said of a white
        return {}
    stand_in = chart is None or chart.white is None
    row = _lightest(labs) if chart is None or chart.white is None else chart.white
    found = {name: Found(labs[:, row, axis]) for axis, name in enumerate(("white_l", "white_a", "white_b"))}
    found |= _from_spectra(sheets) | _brightener(sheets, others) | _opacity(sheets, row, others)
    if not stand_in:
        return found
    note = "no unprinted patch is named: the lightest one is taken"
    return {
        name: replace(
            item, basis="the lightest patch, as none is named unprinted", note=_and(note, item.note)
        )
        for name, item in found.items()
    }


def _and(*notes: str) -> str:
    return "; ".join(note for note in notes if note)


def _lightest(labs: Floats) -> int:
    return int(np.nanargmax(known_mean(labs[..., 0])))


def _white(sheet: SheetOnChart) -> Floats | None:
    """Spectrum of the unprinted medium, over the readings that share the first one's wavelengths."""
    bands = _bands(sheet)
    spectra = [
        item.white
        for item in sheet.readings
        if item.white is not None
        and item.wavelengths_nm is not None
        and np.array_equal(item.wavelengths_nm, bands)
    ]
    return known_mean(spectra) if spectra else None


def _bands(sheet: SheetOnChart) -> Floats:
    bands = sheet.readings[0].wavelengths_nm
    return np.zeros(0) if bands is None else bands


def _from_spectra(sheets: Sequence[SheetOnChart]) -> dict[str, Found]:
    values = np.full((4, len(sheets)), np.nan)
    outside = ""
    for place, sheet in enumerate(sheets):
        white, bands = _white(sheet), _bands(sheet)
        if white is not None:
            told = cie_whiteness(white, wavelengths_nm=bands)
            outside = outside or told.why
            blue, yellow = r457(white, wavelengths_nm=bands), yellowness(white, wavelengths_nm=bands)
            values[:, place] = [float(told.whiteness), float(told.tint), float(blue), float(yellow)]
    if not np.isfinite(values).any():
        return {}
    return {
        "whiteness_cie": Found(values[0], note=outside),
        "tint_cie": Found(values[1], note=outside),
        "r457": Found(values[2]),
        "yellowness_e313": Found(values[3]),
    }


def _brightener(
    sheets: Sequence[SheetOnChart], others: Mapping[Key, Sequence[SheetOnChart]]
) -> dict[str, Found]:
    """UV-excluded minus UV-included, for the sheets read both ways."""
    condition = sheets[0].readings[0]
    if condition.measurement not in ("M0", "M1"):
        return {}
    without_uv = others.get(("M2", condition.conditions.backing.value or ""), ())
    partner = {sheet.name: sheet for sheet in without_uv}
    shift, blue, words = [], [], []
    for sheet in sheets:
        other = partner.get(sheet.name)
        lit, dark = _white(sheet), None if other is None else _white(other)
        if other is None or lit is None or dark is None or not np.array_equal(_bands(sheet), _bands(other)):
            shift.append(np.nan)
            blue.append(np.nan)
            continue
        told = brightener(lit, dark, wavelengths_nm=_bands(sheet))
        shift.append(float(told.d_b_star))
        blue.append(float(told.d_r457))
        words += [word for word in told.words if word]
    if not words:
        return {}
    detail = f"brightener: {words[0]} (bands are common practice, no source)" if len(set(words)) == 1 else ""
    return {
        "brightener_db": Found(np.array(shift), detail=detail),
        "brightener_dr457": Found(np.array(blue)),
    }


def _opacity(
    sheets: Sequence[SheetOnChart], row: int, others: Mapping[Key, Sequence[SheetOnChart]]
) -> dict[str, Found]:
    """Luminance over black as a percentage of that over white, for the sheets read over both."""
    reading = sheets[0].readings[0]
    if reading.conditions.backing.value != "white":
        return {}
    over_black = {sheet.name: sheet for sheet in others.get((reading.measurement, "black"), ())}
    values = [
        float(opacity(_luminance(over_black[sheet.name], row), _luminance(sheet, row)))
        if sheet.name in over_black
        else np.nan
        for sheet in sheets
    ]
    return {"opacity": Found(np.array(values))} if np.isfinite(values).any() else {}


def _luminance(sheet: SheetOnChart, row: int) -> float:
    return float(xyz_from_lab(sheet.lab[row])[1])
