"""The readings of a trial in open formats: CGATS.17 for instruments' software, CSV for spreadsheets."""

from __future__ import annotations

import contextlib
import csv
import io
from collections.abc import Iterable, Iterator, Mapping

import numpy as np

from laydown.kernel.errors import LaydownError
from laydown.records.look import Look
from laydown.science.readings import read_measurements
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading, Reading

GLOSS_COLUMNS = (
    "sheet", "place", "angle (degrees)", "direction", "repeat", "gloss (GU)", "meter", "measured at",
    "received at", "set aside",
)  # fmt: skip


def reading_copies(look: Look, facts: TrialFacts) -> Iterator[tuple[str, bytes]]:
    """Name and content of each copy: CGATS and CSV for every table of every reading, gloss in one CSV."""
    codes = {sheet.id: sheet.code for sheet in facts.sheets}
    for reading in facts.readings:
        code = codes.get(reading.sheet_id or "", "without-a-sheet")
        for number, table in enumerate(_tables(look, reading), start=1):
            name = f"{code}-{reading.id}-{table.conditions.measurement.value or number}"
            if number > 1 and table.conditions.measurement.value is None:
                name = f"{code}-{reading.id}-{number}"
            # A table may hold what CGATS has no fields for; its CSV copy and its original are there.
            with contextlib.suppress(LaydownError):
                yield f"readings/cgats/{name}.txt", write_cgats(table, preamble=[("ORIGINATOR", "Laydown")])
            yield f"readings/csv/{name}.csv", as_csv(table)
    if facts.gloss:
        yield "readings/csv/gloss.csv", gloss_csv(facts.gloss, codes)


def _tables(look: Look, reading: Reading) -> tuple[Readings, ...]:
    content = look.read_file(reading.mended_sha256 or reading.file_sha256)
    try:
        return read_measurements(content, file=reading.file_name).tables
    except LaydownError:  # kept as it came; it goes along as a file
        return ()


def as_csv(table: Readings) -> bytes:
    """One table of readings as CSV: one row a patch, every value as the file has it, units in the head."""
    columns: list[tuple[str, list[str]]] = [
        ("patch", [_harmless(one) for one in table.ids]),
        ("name", [_harmless(one) for one in table.names]),
    ]
    if table.device is not None:
        for channel, values in zip(table.channels, table.device.T, strict=True):
            columns.append((f"device {channel} (0-1)", _texts(values)))
    if table.lab is not None:
        columns += [
            (name, _texts(values)) for name, values in zip(("L*", "a*", "b*"), table.lab.T, strict=True)
        ]
    if table.xyz is not None:
        columns += [(f"{name} (Y 0-100)", _texts(v)) for name, v in zip("XYZ", table.xyz.T, strict=True)]
    columns += [(f"density {name}", _texts(values)) for name, values in sorted(table.densities.items())]
    if table.reflectance is not None and table.wavelengths_nm is not None:
        for nm, values in zip(table.wavelengths_nm, table.reflectance.T, strict=True):
            columns.append((f"R {nm:g} nm (0-1)", _texts(values)))
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([name for name, _ in columns])
    writer.writerows(zip(*(values for _, values in columns), strict=True))
    return text.getvalue().encode("utf-8")


def gloss_csv(readings: Iterable[GlossReading], codes: Mapping[str, str]) -> bytes:
    """Gloss readings as CSV, one row for each repeat; ``codes`` names sheets by their ids."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(GLOSS_COLUMNS)
    for one in readings:
        measured = one.measured_at.isoformat() if one.measured_at else ""
        aside = "yes" if one.set_aside_at else ""
        where = (_harmless(codes.get(one.sheet_id, "")), _harmless(one.place), one.angle, one.direction)
        rest = (_harmless(one.instrument), measured, one.received_at.isoformat(), aside)
        for number, value in enumerate(one.values, start=1):
            writer.writerow((*where, number, repr(value), *rest))
    return text.getvalue().encode("utf-8")


def _harmless(text: str) -> str:
    """Words as such: a spreadsheet takes what begins with = + - @ for something to be carried out."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text


def _texts(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> list[str]:
    return ["" if np.isnan(value) else repr(float(value)) for value in values]
