"""CIEDE2000 of many pairs: Laydown beside colour-science, in one run, on the same numbers.

Run: ``python benchmarks/bench_colour_difference.py [pairs ...]`` (default 1e4, 1e6 and 1e7). It needs the
``checks`` extra.
"""

from __future__ import annotations

import os
import sys
import time
import warnings
from collections.abc import Callable
from statistics import median
from typing import Any

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import delta_e_2000

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it warns that it cannot plot
    from colour.difference import delta_E_CIE2000

ROUNDS = 5
AGREE_WITHIN = 1e-9


def pairs_of_colours(n: int) -> tuple[Floats, Floats]:
    """Colours all over Lab and, a few units away, their partners, as prints of one chart are."""
    rng = np.random.default_rng(20050101)
    one = rng.uniform([0.0, -100.0, -100.0], [100.0, 100.0, 100.0], (n, 3))
    return one, one + rng.normal(0.0, 3.0, (n, 3))


def seconds(work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main(sizes: list[int]) -> None:
    print(f"{os.cpu_count()} processors; median of {ROUNDS} interleaved rounds after one to warm up")
    print("     pairs  colour-science    laydown   ratio   1 thread   ratio")
    for n in sizes:
        one, two = pairs_of_colours(n)
        worst = float(np.abs(delta_e_2000(one, two) - delta_E_CIE2000(one, two)).max())
        if not worst <= AGREE_WITHIN:
            sys.exit(f"the two disagree by {worst:g} on {n} pairs")
        theirs, ours, alone = [], [], []
        for _ in range(ROUNDS):
            theirs.append(seconds(lambda: delta_E_CIE2000(one, two)))  # noqa: B023 - called at once
            ours.append(seconds(lambda: delta_e_2000(one, two)))  # noqa: B023
            alone.append(seconds(lambda: delta_e_2000(one, two, threads=1)))  # noqa: B023
        reference = median(theirs)
        print(
            f"{n:>10}  {reference:>12.4f} s  {median(ours):>7.4f} s  {reference / median(ours):>5.1f}x"
            f"  {median(alone):>7.4f} s  {reference / median(alone):>5.1f}x   (agree to {worst:.0e})"
        )


if __name__ == "__main__":
    main([int(float(size)) for size in sys.argv[1:]] or [10**4, 10**6, 10**7])
