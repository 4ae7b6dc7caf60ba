"""Working on what is kept: one transaction, which becomes one entry of the journal or nothing at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, select

from laydown.kernel.errors import CannotKeep, ChangedMeanwhile
from laydown.records.file_vault import FileVault
from laydown.records.journal import Change, Entry
from laydown.records.look import Look, noun_words
from laydown.records.shapes import Kept, Thing, from_plain, to_plain, to_row
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
        self._found: dict[tuple[type[Any], str, tuple[str, ...], tuple[str, ...]], tuple[Any, ...]] = {}

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

    def find_any(
        self, noun: type[Thing], name: str, values: Iterable[str], *, order: Sequence[str] = ("id",)
    ) -> tuple[Thing, ...]:
        """As in ``Look``; what was found holds until this work changes it; nobody else writes."""
        asked = (noun, name, tuple(sorted(set(values))), tuple(order))
        if asked not in self._found:
            self._found[asked] = super().find_any(noun, name, asked[2], order=order)
        return self._found[asked]

    def add(self, thing: Thing) -> Thing:
        """Keep a new thing.

        Raises
        ------
        RefusedInput
            A field holds what it may not, the thing it refers to is not there, or there is one already.
        """
        plain = to_plain(thing)
        self.connection.execute(TABLES[type(thing)].insert().values(self._row(thing, plain)))
        self._note(type(thing), thing.id, None, plain)
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
        current = self._current(type(thing), thing.id)
        if current is None:
            raise self._unknown(type(thing))
        before, revision = current
        if seen is not None and revision != seen:
            raise ChangedMeanwhile(
                "somebody else changed this while your page was open.",
                todo="Look at it as it is now, then make your change again.",
            )
        was, becomes = to_plain(before), to_plain(thing)
        if was != becomes:
            table = TABLES[type(thing)]
            row = self._row(thing, becomes)
            self.connection.execute(table.update().where(table.c.id == thing.id).values(row))
            self._note(type(thing), thing.id, was, becomes)
        return thing

    def remove(self, noun: type[Thing], id: str) -> None:  # noqa: A002
        """Take a thing away; the journal still holds it, so that it can be brought back."""
        before = to_plain(self.get(noun, id))
        table = TABLES[noun]
        self.connection.execute(table.delete().where(table.c.id == id))
        self._note(noun, id, before, None)

    def _later(self, change: Change, entry: Entry) -> str:
        """Which act changed the same thing last, in words."""
        last = next(iter(self.entries(record_id=change.id, limit=1)), None)
        if last is None or last.seq <= entry.seq:
            return ""
        return f" (“{f'{last.who} {last.action} {last.words}'.strip()}”)"

    def put_back(self, entry: Entry) -> None:
        """Turn every change of an entry round.

        Raises
        ------
        ChangedMeanwhile
            Something it changed was changed again since.
        """
        self.act.undoes = entry.id
        for change in reversed(entry.changes):
            noun = NOUNS[change.noun]
            # Through the noun: an older version may have written these before a field was added.
            left = None if change.after is None else from_plain(noun, change.after)
            if self.seek(noun, change.id) != left:
                what = noun_words(change.noun)
                raise ChangedMeanwhile(
                    f"this {what} was changed again after that{self._later(change, entry)}.",
                    todo="Undo the later change first, in the journal.",
                )
            if change.before is None:
                self.remove(noun, change.id)
            elif left is None:
                self.add(from_plain(noun, change.before))
            else:
                self.change(from_plain(noun, change.before))

    def keep_file(self, content: bytes) -> str:
        """Put a file away; its SHA-256. The file is on the disk before anything refers to it."""
        sha256 = self.vault.keep(content)
        self.note_file(sha256, len(content))
        return sha256

    def note_file(self, sha256: str, size: int) -> None:
        """Note a file that is already in the vault, such as one that was received in pieces.

        Raises
        ------
        CannotKeep
            It is not there: nothing may refer to a file that is not kept.
        """
        if self.vault.size(sha256) != size:
            raise CannotKeep(
                "a file that was received is no longer there; nothing was changed.",
                todo="Hand it in again.",
                file=sha256,
            )
        known = select(kept_files.c.sha256).where(kept_files.c.sha256 == sha256)
        if self.connection.execute(known).first() is None:
            self.connection.execute(kept_files.insert().values(sha256=sha256, size=size, kept_at=self.now))

    def _row(self, thing: Kept, plain: dict[str, Any]) -> dict[str, Any]:
        return to_row(thing, plain) | {"revision": self.seq}

    def _note(
        self, noun: type[Any], record_id: str, before: dict[str, Any] | None, after: dict[str, Any] | None
    ) -> None:
        self.act.changes.append(Change(noun.__name__, record_id, before, after))
        self._found = {asked: found for asked, found in self._found.items() if asked[0] is not noun}
