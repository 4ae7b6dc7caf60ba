"""A running trial with printed and settled sheets, and files an instrument could have written of them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from laydown.records.ledger import Records
from laydown.usecases.demo_trial import build_demo_trial
from laydown.usecases.measuring.parsed_file import HandedIn
from spring_trial import Spring, scans_of, spring_trial


@pytest.fixture(scope="session")
def demo_files() -> dict[str, bytes]:
    """The invented trial's files by path; read on 13 and 14 January 2026."""
    return build_demo_trial()


@pytest.fixture
def bench(records: Records) -> Spring:
    """A sealed trial of a house rag and a gloss, three printed sheets of each, cured since January."""
    return spring_trial(records)


@pytest.fixture
def scans(demo_files: dict[str, bytes]) -> Callable[..., list[HandedIn]]:
    """``scans()``: M1 and M2 files of the six sheets, named for their codes."""

    def go(conditions: tuple[str, ...] = ("M1", "M2"), sheets: int = 3) -> list[HandedIn]:
        return scans_of(demo_files, conditions=conditions, sheets=sheets)

    return go
