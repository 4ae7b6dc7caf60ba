"""How often are the calls wrong? Simulated trials with known truth through the project's own arithmetic.

    python benchmarks/simulate_calls.py                    all settings, 2000 trials each
    python benchmarks/simulate_calls.py --trials 200       a quick look

A trial is M quantities x k candidates x n sheets. ``make`` builds trials and is an argument of ``simulate``,
so that another source of trials (a print model, say) can take its place.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.deciding.pairs import compare_pairs, intervals
from laydown.science.deciding.spreads import spreads

QUANTITIES = 20
CORRELATION = 0.5  # between quantities of one sheet
MARGIN = 4.0  # in standard deviations of a sheet
LARGE = 12.0
ALPHA = 0.05
BLOCK = 250  # trials at once
COLUMNS = (
    "noise",
    "media",
    "sheets",
    "interval covers, %",
    "worst medium",
    "difference covers, %",
    "worst pair",
    "trials with a wrong call, all alike, %",
    "the same, mixed, %",
    "wrong same, % of pairs at the margin",
    "12 SD told apart, %",
    "0 called same, %",
)


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """values (t, M, k, n) and truth (M, k) or (t, M, k)."""

    values: Floats
    truth: Floats


Maker = Callable[[np.random.Generator, int], Trials]


@dataclass(frozen=True, slots=True)
class Setting:
    """Noise is normal, t5 or unequal (the last candidate varies twice as much); truth is none or mixed."""

    noise: str
    truth: str
    k: int
    n: int


@dataclass(slots=True)
class Tally:
    """Counts over trials; coverage per candidate or pair so that the worst can be shown."""

    trials: int = 0
    cover: Floats | float = 0.0
    cover_difference: Floats | float = 0.0
    covered_of: int = 0
    wrong_trials: int = 0
    wrong_same: int = 0
    at_margin: int = 0
    told: int = 0
    tellable: int = 0
    same: int = 0
    samable: int = 0


def generic(setting: Setting) -> Maker:
    """Maker of trials with correlated quantities and unit (or double) sheet SD."""

    def make(rng: np.random.Generator, trials: int) -> Trials:
        shape = (trials, QUANTITIES, setting.k, setting.n)
        common = rng.normal(size=(trials, 1, setting.k, setting.n))
        noise = np.sqrt(CORRELATION) * common + np.sqrt(1.0 - CORRELATION) * rng.normal(size=shape)
        if setting.noise == "t5":  # multivariate: a bad sheet is bad in every quantity
            noise = noise * np.sqrt(3.0 / rng.chisquare(5, size=(trials, 1, setting.k, setting.n)))
        if setting.noise == "unequal":
            noise[:, :, -1] *= 2.0
        truth = np.zeros((QUANTITIES, setting.k))
        if setting.truth == "mixed":  # half all alike, a quarter one margin off, a quarter far off
            truth[10:15, 0] = MARGIN
            truth[15:20, 0] = LARGE
        return Trials(noise + truth[:, :, np.newaxis], truth)

    return make


def simulate(make: Maker, *, trials: int, margin: float | None, rng: np.random.Generator) -> Tally:
    """Judge ``trials`` trials and count what is right and wrong. Higher counts as better throughout."""
    tally = Tally()
    for start in range(0, trials, BLOCK):
        made = make(rng, min(BLOCK, trials - start))
        count_block(made, tally, margin=margin)
    return tally


def count_block(made: Trials, tally: Tally, *, margin: float | None) -> None:
    found = spreads(made.values)
    truth = np.broadcast_to(made.truth, found.mean.shape)
    quantities, k = truth.shape[-2:]
    first, second = np.triu_indices(k, 1)
    low, high = intervals(found, confidence=0.95)
    pairs = compare_pairs(
        found, first=first, second=second, quantities_judged=quantities, confidence=0.95, margin=margin
    )
    gap = truth[..., first] - truth[..., second]
    tally.trials += len(truth)
    tally.covered_of += len(truth) * quantities
    tally.cover = tally.cover + ((low <= truth) & (truth <= high)).sum(axis=(0, 1))
    tally.cover_difference = tally.cover_difference + ((pairs.low <= gap) & (gap <= pairs.high)).sum(
        axis=(0, 1)
    )
    same = pairs.p_equivalence <= ALPHA
    called = (pairs.p_adjusted <= ALPHA) & ~same
    wrong = called & (np.sign(pairs.difference) != np.sign(gap))
    tally.wrong_trials += int(wrong.any(axis=(-2, -1)).sum())
    if margin is not None:
        outside = np.abs(gap) >= margin
        tally.wrong_same += int((same & outside).sum())
        tally.at_margin += int((np.abs(gap) == margin).sum())
        tally.same += int((same & (gap == 0)).sum())
        tally.samable += int((gap == 0).sum())
        far = np.abs(gap) >= LARGE
        tally.told += int((called & far & ~wrong).sum())
        tally.tellable += int(far.sum())


def settings() -> Iterator[Setting]:
    for noise, k, n in product(("normal", "t5", "unequal"), (2, 3, 5, 8), (2, 3, 5)):
        yield Setting(noise, "none", k, n)
        yield Setting(noise, "mixed", k, n)


def percent(count: float, of: float) -> str:
    return f"{100.0 * count / of:.1f}" if of else "-"


def rows(trials: int, seed: int) -> Iterator[str]:
    yield f"| {' | '.join(COLUMNS)} |"
    yield "|---" * len(COLUMNS) + "|"
    tallies: list[Tally] = []
    for place, setting in enumerate(settings()):
        rng = np.random.default_rng([seed, place])
        margin = MARGIN if setting.truth == "mixed" else None
        tallies.append(simulate(generic(setting), trials=trials, margin=margin, rng=rng))
        if len(tallies) < 2:
            continue
        alike, mixed = tallies
        tallies = []
        of = alike.covered_of + mixed.covered_of
        cover = np.asarray(alike.cover) + mixed.cover
        gaps = np.asarray(alike.cover_difference) + mixed.cover_difference
        cells = [
            setting.noise,
            str(setting.k),
            str(setting.n),
            percent(cover.mean(), of),
            percent(cover.min(), of),
            percent(gaps.mean(), of),
            percent(gaps.min(), of),
            percent(alike.wrong_trials, alike.trials),
            percent(mixed.wrong_trials, mixed.trials),
            percent(mixed.wrong_same, mixed.at_margin),
            percent(mixed.told, mixed.tellable),
            percent(mixed.same, mixed.samable),
        ]
        yield "| " + " | ".join(cells) + " |"


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--trials", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20260131)
    chosen = parser.parse_args()
    started = time.perf_counter()
    for row in rows(chosen.trials, chosen.seed):
        print(row, flush=True)
    print(f"\n{chosen.trials} trials a setting, seed {chosen.seed}, {time.perf_counter() - started:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
