"""What is shown of a candidate beside its numbers: swatches, tone curves, gamut body, patch maps."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import srgb_from_lab, srgb_hex
from laydown.science.findings.chart import Chart, is_light
from laydown.science.findings.gamut_findings import MediumBody
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.findings.reduction import Reduced
from laydown.science.gamut import signed_volume, slice_outline
from laydown.science.numeric.known_mean import known_mean
from laydown.science.tone import Ramp, lost_steps
from laydown.usecases.collect_findings import FoundMedium, Under
from laydown.usecases.comparison import GamutBody, PatchCell, PatchMap, Swatch, ToneCurve

MOST_PATCH_MAPS = 6

_SOLIDS = {
    "white": (0, 0, 0),
    "cyan": (1, 0, 0),
    "magenta": (0, 1, 0),
    "yellow": (0, 0, 1),
    "red": (0, 1, 1),
    "green": (1, 0, 1),
    "blue": (1, 1, 0),
}


def swatches(medium: FoundMedium) -> tuple[Swatch, ...]:
    """White, the solids and the darkest colour, as measured on the mean sheet."""
    lab = known_mean([sheet.lab for sheet in medium.judged.sheets])
    if np.isnan(lab[:, 0]).all():  # densities have no colour to show
        return ()
    shown: list[tuple[str, int]] = []
    chart = medium.chart
    if chart is not None:
        for name, inks in _SOLIDS.items():
            row = _solid(chart, inks)
            if row is not None:
                shown.append((name, row))
    else:
        shown.append(("lightest", int(np.nanargmax(lab[:, 0]))))
    shown.append(("darkest", int(np.nanargmin(lab[:, 0]))))
    return tuple(_swatch(name, lab[row], chart, row) for name, row in shown if np.isfinite(lab[row]).all())


def tone_curves(medium: FoundMedium) -> tuple[ToneCurve, ...]:
    """The neutral ramp and the ramps of the primaries, with the spread of L* between sheets."""
    if medium.chart is None:
        return ()
    ramps = [medium.chart.neutral, *medium.chart.primaries.values()]
    return tuple(_tone(ramp, medium.judged.sheets) for ramp in ramps if ramp is not None)


def gamut_body(body: MediumBody | None, *, slice_levels: Sequence[float]) -> GamutBody | None:
    """The mesh with its volume and slices at the given L*, as drawn and intersected."""
    if body is None:
        return None
    slices = {}
    for level in slice_levels:
        outlines = slice_outline(body.vertices, body.triangles, level)
        if outlines:
            slices[level] = outlines
    size = abs(float(signed_volume(body.vertices, body.triangles)))
    return GamutBody(body.vertices, body.triangles, body.bound, size, slices)


def patch_maps(medium: FoundMedium) -> tuple[PatchMap, ...]:
    """The first sheet, and every other sheet with patches that look misread (up to six maps)."""
    sheets = medium.judged.sheets
    chosen = [sheet for sheet in sheets[1:] if any(reading.suspects for reading in sheet.readings)]
    return tuple(_patch_map(sheet, medium.judged) for sheet in [sheets[0], *chosen][:MOST_PATCH_MAPS])


def _solid(chart: Chart, inks: tuple[int, int, int]) -> int | None:
    """The row of a solid: RGB with channels off, or CMY at full with no black."""
    wanted: list[float]
    if is_light(chart.channels):
        wanted = [1.0 - ink for ink in inks]
    elif chart.channels[:3] == ("C", "M", "Y"):
        wanted = [*map(float, inks), *[0.0] * (len(chart.channels) - 3)]
    else:
        return chart.white if not any(inks) else None
    rows = np.flatnonzero(np.all(np.abs(chart.device - wanted) < 1e-3, axis=1))
    return int(rows[0]) if rows.size else None


def _swatch(name: str, lab: Floats, chart: Chart | None, row: int) -> Swatch:
    hex_code, clipped = srgb_hex(lab)
    device = ""
    if chart is not None:
        full = 255.0 if is_light(chart.channels) else 100.0
        device = " ".join(
            f"{c}{v * full:.0f}" for c, v in zip(chart.channels, chart.device[row], strict=True)
        )
    return Swatch(name, (float(lab[0]), float(lab[1]), float(lab[2])), hex_code, clipped, device)


def _tone(ramp: Ramp, sheets: Sequence[SheetOnChart]) -> ToneCurve:
    labs = np.stack([sheet.lab[ramp.rows] for sheet in sheets])
    lab = known_mean(labs)
    spread = np.full(len(ramp), np.nan)
    if len(sheets) > 1:
        spread = np.std(labs[..., 0], axis=0, ddof=1)
    lost: tuple[bool, ...] = ()
    if ramp.name == "neutral" and np.isfinite(lab).all():
        lost = tuple(bool(step) for step in lost_steps(lab).lost)
    return ToneCurve(ramp.name, ramp.steps, lab, spread, lost)


def _patch_map(sheet: SheetOnChart, under: Under) -> PatchMap:
    reading, place = sheet.readings[0], sheet.places[0]
    rows, columns, measured = _layout(reading)
    doubts = {suspect.row: f"{suspect.explanation} {suspect.fate}" for suspect in reading.suspects}
    # A patch that was left out is shown in the mean colour of the medium there.
    left_out = ~np.isfinite(reading.lab).all(axis=1) & (place >= 0)
    lab = np.where(left_out[:, None], known_mean([each.lab for each in under.sheets])[place], reading.lab)
    rgb = np.nan_to_num(srgb_from_lab(lab)[0], nan=0.5)
    device = [()] * len(lab) if reading.device is None else [tuple(row) for row in reading.device.tolist()]
    cells = tuple(
        PatchCell(
            name, row, column, ink, (l_star, a, b), f"#{red:02x}{green:02x}{blue:02x}", doubts.get(patch, "")
        )
        for patch, (name, row, column, ink, (l_star, a, b), (red, green, blue)) in enumerate(
            zip(
                reading.ids,
                rows.tolist(),
                columns.tolist(),
                device,
                lab.tolist(),
                np.rint(rgb * 255).astype(int).tolist(),
                strict=True,
            )
        )
    )
    height, width = int(rows.max()) + 1, int(columns.max()) + 1
    return PatchMap(sheet.name, under.condition, height, width, measured, cells)


def _layout(
    reading: Reduced,
) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], np.ndarray[tuple[int], np.dtype[np.int64]], bool]:
    """Row and column of every patch: as the file says, or filled into a rectangle in file order."""
    if reading.positions is not None:
        return (
            reading.positions[:, 0] - reading.positions[:, 0].min(),
            reading.positions[:, 1] - reading.positions[:, 1].min(),
            True,
        )
    count = len(reading.ids)
    wide = max(1, int(np.ceil(np.sqrt(count * 1.5))))
    order = np.arange(count)
    return order // wide, order % wide, False
