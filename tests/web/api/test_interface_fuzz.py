"""Whatever a program sends to the JSON interface is answered as its description says, and never breaks it."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from conftest import SECRET, served
from laydown.records.ledger import Records
from laydown.records.tables import NOUNS
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.trial.seed_demo import seed_demo
from laydown.web.app import create_app
from laydown.web.forms import TOKEN_HEADER, token_of
from laydown.web.people import OWNER_HERE

# A value that fits its schema may still be refused for what it means, so acceptance is not checked.
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
]
EXAMPLES = int(os.environ.get("LAYDOWN_FUZZ_EXAMPLES", "12"))


@pytest.fixture
def address(records: Records, tmp_path: Path) -> Iterator[str]:
    """The demo trial behind a served interface."""
    seed_demo(records, who="the tests")
    app = create_app(
        store=UploadStore(tmp_path / "uploads", clock=records.clock),
        records=records,
        secret=SECRET,
        demo=lambda: ((), CompareOptions()),
    )
    with served(app) as address:
        yield address


def _known_ids(records: Records) -> dict[str, list[str]]:
    with records.look() as look:
        found = {name: [thing.id for thing in look.find(noun, limit=6)] for name, noun in NOUNS.items()}
        found["Entry"] = [entry.id for entry in look.entries(limit=6)]
    return found


def test_no_request_breaks_it(records: Records, address: str) -> None:
    """Each operation of the description, with values made to order and values made to harm."""
    schema = schemathesis.openapi.from_url(f"{address}api/v1/openapi.json")
    known = _known_ids(records)
    headers = {TOKEN_HEADER: token_of(SECRET, OWNER_HERE), "Origin": address.rstrip("/")}
    tried = 0
    for result in schema.get_all_operations():
        operation = result.ok()

        @given(data=st.data(), case=operation.as_strategy())
        @settings(
            max_examples=EXAMPLES,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        def ask(data: Any, case: Any) -> None:
            nonlocal tried
            for name in case.path_parameters or {}:
                kind = {"trial_id": "Trial", "sheet_id": "Sheet", "run_id": "BenchRun"}.get(name)
                kind = kind or {"candidate_id": "Candidate", "reading_id": "Reading"}.get(name)
                kind = kind or {"event_id": "SheetEvent", "entry_id": "Entry"}.get(name)
                pool = known.get(kind or "", []) or [one for ids in known.values() for one in ids]
                if pool and data.draw(st.booleans()):
                    case.path_parameters[name] = data.draw(st.sampled_from(pool))
            answer = case.call(headers=headers, timeout=60)
            tried += 1
            assert answer.status_code < 500, (case.as_curl_command(), answer.text)
            case.validate_response(answer, checks=CHECKS)

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of the library that makes the values up
            ask()
    assert tried > 200
