"""A workbench over an invented result, served on loopback, so that pages are tested without counting."""

from __future__ import annotations

import importlib.util
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType

import httpx
import pytest
import uvicorn
from fastapi import FastAPI

from laydown.compute.runner import Runner
from laydown.kernel.errors import LaydownError
from laydown.records.ledger import Records
from laydown.records.measurement_files import MeasurementFile
from laydown.records.opening import open_records
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions, Progress
from laydown.usecases.comparison import Comparison
from laydown.web.app import create_app
from laydown.web.forms import TOKEN_HEADER, token_of
from laydown.web.people import OWNER_HERE
from laydown.web.serve import address_of, free_socket

SECRET = b"of the tests"


@pytest.fixture(scope="session")
def builder() -> ModuleType:
    """``tests/report/a_comparison.py``: ``build()`` and the media it builds from."""
    name = "a_comparison"
    if name not in sys.modules:
        path = Path(__file__).parents[1] / "report" / f"{name}.py"
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def comparison(builder: ModuleType) -> Comparison:
    result = builder.build()
    assert isinstance(result, Comparison)
    return result


@dataclass
class Counter:
    """Stands for the counting: notes what it was asked, and gives the invented result or refuses."""

    result: Comparison
    refusal: LaydownError | None = None
    may_go_on: threading.Event = field(default_factory=threading.Event)
    asked: list[tuple[tuple[MeasurementFile, ...], CompareOptions]] = field(default_factory=list)

    def __call__(
        self,
        files: Sequence[MeasurementFile],
        *,
        options: CompareOptions | None,
        runner: Runner | None,
        progress: Callable[[Progress], None],
    ) -> Comparison:
        assert options is not None
        self.asked.append((tuple(files), options))
        progress(Progress(1, 2, "Reading files"))
        assert self.may_go_on.wait(30)
        if self.refusal is not None:
            raise self.refusal
        return self.result


@dataclass
class Workbench:
    """A served workbench and a client that acts like one of its own pages."""

    address: str
    store: UploadStore
    records: Records
    counter: Counter

    def client(self, **headers: str) -> httpx.Client:
        own = {
            "Origin": self.address.rstrip("/"),
            "Accept": "text/html",
            TOKEN_HEADER: token_of(SECRET, OWNER_HERE),
            **headers,
        }
        return httpx.Client(base_url=self.address, headers=own, timeout=60)

    def page(self, address: str) -> str:
        """The text of a page, once its comparison is worked out."""
        with self.client() as client:
            for _ in range(600):
                answer = client.get(address)
                assert answer.status_code == 200, answer.text
                if "data-progress=" not in answer.text:
                    return answer.text
                time.sleep(0.05)
        raise AssertionError(f"{address} goes on working")


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """The address of an application served on a free port of this computer."""
    listener = free_socket("127.0.0.1", 0)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        yield address_of(listener)
    finally:
        server.should_exit = True
        thread.join(20)
        listener.close()


@contextmanager
def a_workbench(folder: Path, comparison: Comparison) -> Iterator[Workbench]:
    start, ticks = datetime(2026, 1, 31, 12, tzinfo=UTC), iter(range(100_000))
    store = UploadStore(folder, clock=lambda: start + timedelta(seconds=next(ticks)))
    counter = Counter(comparison)
    counter.may_go_on.set()
    records = open_records(f"sqlite:///{(folder / 'records.sqlite').as_posix()}", str(folder / "files"))
    app = create_app(
        store=store,
        records=records,
        secret=SECRET,
        compare=counter,
        demo=lambda: ((), CompareOptions()),
    )
    try:
        with served(app) as address:
            yield Workbench(address, store, records, counter)
    finally:
        records.close()


@pytest.fixture(scope="session")
def reading_room(tmp_path_factory: pytest.TempPathFactory, comparison: Comparison) -> Iterator[Workbench]:
    """A workbench for tests that change nothing in it."""
    with a_workbench(tmp_path_factory.mktemp("reading-room"), comparison) as bench:
        yield bench


@pytest.fixture
def bench(tmp_path: Path, comparison: Comparison) -> Iterator[Workbench]:
    """A workbench of its own."""
    with a_workbench(tmp_path, comparison) as bench:
        yield bench


@pytest.fixture
def client(bench: Workbench) -> Iterator[httpx.Client]:
    with bench.client() as client:
        yield client


@pytest.fixture
def reader(reading_room: Workbench) -> Iterator[httpx.Client]:
    with reading_room.client() as client:
        yield client
