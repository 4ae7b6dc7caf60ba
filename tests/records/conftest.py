"""A filled studio, made once for each kind of database and copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from a_studio import fill

from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from private_postgresql import Server
from ticking_clock import Clock


@pytest.fixture(scope="session")
def filled_sqlite(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a filled SQLite file and its files."""
    folder = tmp_path_factory.mktemp("filled")
    records = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=Clock())
    fill(records)
    records.close()
    return folder


@pytest.fixture(scope="session")
def filled_postgresql(
    postgresql_server: Server, empty_postgresql: str, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, Path]:
    """The name of a filled database and the folder of its files."""
    name = postgresql_server.new_database(template=empty_postgresql)
    folder = tmp_path_factory.mktemp("filled-pg")
    records = open_records(postgresql_server.address(name), str(folder / "files"), clock=Clock())
    fill(records)
    records.close()
    return name, folder


@pytest.fixture
def studio(filled_sqlite: Path, tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """What ``fill`` makes, on SQLite, an hour later; its files are in ``tmp_path / "files"``."""
    shutil.copytree(filled_sqlite, tmp_path, dirs_exist_ok=True)
    clock.advance(hours=1)
    opened = open_records(sqlite_url(tmp_path / "records.sqlite"), str(tmp_path / "files"), clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def postgresql_studio(
    postgresql_server: Server, filled_postgresql: tuple[str, Path], tmp_path: Path, clock: Clock
) -> Iterator[Records]:
    """The same on PostgreSQL."""
    template, folder = filled_postgresql
    shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
    clock.advance(hours=1)
    name = postgresql_server.new_database(template=template)
    opened = open_records(postgresql_server.address(name), str(tmp_path / "files"), clock=clock)
    yield opened
    opened.close()
    postgresql_server.drop_database(name)


@pytest.fixture(params=["studio", pytest.param("postgresql_studio", marks=pytest.mark.postgresql)])
def any_studio(request: pytest.FixtureRequest) -> Records:
    """What ``fill`` makes, once on each kind of database."""
    opened: Records = request.getfixturevalue(request.param)
    return opened
