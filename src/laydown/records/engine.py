"""Opens the database: SQLite in the user's own folder, or PostgreSQL where the studio names one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, OperationalError

from laydown.kernel.errors import BadSetting, CannotKeep, RefusedInput

BUSY_MS = 15_000
_FULL = ("disk is full", "database or disk is full", "no space left", "could not extend file")
_READ_ONLY = ("readonly", "read-only", "unable to open", "permission denied")


def sqlite_url(path: Path) -> str:
    """The address of a SQLite file."""
    return f"sqlite:///{path.as_posix()}"


def open_engine(url: str) -> Engine:
    """An engine for a database address such as ``sqlite:///…`` or ``postgresql://user@host/name``.

    Raises
    ------
    BadSetting
        It is no such address, or the driver for PostgreSQL is not installed.
    """
    try:
        wanted = make_url(url)
        if wanted.get_backend_name() == "sqlite":
            return _sqlite(url)
        if wanted.get_backend_name() == "postgresql":
            return create_engine(
                wanted.set(drivername="postgresql+psycopg"), pool_size=10, max_overflow=20, pool_pre_ping=True
            )
    except (ArgumentError, NoSuchModuleError) as error:
        raise BadSetting(
            f'"{url}" is no database address.', todo="See the guide, LAYDOWN_DATABASE."
        ) from error
    except ImportError as error:
        raise BadSetting(
            "the driver for PostgreSQL is not installed.",
            todo='Install it with: pip install "laydown[postgresql]"',
        ) from error
    raise BadSetting(
        f'"{wanted.get_backend_name()}" is not a database Laydown keeps records in.',
        todo="Use SQLite or PostgreSQL.",
    )


def _sqlite(url: str) -> Engine:
    engine = create_engine(url, connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False})

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        # The driver's own transaction handling is off: "begin" below says which kind of transaction it is.
        connection.isolation_level = None
        for pragma in (
            f"busy_timeout = {BUSY_MS}",
            "journal_mode = WAL",
            "foreign_keys = ON",
            "synchronous = FULL",
        ):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def plain_database_errors() -> Iterator[None]:
    """Turns trouble with the database into sentences: full disk, read-only folder, server out of reach."""
    try:
        yield
    except OperationalError as error:
        said = str(error.orig).lower()
        if any(word in said for word in _FULL):
            raise CannotKeep(
                "the disk is full; nothing was changed.", todo="Free some space and try again."
            ) from error
        if any(word in said for word in _READ_ONLY):
            raise CannotKeep(
                "the records may not be written (read-only folder or no permission); nothing was changed.",
                todo="Check the data folder's permissions.",
            ) from error
        if "locked" in said:
            raise CannotKeep(
                "another program holds the records; nothing was changed.", todo="Try again."
            ) from error
        raise CannotKeep(f"the database could not be used ({error.orig}); nothing was changed.") from error
    except DBAPIError as error:
        if "foreign key" in str(error.orig).lower():
            raise RefusedInput(
                "something else still refers to this.", todo="Take that away first, or leave this in place."
            ) from error
        raise
