"""The records: looking at them and working on them, one transaction and one journal entry at a time."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, text
from sqlalchemy.engine import RootTransaction
from sqlalchemy.exc import DBAPIError

from laydown.kernel.errors import CannotKeep, Contradiction
from laydown.records import journal
from laydown.records.database_errors import plain_database_errors
from laydown.records.engine import BUSY_MS, WRITERS
from laydown.records.file_vault import FileVault
from laydown.records.journal import Entry
from laydown.records.look import Look
from laydown.records.work import Act, Work

_ALPHABET = "23456789abcdefghjkmnpqrstvwxyz"  # nothing that is misread on a label
_ID_LENGTH = 14
_SILENT_MS = 60_000  # after which the server lets go of a writer that has gone away without a word


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
        self._writers: set[int] = set()

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
        with self.writing() as connection:
            last, previous = journal.last_link(connection)
            work = Work(connection, self.vault, act=act, now=self.now(), seq=last + 1)
            yield work
            if act.changes:
                self._refuse_contradictions(work)
                entry = _entry_of(work)
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
        with self.engine.connect() as connection:
            if connection.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction that nobody else's writing overlaps; for what is not part of any trial."""
        thread = threading.get_ident()
        if thread in self._writers:
            raise RuntimeError("work within work: one use case is one transaction")
        self._writers.add(thread)
        try:
            with plain_database_errors(), self.engine.connect() as connection:
                connection.execution_options(writing=True)
                transaction = connection.begin()
                try:
                    _wait_for_turn(connection)
                    yield connection
                except BaseException:
                    transaction.rollback()
                    raise
                _commit(transaction)
        finally:
            self._writers.discard(thread)


def _wait_for_turn(connection: Connection) -> None:
    """SQLite has one writer by itself; PostgreSQL is asked for it."""
    if connection.dialect.name != "postgresql":
        return
    for_this_work = (
        f"set_config('lock_timeout', '{BUSY_MS}', true), "
        f"set_config('idle_in_transaction_session_timeout', '{_SILENT_MS}', true)"
    )
    # Two questions, not one, so that the limit is in force before the lock is waited for.
    connection.execute(text(f"SELECT {for_this_work}"))
    connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": WRITERS})


def _commit(transaction: RootTransaction) -> None:
    try:
        transaction.commit()
    except DBAPIError as error:
        if error.connection_invalidated:
            raise CannotKeep(
                "the database went out of reach at the very moment of keeping this, so that it may have been "
                "kept or not.",
                todo="Look whether it is there before you do it again.",
            ) from error
        transaction.rollback()
        raise


def _entry_of(work: Work) -> Entry:
    act = work.act
    return Entry(
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
