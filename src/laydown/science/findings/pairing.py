"""Says which readings belong to the same sheet: by name first, then by the patches themselves.

Two sheets of one medium differ a little, patch by patch, and those small differences are the same whichever
measuring condition reads them. So the scatter of a sheet's patches is its fingerprint.
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
    r"(?<![A-Za-z0-9])(?:m[0-3]|(?:white|black)[-_ ]?backing|white|black|wb|bb)(?![A-Za-z0-9])", re.IGNORECASE
)
_READING_WORDS = re.compile(r"(?<![A-Za-z0-9])(?:read|reading|repeat)[-_ ]?\d+(?![A-Za-z0-9])", re.IGNORECASE)

_UV_LAST = {"M1": 0, "M0": 1, "M not stated": 2, "M2": 3, "M3": 4}

ALIKE = Constant(0.5, "likeness", "our own choice, checked on simulated sheets in the tests", "computed")


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
    # The condition with most sheets leads, and among equals the one with ultraviolet in it.
    leading = sorted(
        by_condition, key=lambda condition: (-len(by_condition[condition]), _UV_LAST[condition[0]])
    )
    first, *others = (by_condition[condition] for condition in leading)
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
    """How alike the patches are, 1 for a perfect pair and 0 for a usual stranger, (first, second)."""
    table = np.full((len(first), len(second)), -1.0)
    keys = {chart_key(item) for item in first} & {chart_key(item) for item in second}
    for key in keys:
        rows = [i for i, item in enumerate(first) if chart_key(item) == key]
        columns = [j for j, item in enumerate(second) if chart_key(item) == key]
        if len(rows) == 1 and len(columns) == 1:
            table[rows[0], columns[0]] = 1.0
            continue
        apart = _apart([first[i] for i in rows], [second[j] for j in columns])
        table[np.ix_(rows, columns)] = 1.0 - (apart / _usual(apart)) ** 2
    return table


def _apart(first: Sequence[Reduced], second: Sequence[Reduced]) -> Floats:
    """Scatter of the difference in L*, patch by patch, once what depends smoothly on device colour is gone.

    What one condition adds to another (a brightener's glow) is smooth in device space and the same for all
    sheets; what is left is the scatter of patches, which cancels only between two readings of one sheet.
    """
    smooth = np.linalg.qr(_quadratic(first[0]))[0]
    rough = []
    for item in (*first, *second):
        lightness = np.nan_to_num(item.lab[_order(item), 0], nan=float(np.nanmean(item.lab[:, 0])))
        rough.append(lightness - smooth @ (smooth.T @ lightness))
    one, two = np.stack(rough[: len(first)]), np.stack(rough[len(first) :])
    return np.asarray(np.std(one[:, None] - two[None], axis=-1))


def _usual(apart: Floats) -> Floats:
    """What the scatter is between sheets that are not a pair: the median over the rivals of each pair."""
    usual = np.empty_like(apart)
    for row, column in np.ndindex(*apart.shape):
        rivals = np.concatenate([np.delete(apart[row], column), np.delete(apart[:, column], row)])
        usual[row, column] = np.median(rivals)
    return usual


def _quadratic(item: Reduced) -> Floats:
    """Constant, linear and quadratic terms of device colour, (n, terms), rows in the order of ``_order``."""
    order = _order(item)
    ones = np.ones((len(order), 1))
    if item.device is None:
        return ones
    device = item.device[order]
    pairs = [device[:, i] * device[:, j] for i in range(device.shape[1]) for j in range(i, device.shape[1])]
    return np.column_stack([ones, device, *pairs])


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
