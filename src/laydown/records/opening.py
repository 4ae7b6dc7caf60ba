"""Opens a studio's records: the database brought up to date, and the file store beside it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine

from laydown.records.database_errors import plain_database_errors
from laydown.records.engine import open_engine, sqlite_path
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records, fresh_id
from laydown.records.migrating import bring_up_to_date
from laydown.records.trial_facts import contradictions_of


def open_records(
    database: str,
    files: str,
    *,
    backups: Path | None = None,
    clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    new_id: Callable[[], str] = fresh_id,
) -> Records:
    """Open the records kept in a database and a file store, bringing them up to date where they are older.

    Parameters
    ----------
    database
        Its address, such as ``sqlite:///…`` or ``postgresql://user@host/name``.
    files
        A folder or any address fsspec knows.
    backups
        Where a backup is put before records are brought up to date; beside them where none is named.
    clock, new_id
        Where time and ids come from.

    Raises
    ------
    BadSetting
        An address makes no sense, or the driver for PostgreSQL is not installed.
    RefusedInput
        A newer Laydown wrote these records, or the database holds something else.
    CannotKeep
        They cannot be reached, written, or brought up to date; they are as they were.
    """
    vault = FileVault(files)
    engine = open_engine(database)

    def back_up(connection: Connection) -> Path:
        from laydown.records.backup import name_for, write_backup

        folder = backups or _beside(engine, vault)
        target = folder / name_for(clock()).replace("laydown-", "before-update-")
        return write_backup(connection, vault, target, now=clock(), with_files=False).path

    try:
        with plain_database_errors():
            bring_up_to_date(engine, back_up=back_up)
    except BaseException:
        engine.dispose()
        raise
    return Records(engine, vault, clock=clock, new_id=new_id, check=contradictions_of)


def _beside(engine: Engine, vault: FileVault) -> Path:
    """A folder for backups near the records."""
    file = sqlite_path(engine)
    near = file.parent if file else vault.folder.parent if vault.folder else Path(tempfile.gettempdir())
    return near / "backups"
