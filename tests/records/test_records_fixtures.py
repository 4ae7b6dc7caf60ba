"""The fixtures other tests stand on: empty, apart from each other, and with a time that is known."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from laydown.records.ledger import Records
from laydown.trials.stock import Supplier
from ticking_clock import Clock


@pytest.mark.parametrize("turn", [1, 2])
def test_each_test_begins_with_nothing(any_records: Records, clock: Clock, turn: int) -> None:
    with any_records.look() as look:
        assert look.find(Supplier) == ()
        assert look.entries() == ()
    with any_records.work("books in", who="A. Printer") as work:
        work.add(Supplier(id=any_records.new_id(), name="Fen Mill"))
    with any_records.look() as look:
        (entry,) = look.entries()
        assert [one.name for one in look.find(Supplier)] == ["Fen Mill"]
    assert datetime(2026, 3, 2, 9, tzinfo=UTC) <= entry.at < clock.now
    clock.advance(days=1)
    assert any_records.now().day == 3


def test_one_database_of_each_kind(any_records: Records, request: pytest.FixtureRequest) -> None:
    assert request.node.callspec.params["any_address"] == any_records.engine.dialect.name
