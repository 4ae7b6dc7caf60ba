"""Who may ask, from where, and what the browser is told."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from starlette.datastructures import Headers

from laydown.web.security import HEADERS, UNFORESEEN, _too_large


@pytest.mark.parametrize(
    "host",
    [
        "evil.example", "127.0.0.1.evil.example", "evil.example:8765", "0.0.0.0",
        # Names of ours with more behind them, of which an address of ours could be put together wrongly.
        "127.0.0.1:8765/static/?", "127.0.0.1/static", "127.0.0.1:evil", "[::1]evil", "localhost@evil", "",
    ],
)  # fmt: skip
def test_other_hosts_are_refused(reader: httpx.Client, host: str) -> None:
    answer = reader.get("/", headers={"Host": host})
    assert answer.status_code == 421
    assert "Comparisons" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:9", "localhost:8765", "LOCALHOST", "[::1]:8765"])
def test_own_names_are_answered(reader: httpx.Client, host: str) -> None:
    assert reader.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:9"])
def test_foreign_origins_change_nothing(reader: httpx.Client, method: str, origin: str) -> None:
    before = reader.get("/comparisons").text
    answer = reader.request(method, "/drafts", headers={"Origin": origin})
    assert answer.status_code == 403
    assert reader.get("/comparisons").text == before


def test_without_origin_only_what_the_browser_vouches_for(client: httpx.Client) -> None:
    del client.headers["Origin"]
    assert client.post("/drafts").status_code == 403
    assert client.post("/drafts", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert client.post("/drafts", headers={"Sec-Fetch-Site": "same-origin"}).status_code == 201


@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/comparisons",
        "/new",
        "/comparisons/demo",
        "/static/page.css",
        "/nothing",
        "/library/plotly.min.js",
    ],
)
def test_every_answer_carries_the_headers(reader: httpx.Client, address: str) -> None:
    answer = reader.get(address)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    assert "'unsafe" not in answer.headers["Content-Security-Policy"]


def test_browsers_keep_what_pages_are_drawn_with_and_no_page(reader: httpx.Client) -> None:
    first = reader.get("/static/page.css")
    again = reader.get("/static/page.css", headers={"If-None-Match": first.headers["etag"]})
    assert (first.headers["cache-control"], again.status_code, again.content) == ("no-cache", 304, b"")
    for address in ("/", "/comparisons", "/nothing", "/api/v1/trials"):
        assert reader.get(address).headers["cache-control"] == "no-store", address


def test_refusals_carry_the_headers_too(reader: httpx.Client) -> None:
    assert reader.get("/", headers={"Host": "evil.example"}).headers["X-Frame-Options"] == "DENY"


@pytest.mark.parametrize(
    "address", ["/docs", "/redoc", "/openapi.json", "/static/../app.py", "/static/%2e%2e/app.py"]
)
def test_nothing_else_is_served(reader: httpx.Client, address: str) -> None:
    assert reader.get(address).status_code == 404


def test_a_form_too_large_is_refused(reader: httpx.Client) -> None:
    answer = reader.post(
        "/uploads/0123456789abcdef/arrange",
        headers={"Content-Type": "application/x-www-form-urlencoded"},
        content=bytes(3 * 2**20),
    )
    assert answer.status_code == 413


@pytest.mark.parametrize(("method", "address"), [("PUT", "/api/v1/studio"), ("POST", "/api/v1/trials")])
def test_the_interface_takes_no_more_than_a_form(reader: httpx.Client, method: str, address: str) -> None:
    """Bodies of programs are whole in memory while they are read: a large one could fill it."""
    headers = {"Content-Type": "application/json"}
    large = b'"' + bytes(3 * 2**20) + b'"'
    assert reader.request(method, address, headers=headers, content=large).status_code == 413
    in_pieces = (
        large[at : at + 2**16] for at in range(0, len(large), 2**16)
    )  # without saying how large it is
    assert reader.request(method, address, headers=headers, content=in_pieces).status_code == 411


@pytest.mark.parametrize("length", ["-1", "1e3", "²", "9" * 400])
def test_lengths_that_are_none_are_refused(length: str) -> None:
    headers = Headers(raw=[(b"content-length", length.encode("latin-1"))])
    refused = _too_large("/", headers)
    assert refused is not None
    assert refused.status_code == 411


@pytest.mark.parametrize("bad", ["..%2f..%2fetc", "0" * 15, "x" * 16, "%00" * 16])
def test_ids_that_cannot_be_are_not_found(reader: httpx.Client, bad: str) -> None:
    for address in (f"/comparisons/{bad}", f"/comparisons/{bad}.json", f"/uploads/{bad}/arrange"):
        answer = reader.get(address)
        assert answer.status_code == 404
        assert "/tmp" not in answer.text


def test_what_was_not_foreseen_tells_no_secrets(
    bench: Any, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(shelf: str) -> None:
        raise RuntimeError(f"secret {bench.store.folder}")

    monkeypatch.setattr(bench.store, "list", fail)
    answer = client.get("/comparisons")
    assert (answer.status_code, answer.text) == (500, UNFORESEEN)
    assert answer.headers["X-Frame-Options"] == "DENY"


def test_names_are_escaped(client: httpx.Client) -> None:
    draft = client.post("/drafts").json()["id"]
    client.put(f"/drafts/{draft}/files", params={"path": "<script>alert(1)</script>.txt"}, content=b"x")
    text = client.get(f"/uploads/{draft}/arrange").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert" in text
