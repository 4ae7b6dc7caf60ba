"""One handed-in file, read before anything is kept of it: what it holds and what it says of itself."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from laydown.kernel.errors import LaydownError, UnreadableFile
from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.records.upload_names import clean_path
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.readings import read_measurements

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class HandedIn:
    """A file as it came: the name it came under, folders parted by ``/``, and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True, eq=False)
class ParsedFile:
    """A file that can be used.

    ``measured_at`` is None where the file states no time of day; ``date_words`` is its date as written.
    ``finish`` and ``age_hours`` are what it states of the print.
    """

    name: str
    content: bytes
    sha256: str
    tables: tuple[Reduced, ...]
    problems: tuple[Problem, ...]
    measured_at: datetime | None
    date_words: str
    instrument: str
    finish: str
    age_hours: float | None

    @property
    def conditions(self) -> tuple[str, ...]:
        """Each condition it was read under, such as "M1" or "M0, black backing"."""
        return tuple(dict.fromkeys(_condition(table) for table in self.tables))

    @property
    def patches(self) -> int:
        """How many patches were read, under the condition with most."""
        return max(len(table.ids) for table in self.tables)

    @property
    def has_device_values(self) -> bool:
        """Whether it says which device colour each patch is."""
        return any(table.device is not None for table in self.tables)


def parse_file(handed: HandedIn, *, time_zone: str) -> ParsedFile:
    """Read a file that was handed in; ``time_zone`` is the studio's, for dates that name none.

    Raises
    ------
    RefusedInput
        The file cannot mean measurements, or nothing in it can be used; says where and what to do.
    """
    name = clean_path(handed.name)
    read = read_measurements(handed.content, file=name)
    tables, problems = [], list(read.problems)
    for table in read.tables:
        try:
            tables.append(reduce_readings(table))
        except LaydownError as error:
            problems.append(Problem("error", error.what, todo=error.todo, file=name))
    if not tables:
        first = next((one for one in problems if one.severity == "error"), None)
        raise UnreadableFile(
            first.what if first else "there are no readings in this file.",
            todo=first.todo if first else "Export the readings again.",
            file=name,
        )
    stated = [table.conditions for table in tables]
    date = _first(one.date for one in stated)
    moments = [moment_in_file(one.date.value, time_zone=time_zone) for one in stated]
    return ParsedFile(
        name=name,
        content=handed.content,
        sha256=hashlib.sha256(handed.content).hexdigest(),
        tables=tuple(tables),
        problems=tuple(problems),
        measured_at=min(filter(None, moments), default=None),
        date_words=date or "",
        instrument=_first(one.instrument for one in stated) or "",
        finish=_first(one.finish for one in stated) or "",
        age_hours=_first(one.age_hours for one in stated),
    )


def _condition(table: Reduced) -> str:
    backing = table.conditions.backing.value
    return table.measurement if backing in (None, "white") else f"{table.measurement}, {backing} backing"


def _first(stated: Iterable[Stated[T]]) -> T | None:
    return next((one.value for one in stated if one.value is not None), None)


def moment_in_file(text: str | None, *, time_zone: str) -> datetime | None:
    """A date with a time of day as a moment in UTC; None for a day alone or words.

    ``time_zone`` is the studio's, for one that names none.
    """
    if text is None or "T" not in text:
        return None
    try:
        told = datetime.fromisoformat(text)
        local = told if told.tzinfo else told.replace(tzinfo=ZoneInfo(time_zone) if time_zone else None)
        return local.astimezone(UTC)
    except (ValueError, OverflowError, ZoneInfoNotFoundError):
        return None
