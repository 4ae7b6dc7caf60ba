"""A trial goes to another workbench as one file, in Chromium, and says the same there."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from visitors import PATIENCE_MS, Visitors

from laydown.records.ledger import Records
from laydown.usecases.trial.seed_demo import seed_demo
from served_bench import ServedBench, served_bench

pytestmark = pytest.mark.browser


@pytest.fixture
def elsewhere(empty_sqlite: Path, tmp_path: Path) -> Iterator[ServedBench]:
    """The workbench of another studio, with nothing in it."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with served_bench(folder) as bench:
        bench.fresh(empty_sqlite, folder)
        yield bench


@pytest.fixture
def visitors(elsewhere: ServedBench, visitors: Visitors) -> Visitors:
    """Visitors who have left before the workbench they visited ends."""
    return visitors


def test_a_trial_says_the_same_elsewhere(
    page: Page, records: Records, visitors: Visitors, elsewhere: ServedBench, tmp_path: Path
) -> None:
    seed_demo(records)
    archive = save_the_archive(page, tmp_path)
    there = visitors.come(elsewhere.address)

    take_in(there, altered(archive, member="trial.json"))
    refusal = there.get_by_role("alert")
    expect(refusal).to_contain_text("altered.laydown.zip")
    expect(refusal).to_contain_text("trial.json")
    there.get_by_role("link", name="Back to the trials").click()
    expect(there.get_by_role("heading", name="How a trial goes")).to_be_visible()  # nothing was kept

    take_in(there, archive)
    expect(there.get_by_role("status").first).to_contain_text("took in")
    here_told = answer_of(page)
    there_told = answer_of(there)
    assert len(here_told["values"]) > 100
    assert there_told == here_told


def save_the_archive(page: Page, folder: Path) -> Path:
    page.goto("/")
    page.locator(".trial-line h3 a").click()
    page.get_by_role("link", name="Take it along as one file").click()
    with page.expect_download() as saving:
        page.get_by_role("link", name="Save the archive").click()
    archive = folder / saving.value.suggested_filename
    saving.value.save_as(archive)
    return archive


def altered(archive: Path, *, member: str) -> Path:
    """A copy with one bit of a member's kept bytes turned over."""
    with zipfile.ZipFile(archive) as sound:
        kept = sound.getinfo(member)
    content = bytearray(archive.read_bytes())
    # Local file header: 30 bytes, then the name (PKWARE APPNOTE 4.3.7); an extra field, if any, comes after.
    content[kept.header_offset + 30 + len(member) + kept.compress_size // 2] ^= 1
    copy = archive.with_name("altered.laydown.zip")
    copy.write_bytes(content)
    return copy


def take_in(page: Page, archive: Path) -> None:
    page.goto("/")
    page.get_by_role("link", name="Take in an archive").click()
    page.get_by_label("The archive").set_input_files(archive)
    page.get_by_role("button", name="Take it in").click()


def answer_of(page: Page) -> dict[str, list[str]]:
    """What the comparison page of the trial shows: its answer, and every value with its interval and call."""
    page.goto("/")
    page.locator(".trial-line h3 a").click()
    page.locator(".way").get_by_role("link", name="Measure").last.click()
    page.get_by_role("link", name="Compare the sheets").first.click()
    page.get_by_role("link", name="Show the comparison").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)
    return {
        "answer": page.locator(".answer p").all_inner_texts(),
        "findings": page.locator(".numbers tr[data-finding] th").all_text_contents(),
        "values": page.locator(".numbers tr[data-finding] td.cell").all_text_contents(),
    }
