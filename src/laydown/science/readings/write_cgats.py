"""Readings written as a CGATS.17 text file: the way back from what the reader understands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.readings.types import Conditions, Readings

#: Keywords of CGATS.17 that need no announcement; all others are announced by a KEYWORD line.
_STANDARD = {
    "ORIGINATOR", "FILE_DESCRIPTOR", "DESCRIPTOR", "CREATED", "MANUFACTURER", "PROD_DATE", "SERIAL",
    "MATERIAL", "INSTRUMENTATION", "MEASUREMENT_SOURCE", "PRINT_CONDITIONS", "SAMPLE_BACKING", "FILTER",
    "POLARIZATION", "WEIGHTING_FUNCTION", "COMPUTATIONAL_PARAMETER", "TARGET_TYPE", "TABLE_NAME",
    "TABLE_DESCRIPTOR",
}  # fmt: skip
_DENSITY_FIELDS = {"red": "D_RED", "green": "D_GREEN", "blue": "D_BLUE", "visual": "D_VIS"}


def write_cgats(
    readings: Readings,
    *,
    preamble: Sequence[tuple[str, str]] = (),
    spectra: Literal["columns", "pairs"] = "columns",
    percent: bool = False,
    decimals: int = 5,
    decimal_comma: bool = False,
    places: Sequence[str] = (),
) -> bytes:
    """Write one table of readings as a CGATS.17 file.

    Everything that is stated in the conditions is written where the reader finds it again; what is not
    stated is not written. Where each fact came from, line numbers and the file's name are not carried over.

    Parameters
    ----------
    readings : Readings
        RGB is written out of 255, inks in percent; a stated ``device_scale`` is used instead.
    preamble : keyword and value pairs
        Further header lines, such as ``("ORIGINATOR", "the studio")``.
    spectra : "columns" or "pairs"
        One field per wavelength (short, and widely understood) or the standard's pairs of SPECTRAL_NM and
        value.
    percent : bool
        Reflectance in percent instead of 0-1.
    decimals : int
        Decimals of reflectance on the 0-1 scale; percent has two fewer. Lab and XYZ get 4.
    decimal_comma : bool
        Write numbers with a comma, as exports of some countries have them.
    places : n words
        Where each patch is printed, such as B7; written as SAMPLE_LOC, none where empty.

    Returns
    -------
    bytes, UTF-8 with single tabs between cells.

    Raises
    ------
    BadSetting
        A header value or an id holds a quotation mark, a tab or a line break.

    Notes
    -----
    Missing numbers are written as NaN.

    References
    ----------
    CGATS.17 / ISO 28178.

    Checked against
    ---------------
    Reading back with the reader of this package: equal to the last decimal written.
    """
    header = [*preamble, *_condition_lines(readings.conditions)]
    labels = _labels(readings, places)
    names, formats, columns = _fields(readings, spectra=spectra, percent=percent, decimals=decimals)
    names = [*labels, *names]
    lines = ["CGATS.17"]
    announced: set[str] = set()
    for keyword, value in header:
        if keyword not in _STANDARD and keyword not in announced:
            lines.append(f'KEYWORD\t"{keyword}"')
            announced.add(keyword)
        lines.append(f'{keyword}\t"{_plain(value, keyword)}"')
    lines += [f"NUMBER_OF_FIELDS\t{len(names)}", "BEGIN_DATA_FORMAT", "\t".join(names), "END_DATA_FORMAT"]
    lines += [f"NUMBER_OF_SETS\t{len(readings)}", "BEGIN_DATA"]
    lines += _rows(list(labels.values()), formats, columns, decimal_comma=decimal_comma)
    lines += ["END_DATA", ""]
    return "\n".join(lines).encode("utf-8")


def _plain(value: str, where: str) -> str:
    if any(mark in value for mark in '"\t\r\n'):
        raise BadSetting(
            f"{where} holds a quotation mark, a tab or a line break, which a CGATS file cannot carry.",
            todo="Take it out.",
        )
    return value


def _condition_lines(conditions: Conditions) -> Iterable[tuple[str, str]]:
    """Header lines for every condition that is stated."""
    stated = (
        ("CREATED", conditions.date.value, "{}"),
        ("INSTRUMENTATION", conditions.instrument.value, "{}"),
        ("MEASUREMENT_SOURCE", conditions.measurement.value, "MeasurementCondition={}"),
        ("SAMPLE_BACKING", conditions.backing.value, "{}"),
        ("WEIGHTING_FUNCTION", conditions.illuminant.value, "ILLUMINANT, {}"),
        ("WEIGHTING_FUNCTION", conditions.observer.value, "OBSERVER, {} degree"),
        ("MEASUREMENT_GEOMETRY", conditions.geometry.value, "{}"),
        ("DENSITY_STATUS", conditions.density_status.value, "{}"),
        ("DENSITY_ZERO", conditions.density_zero.value, "{}"),
        ("FINISH", conditions.finish.value, "{}"),
        ("PRINT_AGE_HOURS", conditions.age_hours.value, "{:g}"),
    )
    return [(keyword, form.format(value)) for keyword, value, form in stated if value is not None]


def _fields(
    readings: Readings, *, spectra: str, percent: bool, decimals: int
) -> tuple[list[str], list[str], list[Floats]]:
    """Names, formats and columns of all number fields."""
    names: list[str] = []
    formats: list[str] = []
    columns: list[Floats] = []

    def add(fields: Sequence[str], form: str, block: Floats) -> None:
        names.extend(fields)
        formats.extend([form] * len(fields))
        columns.append(np.reshape(block, (len(readings), len(fields))))

    if readings.positions is not None:
        add(("ROW", "COLUMN"), "%.0f", readings.positions.astype(np.float64))
    if readings.device is not None:
        fields, full = _device_fields(readings)
        add(fields, "%.10g", np.round(readings.device * full, 6))
    if readings.xyz is not None:
        add(("XYZ_X", "XYZ_Y", "XYZ_Z"), "%.4f", readings.xyz)
    if readings.lab is not None:
        add(("LAB_L", "LAB_A", "LAB_B"), "%.4f", readings.lab)
    for name, values in readings.densities.items():
        add((_DENSITY_FIELDS[name],), "%.4f", values)
    if readings.reflectance is not None and readings.wavelengths_nm is not None:
        shown = readings.reflectance * (100.0 if percent else 1.0)
        form = f"%.{max(decimals - 2, 0) if percent else decimals}f"
        word = "SPECTRAL_PCT" if percent else "SPECTRAL_DEC"
        for wavelength, values in zip(readings.wavelengths_nm, shown.T, strict=True):
            if spectra == "pairs":
                add(("SPECTRAL_NM",), "%g", np.full(len(readings), wavelength))
                add((word,), form, values)
            else:
                add((f"{word}{wavelength:g}",), form, values)
    return names, formats, columns


def _device_fields(readings: Readings) -> tuple[list[str], float]:
    """Field names of the device values, and what full is written as."""
    rgb = readings.channels == ("R", "G", "B")
    stated = readings.device_scale.value
    full = stated if stated is not None else (255.0 if rgb else 100.0)
    if rgb:
        return ["RGB_R", "RGB_G", "RGB_B"], full
    if readings.channels == ("C", "M", "Y", "K"):
        return ["CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"], full
    count = len(readings.channels)
    return [f"{count}CLR_{ink + 1}" for ink in range(count)], full


def _labels(readings: Readings, places: Sequence[str]) -> dict[str, list[str]]:
    """Fields of words: ids, names and places."""
    labels = {"SAMPLE_ID": [_plain(item, "a patch id") for item in readings.ids]}
    if any(readings.names):
        labels["SAMPLE_NAME"] = [_plain(item, "a patch name") for item in readings.names]
    if places:
        labels["SAMPLE_LOC"] = [_plain(item, "a place") for item in places]
    return labels


def _rows(
    labels: Sequence[Sequence[str]], formats: Sequence[str], columns: Sequence[Floats], *, decimal_comma: bool
) -> list[str]:
    """The data lines: quoted words, then numbers."""
    count = len(labels[0])
    numbers = np.concatenate(columns, axis=1) if columns else np.zeros((count, 0))
    form = "\t".join(formats)
    texts = [form % tuple(row) for row in numbers.tolist()]
    if not np.isfinite(numbers).all():
        texts = [text.replace("nan", "NaN") for text in texts]
    if decimal_comma:
        texts = [text.replace(".", ",") for text in texts]
    quoted = ["\t".join(f'"{item}"' for item in items) for items in zip(*labels, strict=True)]
    return [f"{label}\t{text}" if text else label for label, text in zip(quoted, texts, strict=True)]
