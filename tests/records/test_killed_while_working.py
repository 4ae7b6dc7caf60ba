"""Killed at any moment, everything that was said to be kept is there, and nothing is half kept.

``benchmarks/kill_while_working.py`` does the same many more times.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from killing import Killing

from private_postgresql import Server

pytestmark = pytest.mark.skipif(os.name != "posix", reason="LEFT OUT: kill -9 exists on POSIX only")
KILLS = 12


def test_workers_killed_lose_nothing(any_address: str, tmp_path: Path) -> None:
    with Killing(any_address, tmp_path / "files", seed=20260302) as killing:
        for _ in range(KILLS):
            killing.round()
        killing.check_all()
    assert killing.tally.losses == []
    assert killing.tally.acts > KILLS  # they did work


@pytest.mark.postgresql
def test_a_server_killed_loses_nothing(
    postgresql_address: str, postgresql_server: Server, tmp_path: Path
) -> None:
    def crash(_: int) -> None:
        postgresql_server.stop("immediate")
        postgresql_server.start()

    with Killing(postgresql_address, tmp_path / "files", seed=7) as killing:
        for _ in range(3):
            killing.round(crash)
        killing.check_all()
    assert killing.tally.losses == []
    assert killing.tally.refusals == 3
