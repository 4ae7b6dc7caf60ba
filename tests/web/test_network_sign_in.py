"""On the studio's network: strangers see the sign-in page, roles are enforced, guessing is slowed down."""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import select

from conftest import served
from laydown.kernel.errors import CannotKeep, NotAllowed, RefusedInput, TooManyAttempts
from laydown.records.ledger import Records
from laydown.records.sign_in_tables import failed_attempts, sittings
from laydown.records.sign_ins import Pairing, SignIns
from laydown.records.uploads import UploadStore
from laydown.trials.people import Account
from laydown.trials.stock import Supplier
from laydown.trials.trial import Trial
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.people.accounts import change_password, change_role, close_account, make_account
from laydown.usecases.people.passwords import hash_password, password_fits
from laydown.usecases.people.sign_in import (
    FREE_ATTEMPTS,
    FREE_ATTEMPTS_OF_ADDRESS,
    offer_pairing,
    pair,
    sign_in,
    sitting_of,
)
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.undo import undo
from laydown.web.app import create_app
from laydown.web.doorkeeper import COOKIE, OPEN_TO_ALL
from laydown.web.network import Network
from ticking_clock import Clock

PASSWORD = "heron kettle seven paving"
OTHER = "lantern gravel oboe ninety"
SECRET = b"of the tests"


@dataclass
class Studio:
    """A workbench on the network, and the accounts on it."""

    address: str
    app: FastAPI
    records: Records

    def client(self, **headers: str) -> httpx.Client:
        own = {"Origin": self.address.rstrip("/"), "Accept": "text/html", **headers}
        return httpx.Client(base_url=self.address, headers=own, timeout=60)

    @contextmanager
    def signed_in(self, name: str, password: str = PASSWORD) -> Iterator[httpx.Client]:
        with self.client() as client:
            told = {"name": name, "password": password, "after": "/journal"}
            answer = client.post("/sign-in", data=told)
            assert answer.status_code == 303, answer.text
            yield client


@pytest.fixture(scope="session")
def hashes() -> dict[str, str]:
    """Hashing is slow on purpose; each password of these tests is hashed once."""
    return {word: hash_password(word) for word in (PASSWORD, OTHER)}


@pytest.fixture
def studio(
    records: Records, tmp_path: Path, hashes: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Studio]:
    monkeypatch.setattr("laydown.usecases.people.accounts.hash_password", lambda word, **_: hashes[word])
    for name, role in (("Ada", "owner"), ("Bo", "bench"), ("Cy", "judge")):
        make_account(records, name=name, role=role, password=PASSWORD, who="the tests")  # type: ignore[arg-type]  # a literal, in a loop
    app = create_app(
        store=UploadStore(tmp_path / "uploads", clock=records.clock),
        records=records,
        secret=SECRET,
        demo=lambda: ((), CompareOptions()),
        network=Network(frozenset({"127.0.0.1"}), "127.0.0.1", tls=False),
    )
    with served(app) as address:
        yield Studio(address, app, records)


def _routes(app: FastAPI) -> list[tuple[str, str]]:
    """Every method and address of the workbench, with something in the place of each id."""
    found = [
        (method.upper(), re.sub(r"\{[^}]+\}", "nothing", path))
        for path, methods in app.openapi()["paths"].items()
        for method in methods
    ]
    assert len(found) > 20
    return found


def test_strangers_see_the_sign_in_page_and_nothing_else(studio: Studio) -> None:
    with studio.client() as page, studio.client(Accept="application/json") as script:
        for method, path in _routes(studio.app):
            if path.startswith(OPEN_TO_ALL):
                continue
            answer = page.request(method, path)
            if method == "GET":
                assert answer.status_code == 303, (method, path)
                assert answer.headers["location"].startswith("/sign-in?after="), (method, path)
            else:
                assert answer.status_code == 401, (method, path)
            assert script.request(method, path).status_code == 401, (method, path)


def test_a_judge_reaches_nothing_of_the_bench_or_the_owner(studio: Studio) -> None:
    with studio.signed_in("Cy") as client:
        for method, path in _routes(studio.app):
            if path.startswith(OPEN_TO_ALL) or path in {"/", "/sign-out", "/library/plotly.min.js"}:
                continue
            assert client.request(method, path).status_code == 403, (method, path)


def test_the_bench_searches_what_is_its_own_and_a_judge_nothing(studio: Studio) -> None:
    with studio.records.work("filled", who="the tests") as work:
        work.add(Supplier(id="su", name="Heron Supply"))
        work.add(Trial(id="t", name="Heron trial", begun=work.now.date()))
    with studio.signed_in("Bo") as bench:
        page = bench.get("/search?q=heron").text
        assert "Heron trial" in page
        assert "Heron Supply" not in page
        assert [one["kind"] for one in bench.get("/api/v1/search?q=heron").json()] == ["trial"]
        assert bench.get("/search?q=heron&kind=supplier").status_code == 403
        assert bench.get("/search?q=heron&kind=entry").status_code == 403
        assert 'action="/search"' in bench.get("/board").text
    with studio.signed_in("Cy") as judge:
        for path in ("/search?q=heron", "/api/v1/search?q=heron", "/board"):
            answer = judge.get(path)
            assert answer.status_code == 403
            assert "Heron trial" not in answer.text
            assert "/search" not in answer.text  # nor is a box offered
    with studio.client() as stranger:
        assert "/search" not in stranger.get("/sign-in").text


def test_changing_anything_needs_the_word_of_the_session(studio: Studio) -> None:
    with studio.signed_in("Ada") as client:
        for method, path in _routes(studio.app):
            if method != "GET" and not path.startswith(OPEN_TO_ALL):
                # 422: what is asked for is not even understood
                assert client.request(method, path).status_code in {403, 422}, (method, path)
        page = client.get("/people").text
        token = re.search(r'name="csrf" content="([0-9a-f]{64})"', page)
        assert token
        new = {"name": "Di", "role": "bench", "password": OTHER}
        assert client.post("/people", data={**new, "csrf": "0" * 64}).status_code == 403
        assert client.post("/people", data={**new, "csrf": token[1]}).status_code == 303
    with studio.signed_in("Bo") as other:  # the word of one session is of no use in another
        assert other.post("/sign-out", data={"csrf": token[1]}).status_code == 403


def test_people_are_the_owners_business(studio: Studio) -> None:
    with studio.signed_in("Ada") as owner, studio.signed_in("Bo") as bench:
        assert owner.get("/people").status_code == 200
        assert bench.get("/people").status_code == 403


def test_a_sitting_ends_when_it_is_signed_out(studio: Studio) -> None:
    with studio.signed_in("Ada") as client:
        page = client.get("/journal")
        assert page.status_code == 200
        token = re.search(r'name="csrf" value="([0-9a-f]{64})"', client.get("/sign-out").text)
        assert token
        kept = client.cookies[COOKIE]
        assert client.post("/sign-out", data={"csrf": token[1]}).status_code == 303
        client.cookies.set(COOKIE, kept)
        assert client.get("/journal").status_code == 303


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(studio: Studio) -> None:
    with studio.client() as client:
        answer = client.post("/sign-in", data={"name": "ADA ", "password": PASSWORD, "after": "//elsewhere"})
    assert answer.headers["location"] == "/"
    told = answer.headers["set-cookie"].lower()
    assert "httponly" in told
    assert "samesite=lax" in told
    assert "max-age=43200" in told


def test_under_tls_nothing_goes_back_to_plain_http(records: Records, studio: Studio, tmp_path: Path) -> None:
    app = create_app(
        store=UploadStore(tmp_path / "uploads", clock=records.clock),
        records=records,
        secret=SECRET,
        demo=lambda: ((), CompareOptions()),
        network=Network(frozenset({"127.0.0.1"}), "127.0.0.1", tls=True),
    )
    told = {"name": "Ada", "password": PASSWORD, "after": "/"}

    async def ask(origin: str) -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="https://127.0.0.1") as client:
            return await client.post("/sign-in", data=told, headers={"Origin": origin})

    assert asyncio.run(ask("http://127.0.0.1")).status_code == 403
    answer = asyncio.run(ask("https://127.0.0.1"))
    assert answer.status_code == 303
    assert "; secure" in answer.headers["set-cookie"].lower()
    assert answer.headers["strict-transport-security"].startswith("max-age=31536000")
    with studio.client() as unencrypted:
        answer = unencrypted.post("/sign-in", data=told)
    assert "; secure" not in answer.headers["set-cookie"].lower()  # or no browser would send it back
    assert "strict-transport-security" not in answer.headers


def test_nothing_of_the_studio_stays_in_a_shared_browser(studio: Studio) -> None:
    """What was attached is not kept by the browser either: the next to sign in may see less."""
    trial = begin_trial(studio.records, "A week", who="Ada").thing
    kept = attach_file(
        studio.records, [b"\xff\xd8\xff picture"], about=trial.id, name="a.jpg", who="Ada"
    ).thing
    with studio.signed_in("Bo") as client:
        for address in ("/board", f"/trials/{trial.id}", f"/attachments/{kept.id}", "/api/v1/trials"):
            answer = client.get(address)
            assert answer.status_code == 200
            assert answer.headers["cache-control"] == "no-store", address


@pytest.mark.parametrize(
    ("name", "password"), [("Ada", "wrong"), ("Nobody", PASSWORD), ("", ""), ("Ada", "")]
)
def test_a_wrong_name_and_a_wrong_password_are_answered_alike(
    studio: Studio, name: str, password: str
) -> None:
    with studio.client() as client:
        answer = client.post("/sign-in", data={"name": name, "password": password, "after": "/"})
    assert answer.status_code == 403
    assert "Name and password do not go together" in answer.text.replace("name and", "Name and")
    assert COOKIE not in answer.headers.get("set-cookie", "")


def test_guessing_is_slowed_down(studio: Studio) -> None:
    with studio.client() as client:
        codes = [
            client.post("/sign-in", data={"name": "Ada", "password": f"guess {n}", "after": "/"}).status_code
            for n in range(12)
        ]
        right = client.post("/sign-in", data={"name": "Ada", "password": PASSWORD, "after": "/"})
    assert codes[:5] == [403] * 5
    assert 429 in codes[5:]
    assert right.status_code == 429  # not even the right one, for a while
    assert "Wait" in right.text


def test_the_wait_grows_and_ends(records: Records, clock: Clock, hashes: dict[str, str]) -> None:
    waits = []
    for number in range(9):
        with pytest.raises(NotAllowed):
            sign_in(records, name="Eve", password=f"guess {number}", address="192.0.2.1")
        waited = 0
        while True:
            try:
                sign_in(records, name="Eve", password="again", address=f"192.0.2.{waited % 250 + 2}")
            except TooManyAttempts:
                waited += 1
                clock.now += timedelta(seconds=5)
            except NotAllowed:
                break
        waits.append(waited)
    assert waits[0] == waits[1] == 0
    assert waits[-1] > waits[4]


def test_one_address_cannot_try_many_names(records: Records) -> None:
    refused = []
    for number in range(36):
        with pytest.raises(NotAllowed) as told:
            sign_in(records, name=f"name {number}", password="x", address="192.0.2.9")
        refused.append(isinstance(told.value, TooManyAttempts))
    assert not any(refused[:30])
    assert any(refused[30:])


def test_guesses_made_at_once_are_no_more_than_guesses_in_a_row(
    any_records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Checking a password takes long; whoever asks many times meanwhile must not get round the count."""
    tried: list[str] = []

    def slowly(password: str, _: object) -> bool:
        tried.append(password)
        time.sleep(0.2)
        return False

    monkeypatch.setattr("laydown.usecases.people.sign_in.password_fits", slowly)
    moment = any_records.now()
    monkeypatch.setattr(any_records, "clock", lambda: moment)

    def guess(number: int) -> None:
        with pytest.raises(NotAllowed):
            sign_in(any_records, name="Ada", password=f"guess {number}", address=f"192.0.2.{number}")

    with ThreadPoolExecutor(16) as pool:
        list(pool.map(guess, range(32)))
    assert len(tried) == FREE_ATTEMPTS.value


def test_signing_in_well_is_no_attempt_that_failed(
    records: Records, hashes: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("laydown.usecases.people.accounts.hash_password", lambda word, **_: hashes[word])
    monkeypatch.setattr("laydown.usecases.people.sign_in.password_fits", lambda word, _: word == PASSWORD)
    make_account(records, name="Ada", role="owner", password=PASSWORD, who="the tests")
    for _ in range(int(FREE_ATTEMPTS_OF_ADDRESS.value) + 5):  # every tablet behind one address
        sign_in(records, name="Ada", password=PASSWORD, address="192.0.2.1")
    for _ in range(int(FREE_ATTEMPTS.value)):
        with pytest.raises(NotAllowed, match="do not go together"):
            sign_in(records, name="Ada", password="wrong", address="192.0.2.1")


def test_a_clock_put_back_locks_nobody_out(records: Records, clock: Clock) -> None:
    clock.now += timedelta(days=3)
    for _ in range(int(FREE_ATTEMPTS.value)):
        with pytest.raises(NotAllowed, match="do not go together"):
            sign_in(records, name="Eve", password="x", address="192.0.2.1")
    clock.now -= timedelta(days=3)
    with pytest.raises(NotAllowed, match="do not go together"):
        sign_in(records, name="Eve", password="x", address="192.0.2.1")


@pytest.mark.parametrize("act", ["make", "change"])
def test_a_password_is_kept_with_what_the_journal_says_or_not_at_all(
    records: Records, hashes: dict[str, str], monkeypatch: pytest.MonkeyPatch, act: str
) -> None:
    def fail(*_: object) -> None:
        raise CannotKeep("the disk is full.")

    monkeypatch.setattr("laydown.usecases.people.accounts.hash_password", lambda word, **_: hashes[word])
    ada = make_account(records, name="Ada", role="owner", password=PASSWORD, who="the tests").thing
    with records.look() as look:
        before = look.entries()
    monkeypatch.setattr("laydown.usecases.people.accounts.keep_password", fail)
    acts: dict[str, Callable[[], object]] = {
        "make": lambda: make_account(records, name="Bo", role="bench", password=PASSWORD, who="Ada"),
        "change": lambda: change_password(records, ada.id, password=OTHER, who="Ada"),
    }
    with pytest.raises(CannotKeep):
        acts[act]()
    with records.look() as look:
        assert look.entries() == before
        assert look.find(Account) == (ada,)


def test_what_is_over_is_forgotten(studio: Studio, clock: Clock) -> None:
    """Names and addresses of those who tried, and sittings that ended, do not gather for years."""
    with studio.signed_in("Bo"), studio.client() as stranger:
        stranger.post("/sign-in", data={"name": "Ada", "password": "wrong", "after": "/"})
    clock.now += timedelta(days=8)
    with studio.signed_in("Ada"), studio.records.look() as look:
        for table in (failed_attempts, sittings):
            rows = look.connection.execute(select(table)).all()
            assert len(rows) == (1 if table is sittings else 0), table.name


def test_a_tablet_pairs_once_and_soon(studio: Studio) -> None:
    token = offer_pairing(studio.records, name="Bench tablet", role="bench", who="Ada")
    with studio.client() as first, studio.client() as second:
        for _ in range(2):  # looking takes nothing
            assert "Bench tablet" in first.get(f"/pair/{token}").text
        assert first.post(f"/pair/{token}").status_code == 303
        assert first.get("/people").status_code == 403  # it sits at the bench
        assert second.post(f"/pair/{token}").status_code == 403
        assert second.get("/journal").status_code == 303


def test_of_many_that_ask_at_once_one_tablet_is_paired(any_records: Records) -> None:
    token = offer_pairing(any_records, name="T", role="bench", who="Ada")

    def ask(_: int) -> bool:
        try:
            pair(any_records, token)
        except NotAllowed:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(ask, range(24))) == 1


def test_of_two_that_saw_the_same_offer_one_takes_it(
    any_records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    offered = Pairing("T", "bench", "Ada")
    signs, now = SignIns(any_records.engine), any_records.now()
    signs.offer("hash", offered, ends_at=now + timedelta(minutes=5))
    monkeypatch.setattr(SignIns, "offered", lambda *_, **__: offered)  # both have looked already
    assert [signs.take("hash", now=now) for _ in range(2)] == [offered, None]


def test_an_old_code_is_no_good(any_records: Records, clock: Clock) -> None:
    token = offer_pairing(any_records, name="T", role="bench", who="Ada")
    clock.now += timedelta(minutes=6)
    with pytest.raises(NotAllowed, match="not good any more"):
        pair(any_records, token)


def test_no_tablet_becomes_an_owner(records: Records) -> None:
    with pytest.raises(NotAllowed, match="cannot be paired as owner"):
        offer_pairing(records, name="T", role="owner", who="Ada")


def test_sittings_end_by_themselves(any_records: Records, clock: Clock) -> None:
    begun = pair(any_records, offer_pairing(any_records, name="T", role="bench", who="Ada"))
    assert sitting_of(any_records, begun.token) is not None
    for _ in range(20):  # used every eight hours it lives, but no longer than a week
        clock.now += timedelta(hours=8)
        assert sitting_of(any_records, begun.token) is not None
    clock.now += timedelta(hours=9)
    assert sitting_of(any_records, begun.token) is None
    idle = pair(any_records, offer_pairing(any_records, name="T", role="bench", who="Ada"))
    clock.now += timedelta(hours=13)
    assert sitting_of(any_records, idle.token) is None
    SignIns(any_records.engine).tidy(now=any_records.now() + timedelta(days=8), keep=timedelta(hours=1))
    assert SignIns(any_records.engine).running(now=any_records.now()) == ()


@pytest.mark.parametrize("harm", ["role", "close", "password", "undo"])
def test_what_changes_an_account_ends_its_sittings(studio: Studio, harm: str, hashes: dict[str, str]) -> None:
    made = make_account(studio.records, name="Di", role="bench", password=PASSWORD, who="Ada")
    with studio.signed_in("Di") as client:
        assert client.get("/journal").status_code == 403
        if harm == "role":
            change_role(studio.records, made.thing.id, role="judge", who="Ada")
        elif harm == "close":
            close_account(studio.records, made.thing.id, who="Ada")
        elif harm == "password":
            change_password(studio.records, made.thing.id, password=OTHER, who="Ada")
        else:
            undo(studio.records, made.entry_id, who="Ada")
        assert client.get("/journal").status_code == 303


def test_who_was_made_an_owner_is_none_once_that_is_undone(studio: Studio) -> None:
    with studio.records.look() as look:
        bo = next(one for one in look.find(Account) if one.name == "Bo")
    raised = change_role(studio.records, bo.id, role="owner", who="Ada")
    with studio.signed_in("Bo") as client:
        assert client.get("/journal").status_code == 200
        undone = undo(studio.records, raised.entry_id, who="Ada")
        assert client.get("/journal").status_code == 303
        undo(studio.records, undone, who="Ada")
        assert client.get("/journal").status_code == 303  # an owner again, but by signing in


def test_a_closed_account_is_no_longer_there_to_whoever_signs_in(studio: Studio) -> None:
    with studio.records.look() as look:
        bo = next(one for one in look.find(Account) if one.name == "Bo")
    close_account(studio.records, bo.id, who="Ada")
    with studio.client() as client:
        answer = client.post("/sign-in", data={"name": "Bo", "password": PASSWORD, "after": "/"})
    assert answer.status_code == 403
    assert "name and password do not go together" in answer.text.lower()
    assert "set-cookie" not in answer.headers


def test_a_new_password_is_not_undone_by_the_journal(studio: Studio) -> None:
    """The journal holds no password to go back to."""
    with studio.records.look() as look:
        bo = next(one for one in look.find(Account) if one.name == "Bo")
    change_password(studio.records, bo.id, password=OTHER, who="Ada")
    with studio.records.look() as look:
        (entry, *_) = look.entries(limit=1)
    with pytest.raises(RefusedInput, match="cannot be undone"):
        undo(studio.records, entry.id, who="Ada")


def test_a_browser_holds_one_sitting_at_a_time(studio: Studio) -> None:
    """Whoever signs in on a tablet ends the sitting of whoever had it before."""
    with studio.signed_in("Ada") as client:
        before = client.cookies[COOKIE]
        told = {"name": "Bo", "password": PASSWORD, "after": "/board"}
        assert client.post("/sign-in", data=told).status_code == 303
        assert client.cookies[COOKIE] != before
    with studio.client() as another:
        another.cookies.set(COOKIE, before)
        assert another.get("/journal").status_code == 303


def test_there_is_always_an_owner(studio: Studio) -> None:
    with studio.records.look() as look:
        ada = next(one for one in look.find(Account) if one.name == "Ada")
    for refuse in (
        lambda: close_account(studio.records, ada.id, who="Ada"),
        lambda: change_role(studio.records, ada.id, role="bench", who="Ada"),
    ):
        with pytest.raises(RefusedInput, match="no owner"):
            refuse()


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("short", "12 to 128"),
        ("x" * 129, "12 to 128"),
        ("password1234", "easy to guess"),
        ("aaaaaaaaaaaaaa", "easy to guess"),
        ("qwertyuiopasdf", "easy to guess"),
        ("saltmarsh2026", "easy to guess"),
    ],
)
def test_what_is_tried_first_is_no_password(password: str, said: str) -> None:
    with pytest.raises(RefusedInput, match=said):
        hash_password(password, known_words=["Saltmarsh"])


def test_a_password_fits_itself_however_it_is_typed(hashes: dict[str, str]) -> None:
    composed, decomposed = "caf\u00e9 heron kettle seven", "cafe\u0301 heron kettle seven"
    assert password_fits(decomposed, hash_password(composed))
    assert not password_fits(PASSWORD.upper(), hashes[PASSWORD])
    assert not password_fits(PASSWORD, None)
    assert "argon2id" in hashes[PASSWORD]


def test_no_password_enters_the_journal(studio: Studio) -> None:
    with studio.records.look() as look:
        told = repr(look.entries())
    assert "made an account for" in told
    assert PASSWORD not in told
    assert "argon2" not in told
