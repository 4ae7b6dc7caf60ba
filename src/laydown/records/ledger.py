"""The records: looking at them and working on them, one transaction and one journal entry at a time."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, text

from laydown.kernel.errors import Contradiction
from laydown.records import journal
from laydown.records.engine import plain_database_errors
from laydown.records.file_vault import FileVault
from laydown.records.journal import Entry
from laydown.records.look import Look
from laydown.records.work import Act, Work

_ALPHABET = "23456789abcdefghjkmnpqrstvwxyz"  # nothing that is misread on a label
_ID_LENGTH = 14
_WRITERS = 7_242_053  # the number of the lock that lets one writer at a time work on PostgreSQL


def fresh_id() -> str:
    """A new id: short, safe in an address and on a label, and never met twice (68 random bits)."""
    return "".join(secrets.choice(_ALPHABET) for _ in range(_ID_LENGTH))


class Records:
    """Everything a studio keeps. ``check`` is asked before each commit about the trials that were touched.

    ``clock`` gives the time, ``new_id`` the ids; both are passed in so that tests can fix them.
    """

    def __init__(
        self,
        engine: Engine,
        vault: FileVault,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        new_id: Callable[[], str] = fresh_id,
        check: Callable[[Work, str], Sequence[str]] | None = None,
    ) -> None:
        self.engine = engine
        self.vault = vault
        self.clock = clock
        self.new_id = new_id
        self.check = check

    def now(self) -> datetime:
        """The time in UTC."""
        return self.clock().astimezone(UTC)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def look(self) -> Iterator[Look]:
        """Look at what is kept; everything seen in one look is of one moment."""
        with plain_database_errors(), self._reading() as connection:
            yield Look(connection, self.vault)

    @contextmanager
    def work(
        self,
        action: str,
        *,
        who: str,
        trial_id: str | None = None,
        words: str = "",
        final: bool = False,
    ) -> Iterator[Work]:
        """Work on what is kept: one transaction, one entry "who action words" in the journal.

        Raises
        ------
        Contradiction
            A trial that was touched would contradict itself; nothing is kept.
        CannotKeep
            The disk is full, or the database is out of reach; nothing is kept.
        """
        act = Act(self.new_id(), who, action, words, trial_id, final)
        with plain_database_errors(), self._writing() as connection:
            last, previous = journal.last_link(connection)
            work = Work(connection, self.vault, act=act, now=self.now(), seq=last + 1)
            yield work
            if act.changes:
                self._refuse_contradictions(work)
                entry = Entry(
                    work.seq,
                    act.id,
                    work.now,
                    act.who,
                    act.action,
                    act.words,
                    act.trial_id,
                    act.undoes,
                    act.final,
                    tuple(act.changes),
                )
                journal.append(connection, replace(entry, digest=journal.chained(entry, previous=previous)))

    def _refuse_contradictions(self, work: Work) -> None:
        if self.check is None:
            return
        touched = {
            image["id"] if change.noun == "Trial" else image.get("trial_id")
            for change in work.act.changes
            for image in (change.before, change.after)
            if image is not None
        }
        for trial_id in sorted(one for one in touched if one):
            found = self.check(work, trial_id)
            if found:
                raise Contradiction(found[0], todo="Nothing was changed.")

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self.engine.connect() as plain:
            one_moment = {"isolation_level": "REPEATABLE READ"} if plain.dialect.name == "postgresql" else {}
            connection = plain.execution_options(**one_moment)
            with connection.begin():
                yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with self.engine.connect() as plain:
            connection = plain.execution_options(writing=True)
            with connection.begin():
                if connection.dialect.name == "postgresql":
                    connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _WRITERS})
                yield connection
