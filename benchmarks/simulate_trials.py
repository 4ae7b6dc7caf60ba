"""Are the calls right in the end? Whole simulated trials of prints with known truth, from readings to calls.

    python benchmarks/simulate_trials.py                     all scenarios, 500 trials each
    python benchmarks/simulate_trials.py --trials 50         a quick look

Sheets come from ``laydown.science.prints``. All that follows is the program's own: row checks, sheets from
readings, findings, intervals, calls. The truth of a finding is its mean over all sheets the medium could
give, got from thousands of independent sheets. ``docs/methods/simulation.md`` explains the tables.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace

from judged_trials import Scenario, simulate
from laydown.compute.runner import ProcessRunner, SerialRunner
from laydown.science.prints import BARYTA, MATTE_COTTON, Noise
from simulated_sheets import CONDITIONS, Kind, Truth, chart, find_truths
from trial_tables import report

SEED = 20260131
TRUTH_SHEETS = 3000


def scenarios() -> tuple[Scenario, ...]:
    """House; a twin that is the same in truth; one near the margins; one far off, or one that varies more."""
    house = Kind(MATTE_COTTON)
    near = Kind(replace(MATTE_COTTON, warmth=0.068, surface=0.0142, ink_strength=0.96))
    far = Kind(BARYTA)
    wide = Kind(MATTE_COTTON, replace(Noise().times(2.5), patch=Noise().patch, reading=Noise().reading))
    usual = (("house", house), ("twin", house), ("near", near), ("far", far))
    noisy = (("house", house), ("twin", house), ("near", near), ("wide", wide))
    tails = tuple((name, replace(kind, t5=True)) for name, kind in usual)
    return (
        Scenario("3 sheets", usual, 3, CONDITIONS),
        Scenario("2 sheets", usual, 2, CONDITIONS),
        Scenario("5 sheets", usual, 5),
        Scenario("one varies 2.5 times", noisy, 3),
        Scenario("misreads", usual, 3, CONDITIONS, mistaken=0.3),
        Scenario("heavy tails", tails, 3),
    )


def named_truths(chosen: Sequence[Scenario], truths: Mapping[Kind, Truth]) -> dict[str, Truth]:
    """Truths by the first name that each kind goes by; heavy tails hardly change them and are left out."""
    names: dict[Kind, str] = {}
    for scenario in chosen:
        for name, kind in scenario.kinds:
            if not kind.t5:
                names.setdefault(kind, name)
    return {name: truths[kind] for kind, name in names.items()}


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--trials", type=int, default=500, help="of each scenario")
    parser.add_argument("--truth-sheets", type=int, default=TRUTH_SHEETS, help="of each medium")
    parser.add_argument("--only", default="", help="one scenario, by name")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    started = time.perf_counter()
    runner = ProcessRunner(workers=asked.workers, at_least=2) if asked.workers > 1 else SerialRunner()
    every = scenarios()
    chosen = [it for it in every if asked.only in ("", it.name)]
    kinds = list(dict.fromkeys(kind for it in chosen for _, kind in it.kinds))
    truths = find_truths(kinds, sheets=asked.truth_sheets, seed=asked.seed, runner=runner)
    tallies = []
    for it in chosen:
        seed = (asked.seed, 3, every.index(it))
        tallies.append(simulate(it, truths, trials=asked.trials, seed=seed, runner=runner))
        print(f"{it.name}: {time.perf_counter() - started:.0f} s", file=sys.stderr, flush=True)
    for part in report(tallies, named_truths(chosen, truths)):
        print(part, flush=True)
    print(
        f"{asked.trials} trials a scenario, {asked.truth_sheets} sheets of each medium for the truth, "
        f"{len(chart())} patches, seed {asked.seed}"
    )
    print(f"{time.perf_counter() - started:.0f} s", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
