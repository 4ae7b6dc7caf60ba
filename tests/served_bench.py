"""A workbench served once for many tests, each with empty records of its own behind it."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import uvicorn

from laydown.records.engine import open_engine, sqlite_url
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.measurement_files import MeasurementFile
from laydown.records.opening import open_records
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions
from laydown.web.app import create_app
from laydown.web.forms import TOKEN_HEADER, token_of
from laydown.web.network import Network
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


@dataclass(frozen=True, slots=True)
class Certificate:
    """A certificate and its key, as files."""

    certificate: Path
    key: Path


@contextmanager
def served_bench(folder: Path) -> Iterator[ServedBench]:
    """Serve a workbench on a free port of this computer."""
    records = open_records(sqlite_url(folder / "first.sqlite"), str(folder / "first-files"))
    try:
        with served_over(records, folder / "uploads") as address:
            yield ServedBench(address, records)
    finally:
        records.close()


@contextmanager
def served_over(
    records: Records,
    uploads: Path,
    *,
    demo: Callable[[], tuple[Sequence[MeasurementFile], CompareOptions]] = lambda: ((), CompareOptions()),
    lan: bool = False,
    certificate: Certificate | None = None,
) -> Iterator[str]:
    """Serve records on a free port of this computer; with ``lan`` everybody signs in, as on a network."""
    network = Network(frozenset({"127.0.0.1"}), "", tls=certificate is not None) if lan else None
    app = create_app(
        store=UploadStore(uploads, clock=lambda: datetime.now(UTC)),
        records=records,
        secret=SECRET,
        demo=demo,
        network=network,
    )
    listener = free_socket("127.0.0.1", 0)
    config = uvicorn.Config(
        app,
        log_level="error",
        access_log=False,
        ssl_certfile=certificate.certificate if certificate else None,
        ssl_keyfile=certificate.key if certificate else None,
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        address = address_of(listener)
        yield address.replace("http:", "https:") if certificate else address
    finally:
        server.should_exit = True
        thread.join(30)
        listener.close()
