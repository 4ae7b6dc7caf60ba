"""Builds what a face needs from the settings; the only reader of settings and of the user's folders."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from laydown.compute.runner import ProcessRunner, Runner, SerialRunner
from laydown.kernel.errors import CannotKeep
from laydown.records.private_folder import make_private_folder
from laydown.records.secret_key import kept_secret

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
    """The studio's records: ``LAYDOWN_DATABASE`` and ``LAYDOWN_FILES``, else both in the data folder.

    Raises
    ------
    BadSetting
        One of them makes no sense.
    CannotKeep
        The records cannot be reached, written, or brought up to date; they are as they were.
    """
    from laydown.records.engine import sqlite_url
    from laydown.records.opening import open_records

    folder = data_folder()
    try:
        make_private_folder(folder)
    except OSError as error:
        raise CannotKeep(
            f"the data folder cannot be made ({error.strerror}).",
            todo=f"Name another in {DATA_FOLDER}.",
            file=str(folder),
        ) from error
    return open_records(
        os.environ.get(DATABASE) or sqlite_url(folder / "records.sqlite"),
        os.environ.get(FILES) or str(folder / "files"),
        backups=backups_folder(),
    )


def backups_folder() -> Path:
    """Where backups are put that nobody named a place for."""
    return data_folder() / "backups"


def secret() -> bytes:
    """The key that signs what pages send back; made once and kept in the data folder."""
    return kept_secret(data_folder() / "secret.key")
