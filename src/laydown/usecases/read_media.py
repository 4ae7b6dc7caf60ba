"""Reads measurement files and sorts them into media and sheets; every problem is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Protocol, TypeVar, cast

from laydown.compute.runner import Runner
from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import LaydownError
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.science.findings.doubts import settle_doubts
from laydown.science.findings.likeness import leave_out_unlike
from laydown.science.findings.pairing import Sheet, gather_sheets, numbers_of
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.readings import read_measurements
from laydown.usecases.trial_file import StatedAbout, Trial

T = TypeVar("T")
A = TypeVar("A", Floats | None, Ints | None)


class Source(Protocol):
    """One file of readings of one medium, wherever it lies; plain enough to be sent to another process."""

    @property
    def candidate(self) -> str:
        """The medium it belongs to."""
        ...

    @property
    def name(self) -> str:
        """The file's name in every message; no two files of a comparison share one."""
        ...

    def read(self) -> bytes:
        """Its bytes."""
        ...


@dataclass(frozen=True, slots=True)
class AboutFile:
    """What is known of one file from elsewhere: the sheet it was read on, and what it does not say itself."""

    sheet: str
    stated: StatedAbout


@dataclass(frozen=True, slots=True, eq=False)
class ReadFile:
    """What one file gave: readings brought to a common form, and problems."""

    candidate: str
    readings: tuple[Reduced, ...]
    problems: tuple[Problem, ...]


NOTHING_KNOWN: Mapping[str, AboutFile] = MappingProxyType({})


@dataclass(frozen=True, slots=True, eq=False)
class Medium:
    """One medium and its sheets."""

    name: str
    sheets: tuple[Sheet, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Media:
    """All media that gave anything, in the order they were given, and every problem met."""

    media: tuple[Medium, ...]
    problems: tuple[Problem, ...]


def read_one(file: Source) -> ReadFile:
    """Read and reduce one file; a refused file becomes a problem, so that the others are still compared."""
    try:
        read = read_measurements(file.read(), file=file.name)
    except LaydownError as error:
        return ReadFile(file.candidate, (), (_problem_of(error),))
    readings: list[Reduced] = []
    problems = list(read.problems)
    for table in read.tables:
        try:
            readings.append(reduce_readings(table))
        except LaydownError as error:
            problems.append(_problem_of(error))
    return ReadFile(file.candidate, tuple(readings), tuple(problems))


def read_media(
    files: Sequence[Source],
    *,
    trial: Trial,
    about: Mapping[str, AboutFile] = NOTHING_KNOWN,
    runner: Runner,
    progress: Callable[[int], None],
) -> Media:
    """Read every file, add what the trial file states, and gather sheets by medium.

    ``about`` holds, by file name, what is known of single files; ``progress`` is told the number of files
    read so far.
    """
    by_medium: dict[str, list[Reduced]] = {file.candidate: [] for file in files}
    problems: list[Problem] = []
    charts = _SharedCharts()
    for done, read in enumerate(runner.map(read_one, files), start=1):
        stated = trial.candidates.get(read.candidate)
        for item in read.readings:
            known = about[item.file].stated if item.file in about else None
            by_medium[read.candidate].append(charts.shared(_with_stated(_with_stated(item, known), stated)))
        problems += read.problems
        progress(done)
    problems += _strangers(trial, by_medium) + _copied(by_medium)
    media = []
    named = {file: known.sheet for file, known in about.items()}
    for name, readings in by_medium.items():
        alike, odd = leave_out_unlike(readings)
        sure, doubts = settle_doubts(alike)
        sheets, found = gather_sheets(sure, named=named)
        problems += [*odd, *doubts, *found]
        if sheets:
            media.append(Medium(name, sheets))
        else:
            problems.append(
                Problem("error", f"nothing of {name} could be used.", todo="See the files above.")
            )
    return Media(tuple(media), tuple(problems))


class _SharedCharts:
    """Keeps one copy of what readings of the same chart have in common, however many sheets there are."""

    def __init__(self) -> None:
        self._ids: dict[tuple[str, ...], tuple[str, ...]] = {}
        self._arrays: dict[tuple[object, bytes], Any] = {}

    def shared(self, item: Reduced) -> Reduced:
        """The same reading, on the kept copies of ids, device values, places and wavelengths."""
        return replace(
            item,
            ids=self._ids.setdefault(item.ids, item.ids),
            device=self._one(item.device),
            positions=self._one(item.positions),
            wavelengths_nm=self._one(item.wavelengths_nm),
        )

    def _one(self, array: A) -> A:
        if array is None:
            return array
        key = ((array.shape, array.dtype.str), array.tobytes())
        return cast("A", self._arrays.setdefault(key, array))


def _with_stated(item: Reduced, stated: StatedAbout | None) -> Reduced:
    """Fill in what the measurement file does not say; the file's own word wins."""
    if stated is None:
        return item
    own = item.conditions
    conditions = replace(
        own,
        measurement=_either(own.measurement, stated.condition, where=stated.where),
        backing=_either(own.backing, stated.backing, where=stated.where),
        finish=_either(own.finish, stated.finish, where=stated.where),
        age_hours=_either(own.age_hours, stated.age_hours, where=stated.where),
    )
    return replace(item, conditions=conditions)


def _either(own: Stated[T], told: T | None, *, where: str) -> Stated[T]:
    return own if own.known or told is None else Stated(told, where)


def _strangers(trial: Trial, by_medium: Mapping[str, object]) -> list[Problem]:
    return [
        Problem(
            "warning",
            f'the trial file speaks of "{name}", but there are no measurements of it.',
            todo="Spell it like the medium's folder.",
        )
        for name in trial.candidates
        if name not in by_medium
    ]


def _copied(by_medium: Mapping[str, Sequence[Reduced]]) -> list[Problem]:
    """Files of one medium that repeat another medium's numbers exactly."""
    seen: dict[bytes, tuple[str, str]] = {}
    told = []
    for name, readings in by_medium.items():
        for item in readings:
            if not (numbers := numbers_of(item)):
                continue
            first, file = seen.setdefault(numbers, (name, item.file))
            if first != name:
                what = f"its readings are the same, number for number, as those of {file}, another medium."
                told.append(Problem("warning", what, todo="Was a file copied by mistake?", file=item.file))
    return told


def _problem_of(error: LaydownError) -> Problem:
    return Problem("error", error.what, todo=error.todo, file=error.file, line=error.line, patch=error.patch)
