"""Says which readings belong to the same sheet: by name first, then by the patches themselves.

How patches speak is in ``fingerprint``.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.science.findings.chart import same_chart
from laydown.science.findings.fingerprint import ALIKE, fingerprint_likeness
from laydown.science.findings.reduction import Reduced

_CONDITION_WORDS = re.compile(
    r"(?<![A-Za-z0-9])(?:m[0-3]|(?:white|black)[-_ ]?backing|white|black|wb|bb)(?![A-Za-z0-9])", re.IGNORECASE
)
_BACKING_WORDS = re.compile(r"(?<![A-Za-z0-9])(white|black)(?![A-Za-z0-9])")
_READING_WORDS = re.compile(r"(?<![A-Za-z0-9])(?:read|reading|repeat)[-_ ]?\d+(?![A-Za-z0-9])", re.IGNORECASE)

FEWEST_TO_KNOW = Constant(
    20, "patches", "our own choice: a few rounded numbers may be the same on two sheets", "computed"
)
_UV_LAST = {"M1": 0, "M0": 1, "M not stated": 2, "M2": 3, "M3": 4}


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One print of the chart: its name and every reading of it."""

    name: str
    readings: tuple[Reduced, ...]


def gather_sheets(
    readings: Sequence[Reduced], *, named: Mapping[str, str] | None = None
) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    """Sort the readings of one medium into sheets.

    Files whose names differ only in a condition (``sheet1-M1``, ``sheet1-M2``) or a reading number
    (``sheet1-read2``) are one sheet. Where names say nothing, readings under unlike stated conditions are
    joined by their patches, where these speak clearly. A file that repeats another's numbers exactly is no
    second sheet.

    Parameters
    ----------
    readings
        All readings of one medium.
    named
        The sheet of each file, where that is known otherwise than by its name; nothing is then joined by
        patches.

    Returns
    -------
    tuple
        Sheets in order of their names, and what a person should know.

    Notes
    -----
    Checked against: simulated sheets with known pairs (``tests/science/findings``).
    """
    kept, problems = _without_copies(_with_named_backings(readings))
    by_name: dict[str, list[list[Reduced]]] = defaultdict(list)
    for item in kept:
        name = (named or {}).get(item.file) or sheet_name(item.file)
        for group in by_name[name]:
            if same_chart(group[0], item):
                group.append(item)
                break
        else:
            by_name[name].append([item])
    groups = [(name, group) for name in sorted(by_name) for group in by_name[name]]
    if not named:
        groups, joined = _join_by_patches(groups)
        problems += joined
    problems += [p for name, items in groups for p in _repeats(name, items)]
    return tuple(Sheet(name, tuple(items)) for name, items in groups), tuple(problems)


def sheet_name(file: str) -> str:
    """The file's name without the medium's folder, ending, condition and reading number.

    Parameters
    ----------
    file
        A file name, folders parted by ``/``; the first folder is the medium's, others belong to the sheet.

    Returns
    -------
    str
        Such as ``"sheet1"`` for ``"Rag/sheet1-M2-read2.txt"``, ``"day2/s1"`` for ``"Rag/day2/s1.txt"``.

    Notes
    -----
    Checked against: examples in the tests.
    """
    *folders, name = file.split("/")
    stem = re.sub(r"\.[A-Za-z0-9]{1,5}$", "", name)
    bare = _READING_WORDS.sub("", _CONDITION_WORDS.sub("", stem))
    tidy = re.sub(r"[-_ .]{2,}", "-", bare).strip("-_ .")
    return "/".join([*folders[1:], tidy or stem])


def _with_named_backings(readings: Sequence[Reduced]) -> list[Reduced]:
    """Take a backing from file names where a file's header has none and its twin names the other one.

    ``s1-white`` and ``s1-black`` are one sheet on two backings; a lone ``black.txt`` may mean anything.
    """
    words = {id(item): set(_BACKING_WORDS.findall(item.file.rsplit("/", 1)[-1].lower())) for item in readings}
    told: dict[tuple[str, str], set[str]] = defaultdict(set)
    for item in readings:
        told[sheet_name(item.file), item.measurement] |= words[id(item)]
    named = []
    for item in readings:
        own = words[id(item)]
        twin = told[sheet_name(item.file), item.measurement] == {"white", "black"}
        if twin and len(own) == 1 and not item.conditions.backing.known:
            backing = Stated(next(iter(own)), "file name")
            named.append(replace(item, conditions=replace(item.conditions, backing=backing)))
        else:
            named.append(item)
    return named


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


def numbers_of(item: Reduced) -> bytes:
    """Bytes that are equal for a file and its copy, empty where a few rounded numbers may coincide.

    Parameters
    ----------
    item
        A reduced reading.

    Returns
    -------
    bytes
        Empty for fewer than 20 patches without spectra, such as typed in from a densitometer.

    Notes
    -----
    Checked against: copies, and sheets that read alike, in the tests.
    """
    if len(item.ids) < FEWEST_TO_KNOW.value and item.wavelengths_nm is None:
        return b""
    return item.lab.tobytes() + item.visual.tobytes() + item.status_t.tobytes()


def _without_copies(readings: Sequence[Reduced]) -> tuple[list[Reduced], list[Problem]]:
    seen: dict[tuple[str, str, bytes], str] = {}
    kept: list[Reduced] = []
    problems: list[Problem] = []
    for item in readings:
        key = (item.measurement, str(item.conditions.backing), numbers_of(item))
        if key[-1] and key in seen:
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
    lonely = [group for group in groups if _may_be_joined(group[1])]
    by_condition: dict[tuple[str, str], list[tuple[str, list[Reduced]]]] = defaultdict(list)
    for name, items in lonely:
        by_condition[_condition(items[0])].append((name, list(items)))
    if len(lonely) < len(groups) or len(by_condition) < 2:
        return groups, []
    # The condition with most sheets leads, and among equals the one with ultraviolet in it.
    leading = sorted(by_condition, key=lambda key: (-len(by_condition[key]), _UV_LAST[key[0]]))
    joined = by_condition[leading[0]]
    problems: list[Problem] = []
    for condition in leading[1:]:
        if _differ(leading[0], condition):
            problems += _join(joined, by_condition[condition])
        else:
            joined += by_condition[condition]
    return joined, problems


def _may_be_joined(items: Sequence[Reduced]) -> bool:
    """Whether a group is one reading or several under one stated condition, of a chart with device values."""
    one = len({_condition(item) for item in items}) == 1
    return one and items[0].conditions.measurement.known and items[0].device is not None


def _differ(first: tuple[str, str], second: tuple[str, str]) -> bool:
    """Whether a sheet would be read under both conditions: unlike M, or white and black backing."""
    backings = {first[1], second[1]}
    return first[0] != second[0] or backings == {"white", "black"}


def _join(leading: list[tuple[str, list[Reduced]]], other: list[tuple[str, list[Reduced]]]) -> list[Problem]:
    from scipy.optimize import linear_sum_assignment

    problems = []
    alike = fingerprint_likeness([items[0] for _, items in leading], [items[0] for _, items in other])
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
