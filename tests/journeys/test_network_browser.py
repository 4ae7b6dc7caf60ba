"""On the studio's network, in Chromium: an owner signs in, a tablet is paired, works, and is turned away."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from page_checks import everybody_can_use, fits
from playwright.sync_api import Page, expect
from visitors import PHONE, Visitors

from bench_trial import make_bench_trial
from laydown.records.ledger import Records
from laydown.trials.sheets import BenchRun
from laydown.usecases.bench.begin_run import begin_run
from served_bench import Certificate, served_over

pytestmark = pytest.mark.browser

OWNER, JUDGE = "Ada", "Cy"
PASSWORD = "heron kettle seven paving"


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate | None:
    """One made for these tests; none, and no encryption, where there is nothing to make it with."""
    openssl = shutil.which("openssl")
    if openssl is None:
        return None
    folder = tmp_path_factory.mktemp("certificate")
    made = Certificate(folder / "studio.pem", folder / "studio-key.pem")
    wanted = (
        *("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"),
        *("-days", "2", "-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1"),
        *("-keyout", str(made.key), "-out", str(made.certificate)),
    )
    subprocess.run([openssl, *wanted], check=True, capture_output=True, timeout=60)
    return made


@pytest.fixture
def network(records: Records, certificate: Certificate | None, tmp_path: Path) -> Iterator[str]:
    """The same records, as ``laydown open --lan`` serves them."""
    with served_over(records, tmp_path / "uploads", lan=True, certificate=certificate) as address:
        yield address


@pytest.fixture
def visitors(network: str, visitors: Visitors) -> Visitors:
    """Visitors who have left before the network ends, which would wait for them."""
    return visitors


def test_a_tablet_joins_works_and_is_turned_away(
    page: Page, visitors: Visitors, network: str, records: Records
) -> None:
    trial = make_bench_trial(records, sheets=2)
    run = begin_run(records, trial.rag, who=OWNER).thing
    make_an_owner(page)

    owner = come(visitors, network)
    owner.goto("/")
    sign_in(owner, OWNER, "not the right words")
    expect(owner.get_by_role("alert")).to_contain_text("name and password do not go together")
    expect(owner.get_by_label("Name")).to_have_value(OWNER)
    expect(owner.get_by_role("navigation", name="Workbench")).to_have_count(0)
    expect(owner.get_by_role("searchbox")).to_have_count(0)
    sign_in(owner, OWNER, PASSWORD)
    expect(owner.get_by_role("heading", name="Trials", exact=True)).to_be_visible()

    people_of(owner)
    owner.get_by_label("Its name").fill("Bench tablet")
    owner.get_by_role("button", name="Show a code").click()
    expect(owner.locator(".code-drawn svg")).to_be_visible()
    code = owner.locator("section.code code").inner_text()

    tablet = come(visitors, network, viewport=PHONE, has_touch=True)
    tablet.goto(code)
    assert code.startswith(network)
    tablet.get_by_role("button", name="Pair").tap()
    tablet.get_by_role("link", name="Spring trial").first.tap()
    row = tablet.locator("#step-rested")  # the first of the list
    row.get_by_role("textbox").fill("80")
    row.locator(".step-tap").tap()
    expect(row.locator(".step-said")).to_contain_text("80 h")
    tablet.wait_for_function("localStorage.length === 0")  # what is tapped is shown before it is kept
    with records.look() as look:
        ticks = look.get(BenchRun, run.id).ticks
    assert [(one.step, one.value, one.by) for one in ticks] == [("rested", "80", "Bench tablet")]
    tablet.goto("/stock")
    expect(tablet.get_by_role("alert")).to_contain_text("your role does not allow this")

    owner.get_by_role("link", name="Journal").click()
    expect(owner.locator(".journal li").first).to_contain_text("Bench tablet ticked")
    people_of(owner)
    owner.get_by_role("button", name="Sign out Bench tablet").click()
    expect(owner.get_by_role("heading", name="Bench tablet")).to_have_count(0)
    tablet.goto(f"/bench/{run.id}")
    expect(tablet.get_by_role("heading", name="Sign in")).to_be_visible()
    tablet.goto(code)  # it worked once
    expect(tablet.get_by_role("alert")).to_contain_text("this code is not good any more")


def test_a_judge_sees_nothing_but_judging(
    page: Page, visitors: Visitors, network: str, records: Records
) -> None:
    trial = make_bench_trial(records, sheets=2)
    make_an_owner(page)
    owner = come(visitors, network)
    owner.goto("/people")
    sign_in(owner, OWNER, PASSWORD)
    make_account(owner, JUDGE, "judge")

    judge = come(visitors, network)
    judge.goto(f"/trials/{trial.trial}")
    sign_in(judge, JUDGE, PASSWORD)
    expect(judge.get_by_role("alert")).to_contain_text("your role does not allow this")
    for address in ("/", "/board", f"/trials/{trial.trial}/print", "/search?q=rag", "/journal", "/retraces"):
        judge.goto(address)
        expect(judge.get_by_role("searchbox")).to_have_count(0)
        expect(judge.get_by_role("navigation", name="Workbench").get_by_role("link")).to_have_count(0)
        expect(judge.locator("body")).not_to_contain_text("Fenland Rag")
    judge.get_by_role("link", name="Sign out").click()
    judge.get_by_role("button", name="Sign out").click()
    expect(judge.get_by_role("heading", name="Sign in")).to_be_visible()


def test_pages_of_the_network_fit_and_can_be_used_by_all(
    page: Page, visitors: Visitors, network: str, records: Records
) -> None:
    make_an_owner(page)
    owner = come(visitors, network)
    for address in ("/sign-in", "/people", "/sign-out"):
        for width in (390, 820, 1280):
            owner.set_viewport_size({"width": width, "height": 900})
            owner.goto(address)
            fits(owner)
        everybody_can_use(owner)
        if address == "/sign-in":
            sign_in(owner, OWNER, PASSWORD)
            expect(owner.get_by_role("link", name="Sign out")).to_be_visible()


def come(visitors: Visitors, address: str, **options: object) -> Page:
    """Somebody on the network; nobody vouches for a certificate made a minute ago."""
    return visitors.come(address, ignore_https_errors=True, **options)


def make_an_owner(here: Page) -> None:
    """At the computer itself, where nobody signs in yet."""
    here.goto("/")
    here.get_by_role("link", name="Studio settings").click()
    here.get_by_role("link", name="People").click()
    expect(here.get_by_text("Make an owner first")).to_be_visible()
    make_account(here, OWNER, "owner")


def make_account(page: Page, name: str, role: str) -> None:
    form = page.locator("section", has=page.get_by_role("heading", name="New account"))
    form.get_by_label("Name").fill(name)
    form.get_by_label("Role").select_option(role)
    form.get_by_label("Password").fill(PASSWORD)
    form.get_by_role("button", name="Make account").click()
    expect(page.get_by_role("status").first).to_contain_text(f"made an account for {name}")


def people_of(owner: Page) -> None:
    owner.get_by_role("link", name="Studio settings").click()
    owner.get_by_role("link", name="People").click()


def sign_in(page: Page, name: str, password: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
