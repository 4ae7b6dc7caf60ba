"""No address of the interface hides another: what comes after the id of a trial goes to its own act."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from conftest import SECRET, served
from laydown.records.ledger import Records
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.web.app import create_app
from laydown.web.forms import TOKEN_HEADER, token_of
from laydown.web.people import OWNER_HERE


@pytest.fixture
def client(records: Records, tmp_path: Path) -> Iterator[httpx.Client]:
    app = create_app(
        store=UploadStore(tmp_path / "uploads", clock=records.clock),
        records=records,
        secret=SECRET,
        demo=lambda: ((), CompareOptions()),
    )
    with served(app) as address:
        headers = {"Origin": address.rstrip("/"), TOKEN_HEADER: token_of(SECRET, OWNER_HERE)}
        with httpx.Client(base_url=f"{address}api/v1", headers=headers, timeout=60) as client:
            yield client


@pytest.fixture
def trial_id(records: Records) -> str:
    return begin_trial(records, "A week", who="Ada").thing.id


def test_readings_are_handed_in(client: httpx.Client, trial_id: str) -> None:
    answer = client.post(f"/trials/{trial_id}/readings", files={"files": ("K7.txt", b"no readings")})
    assert answer.status_code == 201, answer.text
    assert [one["name"] for one in answer.json()["thing"]["not_taken"]] == ["K7.txt"]


def test_readings_of_a_sheet_that_is_not_there_are_refused(client: httpx.Client, trial_id: str) -> None:
    answer = client.post(
        f"/trials/{trial_id}/readings", files={"files": ("K7.txt", b"x")}, data={"sheet_id": "another"}
    )
    assert answer.status_code == 404, answer.text


def test_sheets_are_coated(client: httpx.Client, trial_id: str) -> None:
    answer = client.post(f"/trials/{trial_id}/coat", json={"sheet_ids": []})
    assert "path.act" not in answer.text
    assert answer.status_code == 400, answer.text


def test_a_trial_is_still_put_away_and_brought_back(client: httpx.Client, trial_id: str) -> None:
    for act in ("close", "reopen", "remove", "bring-back"):
        assert client.post(f"/trials/{trial_id}/{act}").status_code == 200
    assert client.post(f"/trials/{trial_id}/burn").status_code == 422
