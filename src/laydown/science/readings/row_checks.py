"""Checks on rows and spectral axes: what cannot be a reading is left out, what looks odd is named."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.problems import Problem, Severity
from laydown.science.readings.limits import MAX_REPORTED_PER_KIND
from laydown.science.readings.types import Readings

_USUAL: Final = "common practice, no source"
LOWEST_REFLECTANCE: Final = Constant(
    -0.02, "reflectance", "instrument noise and zero error near black stay above this", _USUAL
)
HIGHEST_REFLECTANCE: Final = Constant(
    2.0, "reflectance", "brighteners lift paper to about 1.3; twice is a scale error", _USUAL
)
LIGHTNESS_SLACK: Final = Constant(
    1.0, "L*", "brighteners and rounding take L* a little beyond 0 and 100", _USUAL
)
CHROMA_LIMIT: Final = Constant(200.0, "a*, b*", "real surface colours stay well below", _USUAL)
DENSITY_RANGE: Final = (
    Constant(-0.5, "density", "below paper relative to itself", _USUAL),
    Constant(6.0, "density", "above what reflection instruments read", _USUAL),
)
_UNEVEN_NM: Final = Constant(0.05, "nm", "rounding of a written wavelength", _USUAL)


def check_wavelengths(
    wavelengths_nm: Floats, spectra: Floats, *, file: str, table: str = ""
) -> tuple[Floats, Floats, list[Problem]]:
    """Put the bands in rising order and say where the axis is not even.

    Parameters
    ----------
    wavelengths_nm : (w,) nm, as written.
    spectra : (n, w) on any scale.

    Returns
    -------
    wavelengths_nm, spectra : sorted; inputs are not changed.
    problems : warnings for an axis out of order or with uneven steps.

    Checked against
    ---------------
    Axes in falling and uneven order (``test_row_checks.py``).
    """
    problems: list[Problem] = []
    place = f" of table {table}" if table else ""
    steps = np.diff(wavelengths_nm)
    if steps.size and not (steps > 0).all():
        order = np.argsort(wavelengths_nm, kind="stable")
        wavelengths_nm, spectra = wavelengths_nm[order], spectra[:, order]
        steps = np.diff(wavelengths_nm)
        what = f"the wavelengths{place} are not in rising order; they were sorted."
        problems.append(
            Problem("warning", what, todo="Check that no spectral column is misnamed.", file=file)
        )
    if steps.size and (np.abs(steps - steps[0]) > _UNEVEN_NM.value).any():
        usual = np.sort(steps)[(steps.size - 1) // 2]
        at = int(np.argmax(np.abs(steps - usual)))
        what = (
            f"the wavelengths{place} are not evenly spaced: {wavelengths_nm[at]:g} nm is followed by "
            f"{wavelengths_nm[at + 1]:g} nm."
        )
        problems.append(Problem("warning", what, todo="Check that no spectral column is missing.", file=file))
    return wavelengths_nm, spectra, problems


def check_rows(readings: Readings) -> tuple[Bools, list[Problem]]:
    """Check each row for values no measurement gives, and ids that come twice.

    Parameters
    ----------
    readings : one table, scaled.

    Returns
    -------
    keep : (n,) false for rows whose whole reading is zero.
    problems : an error for each row left out, a warning for each odd one; at most
        ``MAX_REPORTED_PER_KIND`` of a kind by name, then their number.

    Checked against
    ---------------
    One planted row of each kind (``test_row_checks.py``).
    """
    n = len(readings)
    zero = _all_zero(readings)
    problems = list_rows(
        readings,
        np.flatnonzero(zero),
        "error",
        "the whole reading is zero, so the patch was not measured; it was left out.",
        todo="Read this patch again.",
    )
    for rows, what in _out_of_range(readings):
        problems += list_rows(
            readings, np.flatnonzero(rows & ~zero), "warning", what, todo="Check or read it again."
        )
    problems += _repeated_ids(readings)
    return (~zero if n else np.ones(0, dtype=np.bool_)), problems


def list_rows(readings: Readings, rows: Ints, severity: Severity, what: str, *, todo: str) -> list[Problem]:
    """One problem for each row, by line and patch, and one that counts the rest.

    Parameters
    ----------
    readings : one table.
    rows : which of its rows.
    severity, what, todo : of each problem.

    Returns
    -------
    Problems, at most ``MAX_REPORTED_PER_KIND`` and one.

    Checked against
    ---------------
    Tables with hundreds of bad rows (``test_cgats.py``).
    """
    limit = int(MAX_REPORTED_PER_KIND.value)
    named = rows[: limit if rows.size > limit else rows.size].tolist()
    problems = [
        Problem(severity, what, todo, readings.file, int(readings.lines[i]) or None, readings.ids[i])
        for i in named
    ]
    if rows.size > len(named):
        more = f"{rows.size - len(named)} more patches like these: {what}"
        problems.append(Problem(severity, more, todo, readings.file))
    return problems


def _all_zero(readings: Readings) -> Bools:
    """Rows whose measured values are all exactly zero."""
    n = len(readings)
    measured = [values for values in (readings.reflectance, readings.xyz, readings.lab) if values is not None]
    if not measured:
        measured = [values[:, np.newaxis] for values in readings.densities.values()]
        # A density of zero is legal; only a row of zeros in every filter of several is not a reading.
        if len(measured) < 3:
            return np.zeros(n, dtype=np.bool_)
    # Only rows that begin with a zero are looked at whole.
    zero = np.ones(n, dtype=np.bool_)
    for values in measured:
        zero &= values[:, 0] == 0.0
    for values in measured:
        zero[zero] = ~values[zero].any(axis=1)
    return zero


def _out_of_range(readings: Readings) -> Iterable[tuple[NDArray[np.bool_] | np.bool_, str]]:
    """(rows, sentence) for every kind of value no measurement gives."""
    if readings.reflectance is not None and readings.reflectance.size:
        low, high = LOWEST_REFLECTANCE.value, HIGHEST_REFLECTANCE.value
        # Most files have none: one pass over all spectra says so.
        if float(np.nanmin(readings.reflectance)) < low:
            yield readings.reflectance.min(axis=1) < low, f"a reflectance is below {low:g}."
        if float(np.nanmax(readings.reflectance)) > high:
            yield readings.reflectance.max(axis=1) > high, f"a reflectance is above {high:g}."
    if readings.lab is not None:
        slack, chroma = LIGHTNESS_SLACK.value, CHROMA_LIMIT.value
        lightness = readings.lab[:, 0]
        yield (lightness < -slack) | (lightness > 100.0 + slack), "L* is outside 0 to 100."
        yield (np.abs(readings.lab[:, 1:]) > chroma).any(axis=1), f"a* or b* is beyond {chroma:g}."
    if readings.xyz is not None:
        yield (readings.xyz < -1.0).any(axis=1), "X, Y or Z is below zero."
    for name, values in readings.densities.items():
        low, high = DENSITY_RANGE[0].value, DENSITY_RANGE[1].value
        yield (values < low) | (values > high), f"the {name} density is outside {low:g} to {high:g}."
    if readings.device is not None:
        beyond = (readings.device < 0.0) | (readings.device > 1.0 + 1e-9)
        yield beyond.any(axis=1), "a device value is below zero or above full."


def _repeated_ids(readings: Readings) -> list[Problem]:
    if len(set(readings.ids)) == len(readings.ids):
        return []
    rows = _later_duplicates(readings.ids)
    what = "this id stands for an earlier patch too; both were kept as separate patches."
    if len(set(readings.ids)) == 1 and len(readings.ids) > 1:
        what = f'every patch has the same id "{readings.ids[0]}"; patches are told apart by their order only.'
        return [Problem("warning", what, todo="Export with sample numbers.", file=readings.file)]
    return list_rows(readings, rows, "warning", what, todo="Give every patch its own SAMPLE_ID.")


def _later_duplicates(ids: Sequence[str]) -> Ints:
    seen: set[str] = set()
    later = []
    for index, name in enumerate(ids):
        if name in seen:
            later.append(index)
        seen.add(name)
    return np.array(later, dtype=np.int64)
