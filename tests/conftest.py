"""Fixtures every test may use."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records, fresh_id
from laydown.records.opening import open_records
from private_postgresql import Server, private_server
from ticking_clock import Clock


def _shared() -> Path:
    named = os.environ.get("LAYDOWN_SHARED_DATA")
    return Path(named) if named else Path(__file__).resolve().parents[2] / "shared" / "data"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real measurements kept beside the checkout; skips, saying so, where it is absent."""
    folder = _shared()
    if not folder.is_dir():
        pytest.skip(f"LEFT OUT: no measured data at {folder}")
    return folder


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20260131)


TABLES = Path(__file__).parent / "tables"


@pytest.fixture(scope="session")
def tables() -> Path:
    """Published reference values, each file with its source."""
    return TABLES


@pytest.fixture
def clock() -> Clock:
    """Monday 2 March 2026, 9:00 UTC; a second passes at each reading, and ``clock.now`` may be set."""
    return Clock()


@pytest.fixture
def new_id() -> Callable[[], str]:
    """Where ids come from; a test that wants them fixed overrides this."""
    return fresh_id


@pytest.fixture(scope="session")
def empty_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with every table and nothing in it, to be copied."""
    path = tmp_path_factory.mktemp("empty") / "records.sqlite"
    open_records(sqlite_url(path), str(path.parent / "files")).close()
    return path


@pytest.fixture
def sqlite_address(empty_sqlite: Path, tmp_path: Path) -> str:
    """The address of a SQLite database with every table and nothing in it."""
    shutil.copy(empty_sqlite, tmp_path / "records.sqlite")
    return sqlite_url(tmp_path / "records.sqlite")


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[Server]:
    """A PostgreSQL server of this worker's own."""
    try:
        with private_server() as server:
            yield server
    except LookupError as none_here:
        pytest.skip(str(none_here))


@pytest.fixture(scope="session")
def empty_postgresql(postgresql_server: Server, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The name of a PostgreSQL database with every table and nothing in it, to be copied."""
    name = postgresql_server.new_database()
    files = str(tmp_path_factory.mktemp("empty-pg") / "files")
    open_records(postgresql_server.address(name), files).close()
    return name


@pytest.fixture
def postgresql_address(postgresql_server: Server, empty_postgresql: str) -> Iterator[str]:
    """The address of a PostgreSQL database with every table and nothing in it."""
    name = postgresql_server.new_database(template=empty_postgresql)
    yield postgresql_server.address(name)
    postgresql_server.drop_database(name)


@pytest.fixture
def records(
    sqlite_address: str, tmp_path: Path, clock: Clock, new_id: Callable[[], str]
) -> Iterator[Records]:
    """Empty records on SQLite, with the fixed clock."""
    opened = open_records(sqlite_address, str(tmp_path / "files"), clock=clock, new_id=new_id)
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def any_address(request: pytest.FixtureRequest) -> str:
    """The address of an empty database, once of each kind."""
    address: str = request.getfixturevalue(f"{request.param}_address")
    return address


@pytest.fixture
def any_records(
    any_address: str, tmp_path: Path, clock: Clock, new_id: Callable[[], str]
) -> Iterator[Records]:
    """Empty records, once on SQLite and once on PostgreSQL, with the fixed clock."""
    opened = open_records(any_address, str(tmp_path / "files"), clock=clock, new_id=new_id)
    yield opened
    opened.close()
