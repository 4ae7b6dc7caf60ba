"""The demo trial, made once and copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.usecases.trial.seed_demo import seed_demo
from ticking_clock import Clock


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    opened = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"))
    seed_demo(opened)
    opened.close()
    return folder


@pytest.fixture
def demo(demo_folder: Path, tmp_path: Path, clock: Clock) -> Iterator[Records]:
    """Records that hold the demo trial, to be changed at will."""
    folder = tmp_path / "own"
    shutil.copytree(demo_folder, folder)
    opened = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"), clock=clock)
    yield opened
    opened.close()
