"""Looking at what is kept: things by id or by field, the journal, kept files."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from sqlalchemy import Connection, Row, func, select
from sqlalchemy.sql.elements import ColumnElement, UnaryExpression

from laydown.kernel.errors import UnknownRecord
from laydown.records import journal
from laydown.records.file_vault import FileVault
from laydown.records.journal import Entry
from laydown.records.shapes import Thing, thing_from
from laydown.records.tables import TABLES

_AT_ONCE = 500  # values asked for in one statement


def noun_words(noun: str) -> str:
    """The name of a noun as words, such as "test form"."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", noun).lower()


class Look:
    """What is kept, seen at one moment."""

    def __init__(self, connection: Connection, vault: FileVault) -> None:
        self.connection = connection
        self.vault = vault

    def get(self, noun: type[Thing], id: str) -> Thing:  # noqa: A002 - it is the id
        """One thing.

        Raises
        ------
        UnknownRecord
            There is none of that id.
        """
        found = self.seek(noun, id)
        if found is None:
            raise self._unknown(noun)
        return found

    @staticmethod
    def _unknown(noun: type[Any]) -> UnknownRecord:
        return UnknownRecord(
            f"there is no such {noun_words(noun.__name__)}.",
            todo="It may have been taken away; see the journal.",
        )

    def seek(self, noun: type[Thing], id: str | None) -> Thing | None:  # noqa: A002
        """One thing, or None where there is none of that id."""
        found = self._current(noun, id)
        return None if found is None else found[0]

    def _current(self, noun: type[Thing], id: str | None) -> tuple[Thing, int] | None:  # noqa: A002
        """A thing and the number of its last change, in one question."""
        if id is None:
            return None
        table = TABLES[noun]
        row = self.connection.execute(select(table).where(table.c.id == id)).first()
        return None if row is None else (_thing(noun, row), row.revision)

    def find(
        self,
        noun: type[Thing],
        *,
        order: Sequence[str] = ("id",),
        limit: int | None = None,
        offset: int = 0,
        **equal: Any,
    ) -> tuple[Thing, ...]:
        """All things whose fields equal what is given, in order; "-name" orders downwards.

        Empty fields come first upwards; things that are alike in the order named are in the order of ids.
        """
        wanted = select(TABLES[noun]).where(*_equal(noun, equal)).order_by(*_order(noun, order))
        if limit is not None:
            wanted = wanted.limit(limit)
        rows = self.connection.execute(wanted.offset(offset) if offset else wanted).all()
        return tuple(_thing(noun, row) for row in rows)

    def find_any(
        self, noun: type[Thing], name: str, values: Iterable[str], *, order: Sequence[str] = ("id",)
    ) -> tuple[Thing, ...]:
        """All things whose field ``name`` holds one of the values, in order."""
        table = TABLES[noun]
        wanted = sorted(set(values))
        parts = [wanted[start : start + _AT_ONCE] for start in range(0, len(wanted), _AT_ONCE)]
        found: list[Thing] = []
        for part in parts:
            rows = select(table).where(table.c[name].in_(part)).order_by(*_order(noun, order))
            found += [_thing(noun, row) for row in self.connection.execute(rows).all()]
        if len(parts) > 1:
            for one in reversed(_with_id(order)):
                found.sort(key=_empty_first(one.removeprefix("-")), reverse=one.startswith("-"))
        return tuple(found)

    def count(self, noun: type[Thing], **equal: Any) -> int:
        """How many things there are whose fields equal what is given."""
        wanted = select(func.count()).select_from(TABLES[noun]).where(*_equal(noun, equal))
        return int(self.connection.execute(wanted).scalar_one())

    def revision(self, noun: type[Thing], id: str) -> int:  # noqa: A002
        """The journal's number of the last change to a thing; forms send it back (see ``Work.change``)."""
        table = TABLES[noun]
        found = self.connection.execute(select(table.c.revision).where(table.c.id == id)).scalar()
        return 0 if found is None else int(found)

    def entry(self, entry_id: str) -> Entry:
        """One entry of the journal; UnknownRecord where there is none."""
        return journal.entry_of(self.connection, entry_id)

    def entries(
        self,
        *,
        trial_id: str | None = None,
        record_id: str | None = None,
        limit: int = 50,
        offset: int = 0,
    ) -> tuple[Entry, ...]:
        """The newest entries of the journal first."""
        return journal.entries(
            self.connection, trial_id=trial_id, record_id=record_id, limit=limit, offset=offset
        )

    def undone_by(self, entry_ids: Sequence[str]) -> dict[str, str]:
        """For each of these entries that was undone, the entry that undid it."""
        return journal.undone_by(self.connection, entry_ids)

    def read_file(self, sha256: str) -> bytes:
        """A kept file, checked against its hash; AlteredFile where it is not what was kept."""
        return self.vault.read(sha256)


def _equal(noun: type[Any], equal: dict[str, Any]) -> list[ColumnElement[bool]]:
    table = TABLES[noun]
    return [
        table.c[name].is_(None) if value is None else table.c[name] == value for name, value in equal.items()
    ]


def _with_id(order: Sequence[str]) -> tuple[str, ...]:
    return (*order,) if {"id", "-id"} & set(order) else (*order, "id")


def _order(noun: type[Any], order: Sequence[str]) -> list[UnaryExpression[Any]]:
    """One order on every database: left to themselves they disagree on where empty fields go."""
    clauses = []
    for one in _with_id(order):
        column = TABLES[noun].c[one.removeprefix("-")]
        clause = column.desc() if one.startswith("-") else column.asc()
        if column.nullable:
            clause = clause.nulls_last() if one.startswith("-") else clause.nulls_first()
        clauses.append(clause)
    return clauses


def _empty_first(name: str) -> Callable[[Any], tuple[bool, Any]]:
    def key(thing: Any) -> tuple[bool, Any]:
        value = getattr(thing, name)
        return value is not None, value

    return key


def _thing(noun: type[Thing], row: Row[Any]) -> Thing:
    """A row begins with the fields of its noun, in their order (see ``columns_of``)."""
    return thing_from(noun, dict(zip(noun.__dataclass_fields__, row)))
