"""From raw cells to ``Readings``: scales settled, conditions found, rows checked; for every format."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.science.readings.colour_consistency import check_colour
from laydown.science.readings.columns import SpectralScale
from laydown.science.readings.conditions import Statement, find_conditions
from laydown.science.readings.device_scale import find_device_scale
from laydown.science.readings.row_checks import check_rows, check_wavelengths
from laydown.science.readings.types import Conditions, Readings

PERCENT_ABOVE: Final = Constant(
    2.0,
    "reflectance",
    "a spectrum whose highest value is above 2 is in percent; no print reflects twice the light",
    "computed",
)
_XYZ_FRACTION_BELOW: Final = Constant(
    1.5,
    "Y",
    "a table whose highest Y is below 1.5 and whose lightest patch is paper has Y = 1 for white",
    "computed",
)


@dataclass(frozen=True, slots=True, eq=False)
class RawTable:
    """One table as the file writes it, before scales and checks; see ``types.Readings`` for the meanings."""

    file: str
    format: str
    ids: tuple[str, ...]
    names: tuple[str, ...]
    lines: Ints
    channels: tuple[str, ...] = ()
    device: Floats | None = None
    device_scale: Stated[float] = Stated()
    wavelengths_nm: Floats | None = None
    spectra: Floats | None = None
    spectral_scale: SpectralScale = "not stated"
    xyz: Floats | None = None
    lab: Floats | None = None
    densities: dict[str, Floats] = field(default_factory=dict)
    positions: Ints | None = None
    statements: Sequence[Statement] = ()
    inherited: Sequence[Statement] = ()
    table: str = ""


def finish_table(raw: RawTable) -> tuple[Readings, list[Problem]]:
    """Settle scales, find conditions and check every row of a raw table.

    Parameters
    ----------
    raw : the cells, as read.

    Returns
    -------
    readings : without the rows that cannot be readings (all zero).
    problems : everything found on the way.

    Raises
    ------
    UnreadableFile
        Where no row is left.

    Checked against
    ---------------
    Tables with known scales, zeros and contradictions (``test_row_checks.py``).
    """
    problems: list[Problem] = []
    device, scale = raw.device, raw.device_scale
    if device is not None:
        if not scale.known:
            scale, found = find_device_scale(device, channels=raw.channels, file=raw.file, table=raw.table)
            problems += found
        device = device / float(scale.value or 1.0)
    wavelengths, spectra = raw.wavelengths_nm, raw.spectra
    if wavelengths is not None and spectra is not None:
        wavelengths, spectra, found = check_wavelengths(wavelengths, spectra, file=raw.file, table=raw.table)
        problems += found
        spectra, found = _scale_spectra(spectra, raw)
        problems += found
    xyz, found = _scale_xyz(raw)
    problems += found
    conditions, found = _conditions(raw)
    problems += found
    readings = Readings(
        file=raw.file,
        ids=raw.ids,
        names=raw.names,
        lines=raw.lines,
        channels=raw.channels,
        device=device,
        device_scale=scale,
        wavelengths_nm=wavelengths,
        reflectance=spectra,
        xyz=xyz,
        lab=raw.lab,
        densities=raw.densities,
        positions=raw.positions,
        conditions=conditions,
        table=raw.table,
        format=raw.format,
    )
    keep, found = check_rows(readings)
    problems += found
    if not keep.any():
        what = "every reading in the table is zero, so nothing was measured."
        raise UnreadableFile(what, todo="Export the readings again.", file=raw.file)
    if not keep.all():
        readings = take_rows(readings, keep)
    return readings, problems + check_colour(readings)


def take_rows(readings: Readings, keep: Bools) -> Readings:
    """The same table with only the rows where ``keep`` is true.

    Parameters
    ----------
    readings : one table of n patches.
    keep : (n,) which to keep.

    Returns
    -------
    Readings
        A new table; the one given is not changed.

    Checked against
    ---------------
    Row counts of tables with rows left out (``test_row_checks.py``).
    """

    def cut(values: Floats | None) -> Floats | None:
        return None if values is None else values[keep]

    kept = np.flatnonzero(keep).tolist()
    return replace(
        readings,
        ids=tuple(readings.ids[i] for i in kept),
        names=tuple(readings.names[i] for i in kept),
        lines=readings.lines[keep],
        device=cut(readings.device),
        reflectance=cut(readings.reflectance),
        xyz=cut(readings.xyz),
        lab=cut(readings.lab),
        densities={name: values[keep] for name, values in readings.densities.items()},
        positions=None if readings.positions is None else readings.positions[keep],
    )


def _scale_spectra(spectra: Floats, raw: RawTable) -> tuple[Floats, list[Problem]]:
    """Spectra as 0-1, by what the columns say or, where they say nothing, by the values."""
    highest = float(np.nanmax(spectra)) if spectra.size else 0.0
    above = highest > PERCENT_ABOVE.value
    place = f" in table {raw.table}" if raw.table else ""
    if raw.spectral_scale == "not stated":
        read = "percent" if above else "0 to 1"
        what = f"the scale of the spectra{place} is not stated; up to {highest:g}, they were read as {read}."
        return (spectra / 100.0 if above else spectra), [Problem("note", what, file=raw.file)]
    percent = raw.spectral_scale == "stated percent"
    if above and not percent:
        what = (
            f"the spectra{place} say 0 to 1, but the highest value is {highest:g}; they were read as percent."
        )
        return spectra / 100.0, [Problem("warning", what, todo="Check the export.", file=raw.file)]
    if percent and not above:
        what = f"the spectral columns{place} say percent, but the highest value is only {highest:g} %."
        todo = "If the values are 0 to 1, name the columns SPECTRAL_DEC."
        return spectra / 100.0, [Problem("warning", what, todo=todo, file=raw.file)]
    return (spectra / 100.0 if percent else spectra), []


def _scale_xyz(raw: RawTable) -> tuple[Floats | None, list[Problem]]:
    """XYZ with Y = 100 for the perfect diffuser."""
    xyz = raw.xyz
    if xyz is None or not xyz.size:
        return xyz, []
    highest = float(np.nanmax(xyz[:, 1]))
    # Without Lab to check against, a handful of patches may all be black: only a larger table is rescaled.
    light = float(np.nanmax(raw.lab[:, 0])) > 20.0 if raw.lab is not None else len(xyz) > 20
    if not 0.0 < highest <= _XYZ_FRACTION_BELOW.value or not light:
        return xyz, []
    what = f"the highest Y is {highest:g}, so XYZ was taken as written with white = 1 and multiplied by 100."
    return xyz * 100.0, [Problem("warning", what, todo="Check the export.", file=raw.file)]


def _conditions(raw: RawTable) -> tuple[Conditions, list[Problem]]:
    """Conditions from the table's own header, each falling back to the header before it."""
    own, problems = find_conditions(raw.statements, file=raw.file, table=raw.table)
    if not raw.inherited:
        return own, problems
    before, _ = find_conditions(raw.inherited, file=raw.file, table=raw.table)
    doubtful = " ".join(problem.what for problem in problems)
    fields = {
        name: getattr(before, name)
        for name in Conditions.__dataclass_fields__
        if not getattr(own, name).known and not _contradicted(name, doubtful)
    }
    return replace(own, **fields), problems


def _contradicted(name: str, sentences: str) -> bool:
    """Whether the table's own header contradicts itself about a condition, so that nothing may stand in."""
    word = {"measurement": "measurement condition", "age_hours": "age of the print"}.get(
        name, name.replace("_", " ")
    )
    return f"the {word}" in sentences
