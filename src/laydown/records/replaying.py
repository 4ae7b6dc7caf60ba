"""Plays the whole journal again, from the first entry, and holds every table against what comes out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from laydown.kernel.errors import RefusedInput
from laydown.records.file_references import files_in, kept_files_in
from laydown.records.journal import FIRST_DIGEST, Change, Entry, chained, every_entry
from laydown.records.shapes import digest_of, from_plain, thing_from, to_plain
from laydown.records.tables import NOUNS, TABLES

_AT_ONCE = 500
_TABLES = """
CREATE TABLE state (noun TEXT, id TEXT, digest TEXT, seq INTEGER, PRIMARY KEY (noun, id)) WITHOUT ROWID;
CREATE TABLE files (sha256 TEXT PRIMARY KEY, noun TEXT, id TEXT, always INTEGER) WITHOUT ROWID;
"""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that is not as it must be: where, and what."""

    where: str
    what: str


class Replay:
    """What the journal says everything is, on the disk and not in memory; use it in a ``with`` block."""

    def __init__(self) -> None:
        self.entries = 0
        self.rows = 0
        self.last_digest = FIRST_DIGEST
        self._scratch = sqlite3.connect("")  # a file of its own that vanishes when it is closed
        self._scratch.executescript(_TABLES)

    def __enter__(self) -> Replay:
        return self

    def __exit__(self, *_: object) -> None:
        self._scratch.close()

    def play(self, connection: Connection) -> Iterator[Trouble]:
        """Go through the journal: its chain, its order, and that each act begins where the last one ended."""
        for entry, filed_under in every_entry(connection):
            where = f"journal entry {entry.seq}"
            if entry.seq != self.entries + 1:
                yield Trouble(where, f"entries missing before it: {entry.seq - self.entries - 1}.")
            if chained(entry, previous=self.last_digest) != entry.digest:
                yield Trouble(where, "it, or the one before it, is not what was written.")
            if filed_under != {change.id for change in entry.changes}:
                yield Trouble(where, "it is filed under other things than it is about.")
            self.entries, self.last_digest = entry.seq, entry.digest
            yield from self._apply(entry, where)

    def compare(self, connection: Connection) -> Iterator[Trouble]:
        """Hold every row of every table against what the journal says."""
        for noun in TABLES:
            yield from self._compare(connection, noun)

    def files(self) -> Iterator[tuple[str, str, str, bool]]:
        """Every file that was ever referred to: its SHA-256, by what (noun, id), whether it must be here."""
        for sha256, noun, id_, always in self._scratch.execute("SELECT * FROM files ORDER BY sha256"):
            yield sha256, noun, id_, bool(always)

    def refers_to(self, sha256: str) -> bool:
        """Whether anything, now or ever, refers to a file."""
        found = self._scratch.execute("SELECT 1 FROM files WHERE sha256 = ?", (sha256,)).fetchone()
        return found is not None

    def _apply(self, entry: Entry, where: str) -> Iterator[Trouble]:
        for change in entry.changes:
            told = f"{where}, {change.noun} {change.id}"
            try:
                before, after = _normal(change, change.before), _normal(change, change.after)
            except (RefusedInput, KeyError) as error:
                yield Trouble(told, f"it cannot be read: {error}")
                continue
            was = self._scratch.execute(
                "SELECT digest FROM state WHERE noun = ? AND id = ?", (change.noun, change.id)
            ).fetchone()
            if (was[0] if was else None) != _digest(before):
                yield Trouble(told, "it does not begin where the entries before it end.")
            if after is None:
                self._scratch.execute("DELETE FROM state WHERE noun = ? AND id = ?", (change.noun, change.id))
                continue
            self._scratch.execute(
                "INSERT OR REPLACE INTO state VALUES (?, ?, ?, ?)",
                (change.noun, change.id, _digest(after), entry.seq),
            )
            self._note_files(change.noun, change.id, after)

    def _note_files(self, noun: str, record_id: str, plain: Mapping[str, Any]) -> None:
        always = frozenset(kept_files_in(noun, plain))
        for sha256 in files_in(plain):
            self._scratch.execute(
                "INSERT INTO files VALUES (?, ?, ?, ?) ON CONFLICT (sha256) DO UPDATE SET "
                "noun = CASE WHEN always THEN noun ELSE excluded.noun END, "
                "id = CASE WHEN always THEN id ELSE excluded.id END, "
                "always = max(always, excluded.always)",
                (sha256, noun, record_id, sha256 in always),
            )

    def _compare(self, connection: Connection, noun: type[Any]) -> Iterator[Trouble]:
        """Walk rows and journal side by side, in the order of ids."""
        table = TABLES[noun]
        told = iter(
            self._scratch.execute(
                "SELECT id, digest, seq FROM state WHERE noun = ? ORDER BY id", (noun.__name__,)
            )
        )
        expected = next(told, None)
        options = {"stream_results": True, "yield_per": _AT_ONCE}
        rows = connection.execute(select(table).order_by(table.c.id), execution_options=options)
        for row in rows.mappings():
            self.rows += 1
            while expected is not None and expected[0] < row["id"]:
                yield Trouble(f"{noun.__name__} {expected[0]}", "the journal has it, its table has not.")
                expected = next(told, None)
            where = f"{noun.__name__} {row['id']}"
            if expected is None or expected[0] != row["id"]:
                yield Trouble(where, "its table has it, the journal has not.")
                continue
            yield from _row_troubles(noun, dict(row), expected, where)
            expected = next(told, None)
        while expected is not None:
            yield Trouble(f"{noun.__name__} {expected[0]}", "the journal has it, its table has not.")
            expected = next(told, None)


def _row_troubles(
    noun: type[Any], values: dict[str, Any], expected: tuple[str, str, int], where: str
) -> Iterator[Trouble]:
    revision = values.pop("revision")
    try:
        plain = to_plain(thing_from(noun, values))
    except RefusedInput as error:
        yield Trouble(where, f"its row cannot be read: {error}")
        return
    if _digest(plain) != expected[1]:
        yield Trouble(where, "its row is not what the journal says.")
    elif revision != expected[2]:
        yield Trouble(where, f"its row names entry {revision} as its last change; it was {expected[2]}.")


def _normal(change: Change, image: dict[str, Any] | None) -> dict[str, Any] | None:
    """An image as today's nouns have it: fields that came later stand at what they are without being said."""
    if image is None:
        return None
    return to_plain(from_plain(NOUNS[change.noun], image))


def _digest(plain: Mapping[str, Any] | None) -> str | None:
    return None if plain is None else digest_of(plain)
