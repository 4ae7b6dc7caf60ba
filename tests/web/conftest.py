"""A workbench over an invented result, so that pages are tested without counting anything."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType

import pytest
from starlette.testclient import TestClient

from laydown.compute.runner import Runner
from laydown.kernel.errors import LaydownError
from laydown.records.measurement_files import MeasurementFile
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions, Progress
from laydown.usecases.comparison import Comparison
from laydown.web.app import create_app

HERE = "http://127.0.0.1:8765"
SAME_ORIGIN = {"Origin": HERE}


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
    """Stands for the counting: notes what it was asked and gives the invented result, or refuses."""

    result: Comparison
    refusal: LaydownError | None = None
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
        progress(Progress(1, 2, "Reading"))
        if self.refusal is not None:
            raise self.refusal
        return self.result


@pytest.fixture
def counter(comparison: Comparison) -> Counter:
    return Counter(comparison)


@pytest.fixture
def store(tmp_path: Path) -> UploadStore:
    ticks = iter(range(10_000))
    start = datetime(2026, 1, 31, 12, tzinfo=UTC)
    return UploadStore(tmp_path, clock=lambda: start + timedelta(seconds=next(ticks)))


@pytest.fixture
def client(store: UploadStore, counter: Counter) -> Iterator[TestClient]:
    app = create_app(store=store, compare=counter, demo=lambda: ((), CompareOptions()))
    headers = {**SAME_ORIGIN, "Accept": "text/html"}
    with TestClient(app, base_url=HERE, headers=headers, follow_redirects=False) as client:
        yield client


@pytest.fixture
def page(client: TestClient) -> Callable[[str], str]:
    """The text of a page, once it is worked out."""

    def get(address: str) -> str:
        desk = client.app.state.desk  # type: ignore[attr-defined]
        desk.job_of_demo().ended.wait(30)
        answer = client.get(address)
        assert answer.status_code == 200, answer.text
        return answer.text

    return get
