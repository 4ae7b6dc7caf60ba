"""Opens a studio's records: the database brought up to date, and the file store beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from laydown.records.database_errors import plain_database_errors
from laydown.records.engine import open_engine
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records, fresh_id
from laydown.records.tables import metadata
from laydown.records.trial_facts import contradictions_of


def open_records(
    database: str,
    files: str,
    *,
    clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    new_id: Callable[[], str] = fresh_id,
) -> Records:
    """Open the records kept in a database (its address) and a file store (a folder or fsspec address)."""
    engine = open_engine(database)
    with plain_database_errors():
        metadata.create_all(engine)
    return Records(engine, FileVault(files), clock=clock, new_id=new_id, check=contradictions_of)
