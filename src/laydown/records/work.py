"""Working on what is kept: one transaction, which becomes one entry of the journal or nothing at all."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from laydown.kernel.errors import ChangedMeanwhile
from laydown.records.file_vault import FileVault
from laydown.records.journal import Change, Entry
from laydown.records.look import Look
from laydown.records.shapes import Thing, from_plain, to_plain
from laydown.records.tables import NOUNS, TABLES, kept_files


@dataclass(slots=True)
class Act:
    """What the entry in the making says so far."""

    id: str
    who: str
    action: str
    words: str
    trial_id: str | None
    final: bool
    undoes: str | None = None
    changes: list[Change] = field(default_factory=list)


class Work(Look):
    """One transaction on what is kept; it becomes one entry of the journal, or nothing at all."""

    def __init__(
        self, connection: Connection, vault: FileVault, *, act: Act, now: datetime, seq: int
    ) -> None:
        super().__init__(connection, vault)
        self.now = now
        self.act = act
        self.seq = seq

    @property
    def entry_id(self) -> str:
        """The id of the entry this work becomes."""
        return self.act.id

    def say(self, words: str) -> None:
        """Add words to the entry."""
        self.act.words = f"{self.act.words} {words}".strip()

    def about(self, trial_id: str) -> None:
        """Note which trial this is about, where that was not known at the start."""
        self.act.trial_id = trial_id

    def add(self, thing: Thing) -> Thing:
        """Keep a new thing."""
        self._write(type(thing).__name__, thing.id, None, to_plain(thing))
        return thing

    def change(self, thing: Thing, *, seen: int | None = None) -> Thing:
        """Keep a new state of a thing; where nothing differs, nothing is written.

        Raises
        ------
        UnknownRecord
            It is not kept.
        ChangedMeanwhile
            ``seen`` is given and somebody changed it after that revision.
        """
        before = self.get(type(thing), thing.id)
        if seen is not None and self.revision(type(thing), thing.id) != seen:
            raise ChangedMeanwhile(
                "somebody else changed this while your page was open.",
                todo="Look at it as it is now, then make your change again.",
            )
        if before != thing:
            self._write(type(thing).__name__, thing.id, to_plain(before), to_plain(thing))
        return thing

    def remove(self, noun: type[Thing], id: str) -> None:  # noqa: A002
        """Take a thing away; the journal still holds it, so that it can be brought back."""
        before = self.get(noun, id)
        self._write(noun.__name__, id, to_plain(before), None)

    def put_back(self, entry: Entry) -> None:
        """Turn every change of an entry round.

        Raises
        ------
        ChangedMeanwhile
            Something it changed was changed again since.
        """
        self.act.undoes = entry.id
        for change in reversed(entry.changes):
            now = self.seek(NOUNS[change.noun], change.id)
            if (None if now is None else to_plain(now)) != change.after:
                raise ChangedMeanwhile(
                    f"this {change.noun.lower()} was changed again after that.",
                    todo="Undo the later change first.",
                )
            self._write(change.noun, change.id, change.after, change.before)

    def keep_file(self, content: bytes) -> str:
        """Put a file away; its SHA-256. The file is on the disk before anything refers to it."""
        sha256 = self.vault.keep(content)
        self.note_file(sha256, len(content))
        return sha256

    def note_file(self, sha256: str, size: int) -> None:
        """Note a file that is already in the vault."""
        known = select(kept_files.c.sha256).where(kept_files.c.sha256 == sha256)
        if self.connection.execute(known).first() is None:
            self.connection.execute(kept_files.insert().values(sha256=sha256, size=size, kept_at=self.now))

    def _write(
        self, noun: str, record_id: str, before: dict[str, Any] | None, after: dict[str, Any] | None
    ) -> None:
        table = TABLES[NOUNS[noun]]
        if after is None:
            self.connection.execute(table.delete().where(table.c.id == record_id))
        else:
            row = _row(NOUNS[noun], after) | {"revision": self.seq}
            if before is None:
                self.connection.execute(table.insert().values(**row))
            else:
                self.connection.execute(table.update().where(table.c.id == record_id).values(**row))
        self.act.changes.append(Change(noun, record_id, before, after))


def _row(noun: type[Any], plain: dict[str, Any]) -> dict[str, Any]:
    """Column values: moments and days as such, compound fields as plain values."""
    thing = from_plain(noun, plain)
    row = {}
    for name, value in plain.items():
        own = getattr(thing, name)
        row[name] = value if isinstance(value, list | dict) else own
    return row
