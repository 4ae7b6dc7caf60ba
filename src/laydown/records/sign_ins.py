"""Keeps passwords' hashes, sittings, pairings and failed attempts; nothing of it enters the journal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, Row, delete, func, select, text, update

from laydown.records.database_errors import plain_database_errors
from laydown.records.sign_in_tables import failed_attempts, pairings, passwords, sittings
from laydown.records.work import Work
from laydown.trials.people import ROLES, Role

_ATTEMPTS = 7_242_054  # the number of the lock under which PostgreSQL counts attempts one after the other


@dataclass(frozen=True, slots=True)
class Sitting:
    """Somebody signed in, on one device. ``account_id`` is None for a paired tablet."""

    id: str
    account_id: str | None
    name: str
    role: Role
    begun_at: datetime
    seen_at: datetime
    idle_ends_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Pairing:
    """What a tablet becomes that takes the offer."""

    name: str
    role: Role
    offered_by: str


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt to sign in, counted as failed until it succeeds; or one that must wait ``wait_s`` first."""

    wait_s: float
    numbers: tuple[int, ...] = ()


def keep_password(work: Work, account_id: str, hashed: str) -> None:
    """Keep the hash of a password in place of any before it, and end every sitting of the account.

    It is kept together with what the journal says of it, or not at all.
    """
    work.connection.execute(delete(passwords).where(passwords.c.account_id == account_id))
    work.connection.execute(
        passwords.insert().values(account_id=account_id, hash=hashed, changed_at=work.now)
    )
    end_sittings(work, account_id)


def end_sittings(work: Work, account_id: str) -> None:
    """End every sitting of an account, together with what was changed about it."""
    work.connection.execute(delete(sittings).where(sittings.c.account_id == account_id))


class SignIns:
    """Signing in, as the database knows it. Every word from outside is kept and looked up as its hash."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def password_of(self, account_id: str) -> str | None:
        """The hash of an account's password."""
        with self._reading() as connection:
            wanted = select(passwords.c.hash).where(passwords.c.account_id == account_id)
            return connection.execute(wanted).scalar()

    def begin(self, token: str, sitting: Sitting) -> None:
        """Begin a sitting; ``token`` is the hash of the word given to the browser."""
        with self._writing() as connection:
            connection.execute(
                sittings.insert().values(
                    token=token,
                    id=sitting.id,
                    account_id=sitting.account_id,
                    name=sitting.name,
                    role=sitting.role,
                    begun_at=sitting.begun_at,
                    seen_at=sitting.seen_at,
                    idle_ends_at=sitting.idle_ends_at,
                    ends_at=sitting.ends_at,
                )
            )

    def sitting(self, token: str, *, now: datetime) -> Sitting | None:
        """The sitting of a word, unless it has ended."""
        with self._reading() as connection:
            row = connection.execute(select(sittings).where(sittings.c.token == token)).first()
        if row is None or now >= row.ends_at or now >= row.idle_ends_at or row.role not in ROLES:
            return None
        return _sitting(row)

    def seen(self, token: str, *, now: datetime, idle: timedelta) -> None:
        """Note that a sitting goes on."""
        with self._writing() as connection:
            still = update(sittings).where(sittings.c.token == token)
            connection.execute(still.values(seen_at=now, idle_ends_at=now + idle))

    def end(self, *, token: str = "", sitting_id: str = "") -> None:
        """End the sitting of a word, or one sitting."""
        with self._writing() as connection:
            if token:
                connection.execute(delete(sittings).where(sittings.c.token == token))
            if sitting_id:
                connection.execute(delete(sittings).where(sittings.c.id == sitting_id))

    def running(self, *, now: datetime) -> tuple[Sitting, ...]:
        """Every sitting that has not ended, the last seen first."""
        with self._reading() as connection:
            wanted = select(sittings).where(sittings.c.ends_at > now, sittings.c.idle_ends_at > now)
            rows = connection.execute(wanted.order_by(sittings.c.seen_at.desc())).all()
        return tuple(_sitting(row) for row in rows)

    def offer(self, token: str, pairing: Pairing, *, ends_at: datetime) -> None:
        """Offer a pairing to whoever brings the word, once."""
        with self._writing() as connection:
            connection.execute(
                pairings.insert().values(
                    token=token,
                    name=pairing.name,
                    role=pairing.role,
                    offered_by=pairing.offered_by,
                    ends_at=ends_at,
                )
            )

    def offered(self, token: str, *, now: datetime) -> Pairing | None:
        """What the word offers, if it was not taken and has not ended."""
        with self._reading() as connection:
            row = connection.execute(select(pairings).where(pairings.c.token == token)).first()
        if row is None or row.taken_at is not None or now >= row.ends_at:
            return None
        return Pairing(row.name, row.role, row.offered_by)

    def take(self, token: str, *, now: datetime) -> Pairing | None:
        """Take an offer: exactly one of all who ask at once gets it."""
        offered = self.offered(token, now=now)
        if offered is None:
            return None
        with self._writing() as connection:
            free = update(pairings).where(pairings.c.token == token, pairings.c.taken_at.is_(None))
            taken = connection.execute(free.values(taken_at=now)).rowcount
        return offered if taken == 1 else None

    def attempt(
        self,
        keys: Sequence[str],
        *,
        now: datetime,
        remembered: timedelta,
        wait: Callable[[str, int, datetime | None], float],
    ) -> Attempt:
        """Begin an attempt under some keys, unless one of them must wait.

        It counts as failed before it is tried, and all are counted one after the other: of many that are
        made at once no more are tried than of as many made in a row. ``wait`` says how many seconds are
        left for a key that failed so often, and when last.
        """
        with self._writing() as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _ATTEMPTS})
            left = max(wait(key, *_failures(connection, key, now, remembered)) for key in keys)
            if left > 0:
                return Attempt(left)
            note = failed_attempts.insert().returning(failed_attempts.c.number)
            noted = (connection.execute(note.values(key=key, at=now)).scalar_one() for key in keys)
            return Attempt(0.0, tuple(noted))

    def succeeded(self, attempt: Attempt, key: str) -> None:
        """Forget an attempt, and every failure under a key."""
        gone = failed_attempts.c.number.in_(attempt.numbers) | (failed_attempts.c.key == key)
        with self._writing() as connection:
            connection.execute(delete(failed_attempts).where(gone))

    def tidy(self, *, now: datetime, keep: timedelta) -> None:
        """Forget what has ended and what is older than ``keep``."""
        with self._writing() as connection:
            connection.execute(delete(sittings).where(sittings.c.ends_at <= now))
            connection.execute(delete(pairings).where(pairings.c.ends_at <= now - keep))
            connection.execute(delete(failed_attempts).where(failed_attempts.c.at <= now - keep))

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with plain_database_errors(), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with plain_database_errors(), self._engine.connect() as plain:
            connection = plain.execution_options(writing=True)
            with connection.begin():
                yield connection


def _failures(
    connection: Connection, key: str, now: datetime, remembered: timedelta
) -> tuple[int, datetime | None]:
    """How often it failed of late, and when last; what lies far ahead is of a clock that was put back."""
    at = failed_attempts.c.at
    wanted = select(func.count(), func.max(at)).where(
        failed_attempts.c.key == key, at > now - remembered, at < now + remembered
    )
    count, last = connection.execute(wanted).one()
    return int(count), last


def _sitting(row: Row[Any]) -> Sitting:
    return Sitting(
        id=row.id,
        account_id=row.account_id,
        name=row.name,
        role=row.role,
        begun_at=row.begun_at,
        seen_at=row.seen_at,
        idle_ends_at=row.idle_ends_at,
        ends_at=row.ends_at,
    )
