"""Every address of the pages and of the JSON interface, asked in every role and held against a table."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from conftest import SECRET, served
from laydown.records.ledger import Records
from laydown.records.uploads import UploadStore
from laydown.trials.measured import Reading
from laydown.trials.people import ROLES, Role
from laydown.trials.remarks import Attachment
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.stock import Roll
from laydown.trials.trial import Candidate
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.people.accounts import make_account
from laydown.usecases.people.passwords import hash_password
from laydown.usecases.people.sign_in import sign_in
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.web.api.interface import create_interface
from laydown.web.app import create_app
from laydown.web.doorkeeper import COOKIE
from laydown.web.forms import TOKEN_HEADER
from laydown.web.network import Network

TABLE = Path(__file__).with_name("who_may.txt")
BELOW = "/api/v1"
PASSWORD = "heron kettle seven paving"
WRONG_ROLE = "your role does not allow this"
# Who may do what the least role may do.
AT_LEAST: dict[str, set[str]] = {
    "everybody": {"nobody", *ROLES},
    "judge": set(ROLES),
    "bench": {"bench", "owner"},
    "owner": {"owner"},
}


def _table() -> dict[tuple[str, str], str]:
    lines = [line.split() for line in TABLE.read_text(encoding="utf-8").splitlines() if line[:1] != "#"]
    told = {(method, path): least for least, method, path in lines}
    assert len(told) == len(lines), "an address stands there twice"
    return told


def _addresses(app: FastAPI) -> set[tuple[str, str]]:
    parts: tuple[tuple[str, dict[str, Any]], ...] = (
        ("", app.openapi()["paths"]),
        (BELOW, create_interface(app.state.desk).openapi()["paths"]),
    )
    return {
        (method.upper(), f"{before}{path}")
        for before, paths in parts
        for path, methods in paths.items()
        for method in methods
    }


@pytest.fixture
def app(records: Records, tmp_path: Path) -> FastAPI:
    return create_app(
        store=UploadStore(tmp_path / "uploads", clock=records.clock),
        records=records,
        secret=SECRET,
        demo=lambda: ((), CompareOptions()),
        network=Network(frozenset({"127.0.0.1"}), "127.0.0.1", tls=False),
    )


@pytest.fixture
def clients(
    app: FastAPI, records: Records, monkeypatch: pytest.MonkeyPatch
) -> Iterator[dict[str, httpx.Client]]:
    """Somebody of each role, and nobody."""
    hashed = hash_password(PASSWORD)  # once for all: it is slow on purpose
    monkeypatch.setattr("laydown.usecases.people.accounts.hash_password", lambda *_, **__: hashed)
    with served(app) as address, ExitStack() as stack:
        headers = {"Origin": address.rstrip("/"), "Accept": "application/json"}
        found = {
            who: stack.enter_context(httpx.Client(base_url=address, headers=headers, timeout=60))
            for who in ("nobody", *ROLES)
        }
        for role in ROLES:
            found[role].cookies.set(COOKIE, _signed_in(records, role))
        yield found


def _signed_in(records: Records, role: Role) -> str:
    make_account(records, name=f"The {role}", role=role, password=PASSWORD, who="the tests")
    return sign_in(records, name=f"The {role}", password=PASSWORD, address=role).token


def test_every_address_has_its_line_and_every_line_its_address(app: FastAPI) -> None:
    """A new address without a decision fails here; write it down in who_may.txt."""
    found, told = _addresses(app), set(_table())
    assert found - told == set(), "nobody decided who may use these"
    assert told - found == set(), "these are gone"


def test_nothing_is_left_out_of_the_description_that_the_walk_goes_by() -> None:
    web = Path(__file__).parents[2] / "src" / "laydown" / "web"
    hidden = [
        line.strip()
        for path in sorted(web.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if "include_in_schema" in line
    ]
    assert hidden == ['app.add_api_route("/library/plotly.min.js", _plotly, include_in_schema=False)']


def test_each_role_reaches_what_the_table_says_and_nothing_else(clients: dict[str, httpx.Client]) -> None:
    tokens = {
        role: client.get(f"{BELOW}/me").json()["token"]
        for role, client in clients.items()
        if role != "nobody"
    }
    wrong = []
    for (method, path), least in _table().items():
        address = re.sub(r"\{[^}]+\}", "nothing", path)
        for role, client in clients.items():
            # Pages are asked without the word of the session, so that nothing happens; the interface asks
            # for the word before it asks for the role.
            headers = {TOKEN_HEADER: tokens[role]} if path.startswith(BELOW) and role in tokens else {}
            if "sign-" in path and method == "POST" and role != "nobody":
                continue  # it would end the sitting that asks
            answer = client.request(method, address, headers=headers)
            may = answer.status_code != 401 and WRONG_ROLE not in answer.text
            if may != (role in AT_LEAST[least]) or answer.status_code >= 500:
                wrong.append((role, method, path, answer.status_code))
    assert wrong == []


def test_no_price_reaches_the_bench(records: Records, clients: dict[str, httpx.Client]) -> None:
    """Every address the bench may read, of a whole trial whose rolls have prices nobody could mistake."""
    seed_demo(records, who="The owner")
    with records.work("priced", who="The owner") as work:
        for roll in work.find(Roll):
            work.change(replace(roll, price=8431.77, currency="XQZ"))
    with records.look() as look:
        ids = {
            "trial_id": DEMO_TRIAL_ID,
            **{
                f"{name}_id": look.find(noun, limit=1)[0].id
                for name, noun in (
                    ("candidate", Candidate), ("sheet", Sheet), ("run", BenchRun), ("reading", Reading),
                    ("retrace", Retrace), ("attachment", Attachment),
                )
            },
        }  # fmt: skip
    assert clients["owner"].get(f"{BELOW}/rolls").text.count("XQZ") >= 2  # they are there to be found
    seen = 0
    for (method, path), least in _table().items():
        named = set(re.findall(r"\{(\w+)\}", path))
        if method != "GET" or least != "bench" or not named <= set(ids) or path.endswith(".pdf"):
            continue
        address = path.format(**ids)
        answer = clients["bench"].get(address, params={"q": "Rag"}, headers={"Accept": "text/html"})
        assert answer.status_code not in (401, 403), address
        assert answer.status_code < 500, address
        for mark in ("XQZ", "8431.77", "8,431.77", "8 431.77"):
            assert mark not in answer.text, address
        seen += 1
    assert seen > 30


def test_what_pages_are_drawn_with_and_the_description(clients: dict[str, httpx.Client]) -> None:
    for role, client in clients.items():
        assert client.get("/static/page.css").status_code == 200
        for address in ("/library/plotly.min.js", f"{BELOW}/openapi.json"):
            assert client.get(address).status_code == (401 if role == "nobody" else 200), (role, address)
