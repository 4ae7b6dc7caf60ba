"""Builds what a face needs from the settings; the only reader of settings and of the user's folders."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from laydown.compute.runner import ProcessRunner, Runner, SerialRunner
from laydown.records.durable_writing import write_durably

if TYPE_CHECKING:
    from laydown.records.ledger import Records

DATA_FOLDER = "LAYDOWN_DATA"
WORKERS = "LAYDOWN_WORKERS"
DATABASE = "LAYDOWN_DATABASE"
FILES = "LAYDOWN_FILES"


def data_folder() -> Path:
    """Where the user's comparisons are kept: ``LAYDOWN_DATA``, else the usual place of this system."""
    named = os.environ.get(DATA_FOLDER)
    if named:
        return Path(named).expanduser()
    import platformdirs

    return Path(platformdirs.user_data_dir("laydown", appauthor=False))


def runner() -> Runner:
    """Several processes where there are several cores; ``LAYDOWN_WORKERS=1`` keeps work in this one."""
    workers = int(os.environ.get(WORKERS) or os.cpu_count() or 1)
    return ProcessRunner(workers=workers) if workers > 1 else SerialRunner()


def records() -> Records:
    """The studio's records: ``LAYDOWN_DATABASE`` and ``LAYDOWN_FILES``, else both in the data folder."""
    from laydown.records.opening import open_records

    folder = data_folder()
    folder.mkdir(parents=True, exist_ok=True)
    database = os.environ.get(DATABASE) or f"sqlite:///{(folder / 'records.sqlite').as_posix()}"
    return open_records(database, os.environ.get(FILES) or str(folder / "files"))


def secret() -> bytes:
    """The key that signs what pages send back; made once and kept in the data folder."""
    kept = data_folder() / "secret.key"
    if not kept.is_file():
        kept.parent.mkdir(parents=True, exist_ok=True)
        write_durably(kept, secrets.token_bytes(32))
    return kept.read_bytes()
