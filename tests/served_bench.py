"""A workbench served once for many tests, each with empty records of its own behind it."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import uvicorn

from laydown.records.engine import open_engine, sqlite_url
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions
from laydown.web.app import create_app
from laydown.web.forms import TOKEN_HEADER, token_of
from laydown.web.people import OWNER_HERE
from laydown.web.serve import address_of, free_socket
from ticking_clock import Clock

SECRET = b"of the bench's tests"


@dataclass
class ServedBench:
    """A served workbench; ``fresh`` puts empty records and a fixed clock behind it."""

    address: str
    records: Records

    def fresh(self, empty_sqlite: Path, folder: Path) -> Clock:
        """Begin with nothing kept, on Monday 2 March 2026, 9:00 UTC; the clock to set."""
        shutil.copy(empty_sqlite, folder / "records.sqlite")
        self.records.engine.dispose()
        self.records.engine = open_engine(sqlite_url(folder / "records.sqlite"))
        self.records.vault = FileVault(str(folder / "files"))
        clock = Clock()
        self.records.clock = clock
        return clock

    def client(self, **headers: str) -> httpx.Client:
        """A client that acts like one of the workbench's own pages."""
        own = {
            "Origin": self.address.rstrip("/"),
            "Accept": "text/html",
            TOKEN_HEADER: token_of(SECRET, OWNER_HERE),
            **headers,
        }
        return httpx.Client(base_url=self.address, headers=own, timeout=60)


@contextmanager
def served_bench(folder: Path) -> Iterator[ServedBench]:
    """Serve a workbench on a free port of this computer."""
    records = open_records(sqlite_url(folder / "first.sqlite"), str(folder / "first-files"))
    store = UploadStore(folder / "uploads", clock=lambda: datetime.now(UTC))
    app = create_app(store=store, records=records, secret=SECRET, demo=lambda: ((), CompareOptions()))
    listener = free_socket("127.0.0.1", 0)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        yield ServedBench(address_of(listener), records)
    finally:
        server.should_exit = True
        thread.join(20)
        listener.close()
        records.close()
