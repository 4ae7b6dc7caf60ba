"""Black, sheet by sheet: the darkest colour is found, not assumed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.findings.reduction import ABOVE_PAPER
from laydown.science.numeric.known_mean import known_mean
from laydown.science.tone import darkest

HOOK = Constant(0.02, "D", "smallest hook worth a remark", "common practice, no source")
FEWEST_FOR_HOOK = Constant(
    20, "colours", "our own choice: with fewer nothing stands beside full ink to be darker", "computed"
)


@dataclass(frozen=True, slots=True, eq=False)
class _Blacks:
    """Black of each sheet: lab (s, 3), visual (s,), status_t (s, 3), and which patch it is, in words."""

    lab: Floats
    visual: Floats
    status_t: Floats
    words: str


def black_findings(sheets: Sequence[SheetOnChart], chart: Chart | None) -> dict[str, Found]:
    """Lightness, chroma and densities of the darkest colour, and the ink-limit hook.

    With several sheets the darkest colour is chosen once for the medium, from the mean of its sheets and
    repeats: choosing it sheet by sheet would let noise pick the darkest reading, and flatter the medium whose
    sheets scatter most. With one sheet nothing is called, and the darkest single patch is shown as read.
    Files that hold densities alone give densities alone; those read above the paper give no absolute one.

    Parameters
    ----------
    sheets
        Sheets of one medium under one condition.
    chart
        Their chart, or None where the files have no device values.

    Returns
    -------
    dict of str to Found

    Notes
    -----
    Checked against: reference figures of measured charts (``tests/reference``).
    """
    visual = np.stack([sheet.visual for sheet in sheets])
    row, full = _darkest(np.stack([_ranking(item.lab, item.visual, item.status_t) for item in sheets]), chart)
    blacks = _single_patch(sheets[0], chart) if len(sheets) == 1 else _mean_colour(sheets, chart, row)
    basis = sheets[0].readings[0].visual_from
    found = {}
    if np.isfinite(blacks.lab).any():
        found["black_l"] = Found(blacks.lab[:, 0], detail=blacks.words)
        found["black_c"] = Found(np.hypot(blacks.lab[:, 1], blacks.lab[:, 2]), detail=blacks.words)
    if basis != ABOVE_PAPER:
        found["dmax_visual"] = Found(blacks.visual, detail=blacks.words, note=_from(sheets), basis=basis)
    paper = None if chart is None or chart.white is None else visual[:, chart.white]
    above = blacks.visual if basis == ABOVE_PAPER else None if paper is None else blacks.visual - paper
    if above is not None:
        found["dmax_over_paper"] = Found(above, detail=blacks.words, basis=basis)
    if np.isfinite(blacks.status_t).any():
        words = f"{blacks.words}; {_filter(blacks.status_t)} filter"
        found["dmax_status_t"] = Found(np.max(blacks.status_t, axis=-1), detail=words)
    if full is not None and visual.shape[1] >= FEWEST_FOR_HOOK.value:
        found["ink_limit_hook"] = _hook(visual, row, full)
    return found


def _mean_colour(sheets: Sequence[SheetOnChart], chart: Chart | None, row: int) -> _Blacks:
    """The darkest colour on every sheet, its repeats averaged."""
    return _Blacks(
        lab=np.stack([sheet.lab[row] for sheet in sheets]),
        visual=np.array([sheet.visual[row] for sheet in sheets]),
        status_t=np.stack([sheet.status_t[row] for sheet in sheets]),
        words=f"darkest: {_words(sheets[0], chart, row)}",
    )


def _single_patch(sheet: SheetOnChart, chart: Chart | None) -> _Blacks:
    """The darkest single patch of the one sheet there is."""
    reading, place = sheet.readings[0], sheet.places[0]
    ranking = _ranking(reading.lab, reading.visual, reading.status_t)[:, 0]
    patch = int(np.nanargmin(np.where(place >= 0, ranking, np.nan)))
    row = int(place[patch])
    words = f"darkest single patch: {_words(sheet, chart, row, patch=patch)}"
    repeats = int(np.sum(place == row))
    if repeats > 1:
        words += f"; {repeats} patches of this colour average L* {sheet.lab[row, 0]:.2f}"
    return _Blacks(
        reading.lab[patch][None], reading.visual[patch][None], reading.status_t[patch][None], words
    )


def _ranking(lab: Floats, visual: Floats, status_t: Floats) -> Floats:
    """Colours to be ranked from dark to light: Lab, or densities turned round where there is no Lab."""
    if np.isfinite(lab).any():
        return lab
    told = visual if np.isfinite(visual).any() else status_t[:, 1]  # the green filter is nearest to the eye
    return np.stack([-told, np.zeros_like(told), np.zeros_like(told)], axis=-1)


def _darkest(labs: Floats, chart: Chart | None) -> tuple[int, int | None]:
    """Row of the darkest colour of the mean sheet, and of full ink where the chart is known."""
    mean = known_mean(labs)
    if chart is None:
        return int(np.nanargmin(mean[:, 0])), None
    black = darkest(mean, chart.device, channels=chart.channels)
    return int(black.index), black.full_ink


def _hook(visual: Floats, row: int, full: int) -> Found:
    values = visual[:, row] - visual[:, full]
    size = float(np.nanmean(values)) if np.isfinite(values).any() else 0.0
    if row == full or size < float(HOOK):
        return Found(values, detail="no hook: full ink is the darkest, or as dark as makes no difference")
    detail = f"hook: full ink is {size:.2f} D lighter than the darkest colour"
    return Found(values, detail=detail, note="more ink gave less black; try a lower ink limit")


def _words(sheet: SheetOnChart, chart: Chart | None, row: int, *, patch: int | None = None) -> str:
    """A colour in device values, and one patch that shows it."""
    places = np.flatnonzero(sheet.places[0] == row)
    if patch is None and places.size:
        patch = int(places[0])
    name = "" if patch is None else f"patch {sheet.readings[0].ids[patch]}"
    if chart is None:
        return name
    full = 255.0 if chart.channels == ("R", "G", "B") else 100.0
    values = " ".join(
        f"{channel}{value * full:.0f}" for channel, value in zip(chart.channels, chart.device[row])
    )
    return f"{values} ({name})" if name else values


def _from(sheets: Sequence[SheetOnChart]) -> str:
    how = sheets[0].readings[0].visual_from
    return "" if how == "spectra" else f"from {how}"


def _filter(densities: Floats) -> str:
    return ("red", "green", "blue")[int(np.argmax(np.nanmean(densities, axis=0)))]
