"""Keeps the studio's folder watched while the workbench is served."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from laydown.records.ledger import Records
from laydown.usecases.measuring.watch_studio_folder import watch_studio_folder

_LONGEST_END = 30.0


@contextmanager
def folder_watched(records: Records, data_folder: Path) -> Iterator[None]:
    """Watch in a thread of its own until the ``with`` block ends; a file being imported is finished first."""
    stop = threading.Event()
    thread = threading.Thread(
        target=watch_studio_folder,
        args=(records, data_folder),
        kwargs={"stop": stop},
        name="laydown-folder",
        daemon=True,
    )
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(_LONGEST_END)
