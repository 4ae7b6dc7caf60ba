"""Says which readings belong to the same sheet: by name first, then by the patches themselves.

Two sheets of one medium differ a little, patch by patch, and those small differences are the same whichever
measuring condition reads them. So a sheet's departures from the mean of its medium are a fingerprint.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.kernel.problems import Problem
from laydown.science.findings.reduction import Reduced

_CONDITION_WORDS = re.compile(
    r"(?<![A-Za-z0-9])(?:m[0-3]|white|black|wb|bb|(?:white|black)[-_ ]?backing)(?![A-Za-z0-9])", re.IGNORECASE
)
_READING_WORDS = re.compile(r"(?<![A-Za-z0-9])(?:read|reading|repeat)[-_ ]?\d+(?![A-Za-z0-9])", re.IGNORECASE)

ALIKE = Constant(0.6, "correlation", "our own choice, checked by simulation in the tests", "computed")


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One print of the chart: its name and every reading of it."""

    name: str
    readings: tuple[Reduced, ...]


def gather_sheets(readings: Sequence[Reduced]) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    """Sort the readings of one medium into sheets.

    Files whose names differ only in a condition (``sheet1-M1``, ``sheet1-M2``) or a reading number
    (``sheet1-read2``) are one sheet. Where names say nothing, conditions are joined by their patches. A file
    that repeats another's numbers exactly is no second sheet.

    Parameters
    ----------
    readings
        All readings of one medium.

    Returns
    -------
    tuple
        Sheets in order of their names, and what a person should know.

    Notes
    -----
    Checked against: simulated sheets with known pairs (``tests/science/findings``).
    """
    kept, problems = _without_copies(readings)
    by_name: dict[tuple[str, bytes], list[Reduced]] = defaultdict(list)
    for item in kept:
        by_name[(sheet_name(item.file), chart_key(item))].append(item)
    groups = [(name, items) for (name, _), items in sorted(by_name.items(), key=lambda entry: entry[0][0])]
    groups, joined = _join_by_patches(groups)
    problems += joined
    problems += [p for name, items in groups for p in _repeats(name, items)]
    return tuple(Sheet(name, tuple(items)) for name, items in groups), tuple(problems)


def sheet_name(file: str) -> str:
    """The file's name without folder, ending, condition and reading number.

    Parameters
    ----------
    file
        A file name, folders parted by ``/``.

    Returns
    -------
    str
        Such as ``"sheet1"`` for ``"Rag/sheet1-M2-read2.txt"``.

    Notes
    -----
    Checked against: examples in the tests.
    """
    stem = re.sub(r"\.[A-Za-z0-9]{1,5}$", "", file.rsplit("/", 1)[-1])
    bare = _READING_WORDS.sub("", _CONDITION_WORDS.sub("", stem))
    tidy = re.sub(r"[-_ .]{2,}", "-", bare).strip("-_ .")
    return tidy or stem


def chart_key(item: Reduced) -> bytes:
    """Bytes that are equal for equal sets of device colours, in whatever order they were read.

    Parameters
    ----------
    item
        A reduced reading.

    Returns
    -------
    bytes
        Empty where the file has no device values.

    Notes
    -----
    Checked against: shuffled charts in the tests.
    """
    if item.device is None:
        return b""
    rounded = np.round(item.device * 1e4).astype(np.int64)
    return "/".join(item.channels).encode() + np.unique(rounded, axis=0).tobytes()


def _without_copies(readings: Sequence[Reduced]) -> tuple[list[Reduced], list[Problem]]:
    seen: dict[tuple[str, str, bytes], str] = {}
    kept: list[Reduced] = []
    problems: list[Problem] = []
    for item in readings:
        key = (item.measurement, str(item.conditions.backing), item.lab.tobytes())
        if key in seen:
            what = f"the readings are the same, number for number, as those of {seen[key]}; counted once."
            problems.append(Problem("error", what, todo="Was a file copied by mistake?", file=item.file))
            continue
        seen[key] = item.file
        kept.append(item)
    return kept, problems


def _condition(item: Reduced) -> tuple[str, str]:
    return item.measurement, str(item.conditions.backing)


def _join_by_patches(
    groups: list[tuple[str, list[Reduced]]],
) -> tuple[list[tuple[str, list[Reduced]]], list[Problem]]:
    """Join groups that hold one condition each to groups that hold another, by fingerprint."""
    conditions = {_condition(item) for _, items in groups for item in items}
    lonely = all(len({_condition(item) for item in items}) == 1 for _, items in groups)
    if len(conditions) < 2 or not lonely:
        return groups, []
    by_condition: dict[tuple[str, str], list[tuple[str, list[Reduced]]]] = defaultdict(list)
    for group in groups:
        by_condition[_condition(group[1][0])].append(group)
    # The condition with most sheets leads; the others are joined to it.
    first, *others = sorted(by_condition.values(), key=len, reverse=True)
    joined = [(name, list(items)) for name, items in first]
    problems: list[Problem] = []
    for other in others:
        problems += _join(joined, other)
    return joined, problems


def _join(leading: list[tuple[str, list[Reduced]]], other: list[tuple[str, list[Reduced]]]) -> list[Problem]:
    from scipy.optimize import linear_sum_assignment

    problems = []
    alike = _likeness([items[0] for _, items in leading], [items[0] for _, items in other])
    rows, columns = linear_sum_assignment(-alike)
    matched = dict(zip(columns.tolist(), rows.tolist()))
    for column, (name, items) in enumerate(other):
        row = matched.get(column)
        if row is None or alike[row, column] < float(ALIKE):
            leading.append((name, list(items)))
            what = "no other file was clearly read on the same sheet, so it stands alone."
            todo = "Name files of one sheet alike, such as sheet1-M1 and sheet1-M2."
            problems.append(Problem("warning", what, todo=todo, file=items[0].file))
            continue
        leading[row][1].extend(items)
        what = (
            f"taken as the {items[0].measurement} reading of the sheet in {leading[row][1][0].file}, "
            f"from its patches (likeness {alike[row, column]:.2f})."
        )
        problems.append(Problem("note", what, file=items[0].file))
    return problems


def _likeness(first: Sequence[Reduced], second: Sequence[Reduced]) -> Floats:
    """How alike the fingerprints are, -1 to 1, (len(first), len(second)); 1 where there is no choice."""
    if len(first) == 1 and len(second) == 1:
        same = chart_key(first[0]) == chart_key(second[0])
        return np.array([[1.0 if same else -1.0]])
    keys = [chart_key(item) for item in (*first, *second)]
    table = np.full((len(first), len(second)), -1.0)
    for key in set(keys):
        rows = [i for i, item in enumerate(first) if chart_key(item) == key]
        columns = [j for j, item in enumerate(second) if chart_key(item) == key]
        if len(rows) == 1 and len(columns) == 1:
            table[rows[0], columns[0]] = 1.0
        elif rows and columns:
            a = _fingerprints([first[i] for i in rows])
            b = _fingerprints([second[j] for j in columns])
            table[np.ix_(rows, columns)] = a @ b.T
    return table


def _fingerprints(items: Sequence[Reduced]) -> Floats:
    """Departures of each sheet's L* from the mean sheet, patch by patch, scaled to unit length."""
    lightness = np.stack([item.lab[_order(item), 0] for item in items])
    apart = lightness - np.nanmean(lightness, axis=0)
    apart = np.nan_to_num(apart - np.nanmean(apart, axis=1, keepdims=True))
    length = np.linalg.norm(apart, axis=1, keepdims=True)
    return np.asarray(np.divide(apart, length, out=np.zeros_like(apart), where=length > 0))


def _order(item: Reduced) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Rows in an order that depends on device colour first and on the place in the file second."""
    if item.device is None:
        return np.arange(len(item.lab))
    return np.lexsort(np.round(item.device * 1e4).astype(np.int64).T)


def _repeats(name: str, items: Sequence[Reduced]) -> list[Problem]:
    """Say when a sheet was read more than once under one condition."""
    files: dict[tuple[str, str], list[str]] = defaultdict(list)
    for item in items:
        files[_condition(item)].append(item.file)
    return [
        Problem(
            "note",
            f"{len(several)} {measurement} readings of one sheet ({name}); averaged, counted as one.",
            file=several[0],
        )
        for (measurement, _), several in files.items()
        if len(several) > 1
    ]
