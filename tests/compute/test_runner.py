"""Every runner gives the same answers in the same order."""

from __future__ import annotations

import math

import pytest

from laydown.compute.runner import ProcessRunner, Runner, SerialRunner
from laydown.kernel.errors import UnreadableFile

RUNNERS: list[Runner] = [SerialRunner(), ProcessRunner(workers=2, at_least=2), ProcessRunner(workers=1)]


def refuse(number: int) -> int:
    raise UnreadableFile(f"{number} is refused.", file="a.txt")


@pytest.mark.parametrize("runner", RUNNERS)
def test_same_results_in_order(runner: Runner) -> None:
    assert list(runner.map(math.factorial, range(20))) == [math.factorial(n) for n in range(20)]


@pytest.mark.parametrize("runner", RUNNERS)
def test_errors_come_back_whole(runner: Runner) -> None:
    with pytest.raises(UnreadableFile, match=r"a\.txt: 1 is refused"):
        list(runner.map(refuse, [1, 2, 3]))
