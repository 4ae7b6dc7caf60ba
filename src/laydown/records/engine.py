"""Opens the database: SQLite in the user's own folder, or PostgreSQL where the studio names one."""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, make_url
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from laydown.kernel.errors import BadSetting

BUSY_MS = 15_000
WRITERS = 7_242_053  # the number of the lock that lets one writer at a time work on PostgreSQL
_POOL = 20
_OVERFLOW = 30  # more than there are threads that serve pages
_PRAGMAS = (
    f"busy_timeout = {BUSY_MS}",
    "foreign_keys = ON",
    "synchronous = FULL",  # what was acknowledged outlives a power cut
)


def sqlite_url(path: Path) -> str:
    """The address of a SQLite file."""
    return URL.create("sqlite", database=path.as_posix()).render_as_string()


def sqlite_path(engine: Engine) -> Path | None:
    """The file of a SQLite database; None for any other and for one in memory."""
    name = engine.url.database
    if engine.dialect.name != "sqlite" or not name or name == ":memory:":
        return None
    return Path(name)


def open_engine(url: str) -> Engine:
    """An engine for a database address such as ``sqlite:///…`` or ``postgresql://user@host/name``.

    Raises
    ------
    BadSetting
        It is no such address, or the driver for PostgreSQL is not installed.
    """
    try:
        wanted = make_url(url)
        if wanted.get_backend_name() == "sqlite" and wanted.database:
            return _sqlite(wanted)
        if wanted.get_backend_name() == "postgresql":
            return _postgresql(wanted)
        raise BadSetting(
            f'records cannot be kept in "{wanted.render_as_string()}".',
            todo="Name a SQLite file or PostgreSQL.",
        )
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        # Not repeated here: there may be a password in it.
        raise BadSetting(
            "the address of the database cannot be understood.", todo="See the guide, LAYDOWN_DATABASE."
        ) from error
    except ImportError as error:
        raise BadSetting(
            "the driver for PostgreSQL is not installed.",
            todo='Install it with: pip install "laydown[postgresql]"',
        ) from error


def _postgresql(url: URL) -> Engine:
    return create_engine(
        url.set(drivername="postgresql+psycopg"),
        pool_size=_POOL,
        max_overflow=_OVERFLOW,
        pool_pre_ping=True,
        connect_args={"connect_timeout": 10, "application_name": "laydown"},
    )


def _sqlite(url: URL) -> Engine:
    engine = create_engine(
        url,
        connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False},
        pool_size=_POOL,
        max_overflow=_OVERFLOW,
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        # The driver's own transaction handling is off: "begin" below says which kind of transaction it is.
        connection.isolation_level = None
        for pragma in _PRAGMAS:
            connection.execute(f"PRAGMA {pragma}").close()
        _write_ahead(connection)

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _write_ahead(connection: Any) -> None:
    """Write ahead, so that nobody who looks waits for one who works.

    Switching it on needs the file for itself for a moment, and SQLite does not wait for that by itself: two
    programs that open a new file at once would see one of them refused.
    """
    until = time.monotonic() + BUSY_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").close()
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)
