"""Fixtures of a studio with stock on the shelf and a trial begun."""

from __future__ import annotations

import pytest

from laydown.records.ledger import Records
from stocked_room import Room, stock_up


@pytest.fixture
def room(records: Records) -> Room:
    stock_up(records)
    return Room(records)


@pytest.fixture
def any_room(any_records: Records) -> Room:
    stock_up(any_records)
    return Room(any_records)
