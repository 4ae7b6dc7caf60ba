"""Check a file: what is in it, how it was measured, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import NotEnoughData, UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.findings.doubts import settle_doubts
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.readings import read_measurements
from laydown.science.readings.types import Readings
from laydown.usecases.comparison import StatedFact
from laydown.usecases.read_media import Source
from laydown.usecases.stated_facts import stated_facts


@dataclass(frozen=True, slots=True)
class CheckedTable:
    """One table of a file: counts in words, conditions with where they were found, lightest and darkest."""

    format: str
    patches: int
    device_colours: int
    device: str
    values: tuple[str, ...]
    facts: tuple[StatedFact, ...]
    lightest: str
    darkest: str


@dataclass(frozen=True, slots=True)
class CheckedFile:
    """What a file holds; ``refused`` is the sentence that says why it cannot be used, or empty."""

    file: str
    refused: str
    tables: tuple[CheckedTable, ...]
    problems: tuple[Problem, ...]


def check_file(file: Source) -> CheckedFile:
    """Read one file and say what is in it; a file that cannot be used is an answer too, not an error."""
    try:
        read = read_measurements(file.read(), file=file.name)
    except UnreadableFile as error:
        return CheckedFile(file.name, str(error), (), ())
    tables, problems = [], list(read.problems)
    for readings in read.tables:
        try:
            reduced = reduce_readings(readings)
        except NotEnoughData as error:
            problems.append(Problem("error", error.what, todo=error.todo, file=file.name))
            continue
        (reduced,), found = settle_doubts([reduced])
        problems += found
        tables.append(_table(readings, reduced))
    return CheckedFile(file.name, "", tuple(tables), tuple(problems))


def _table(readings: Readings, reduced: Reduced) -> CheckedTable:
    lightness = _lightness(reduced)
    return CheckedTable(
        format=readings.format,
        patches=len(readings),
        device_colours=0 if readings.device is None else len(np.unique(np.round(readings.device, 5), axis=0)),
        device=_device(readings),
        values=_values(readings),
        facts=stated_facts(reduced.conditions, colorimetry=reduced.colorimetry),
        lightest=_patch(reduced, int(np.nanargmax(lightness))),
        darkest=_patch(reduced, int(np.nanargmin(lightness))),
    )


def _device(readings: Readings) -> str:
    if readings.device is None:
        return "no device values"
    scale = readings.device_scale
    full = "full scale not known" if scale.value is None else f"full = {scale.value:g} ({scale.where})"
    return f"{' '.join(readings.channels)}, {full}"


def _values(readings: Readings) -> tuple[str, ...]:
    told = []
    if readings.wavelengths_nm is not None:
        bands = readings.wavelengths_nm
        told.append(f"spectra, {len(bands)} bands, {bands[0]:g} to {bands[-1]:g} nm")
    told += ["XYZ"] if readings.xyz is not None else []
    told += ["Lab"] if readings.lab is not None else []
    told += [f"densities ({', '.join(readings.densities)})"] if readings.densities else []
    return tuple(told)


def _lightness(reduced: Reduced) -> Floats:
    """What patches are ranked by: L*, or a density turned round in a file of densities alone."""
    for values in (reduced.lab[:, 0], -reduced.visual, -reduced.status_t[:, 1]):
        if np.isfinite(values).any():
            return values
    return np.zeros(len(reduced.ids))


def _patch(reduced: Reduced, row: int) -> str:
    lightness, a, b = reduced.lab[row]
    told = [f"patch {reduced.ids[row]}"]
    if np.isfinite(lightness):
        told.append(f"L* {lightness:.2f}, a* {a:.2f}, b* {b:.2f}")
    if np.isfinite(reduced.visual[row]):
        told.append(f"visual density {reduced.visual[row]:.3f}")
    return f"{', '.join(told)} ({reduced.condition})"
