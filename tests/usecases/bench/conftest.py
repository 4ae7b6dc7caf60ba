"""A trial at the bench."""

from __future__ import annotations

import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.records.ledger import Records


@pytest.fixture
def bench_trial(records: Records) -> BenchTrial:
    """Two sheets of each of four arms and a spare each, nothing printed yet."""
    return make_bench_trial(records)
