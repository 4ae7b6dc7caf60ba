"""Where the planning spreads come from: SD between sheets of every judged finding, on simulated prints.

    python benchmarks/derive_planning_spreads.py                 1000 sheets of each of four invented media
    python benchmarks/derive_planning_spreads.py --sheets 50     a quick look

Each sheet is printed with the model of ``docs/methods/prints.md`` (usual noise), read under M1 and M2 on
white and under M1 on black backing, and reduced by the program's own way. The table printed first is that of
``laydown.science.findings.planning_spreads``: the root mean square over the media, as a share of the value
for findings whose margin is a share, never below what the resolution lets one believe, rounded to two digits.
The SD of each medium follows.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.stated import Stated
from laydown.science.findings import METRICS
from laydown.science.prints import BARYTA, BRIGHT_MATTE, CANVAS, MATTE_COTTON, read_sheet
from laydown.science.prints import Medium as Paper
from laydown.science.readings.types import Readings
from laydown.usecases.collect_findings import collect_findings
from simulated_sheets import Kind, chart, medium_of, print_one, read_one

SEED = 20260131
BLOCK = 100
MEDIA = (MATTE_COTTON, BRIGHT_MATTE, BARYTA, CANVAS)
JUDGED = tuple(metric.id for metric in METRICS.values() if metric.judged)
READ = (("M1", "white"), ("M2", "white"), ("M1", "black"))


def one_sheet(kind: Kind, rng: np.random.Generator, *, name: str, pattern: Readings) -> list[Readings]:
    """One sheet, read under every condition and over both backings."""
    state = print_one(kind, rng)
    found = []
    for condition, backing in READ:
        spectra = read_sheet(
            chart().device_rgb,
            medium=kind.paper,
            sheet_state=state,
            noise=kind.noise,
            rng=rng,
            condition=condition,
            backing=backing,
            across=chart().across,
        )
        conditions = replace(
            pattern.conditions,
            measurement=Stated(condition, "simulated"),
            backing=Stated(backing, "simulated"),
        )
        file = f"{name}-{condition}-{backing}.txt"
        found.append(replace(pattern, file=file, reflectance=spectra, conditions=conditions))
    return found


def values_of(paper: Paper, *, sheets: int, seed: int) -> dict[str, Floats]:
    """Every judged finding of so many sheets of one medium."""
    kind = Kind(paper)
    pattern = read_one(kind, np.random.default_rng(seed), name="pattern")[0]
    rng = np.random.default_rng([seed, MEDIA.index(paper)])
    parts: dict[str, list[Floats]] = {name: [] for name in JUDGED}
    for start in range(0, sheets, BLOCK):
        size = min(BLOCK, sheets - start)
        read = [one_sheet(kind, rng, name=f"s{number}", pattern=pattern) for number in range(size)]
        collected = collect_findings([medium_of("it", read, check_rows=False)], condition="M1")
        found = collected.media[0].judged.found
        for name in JUDGED:
            parts[name].append(found[name].values if name in found else np.full(size, np.nan))
    return {name: np.concatenate(values) for name, values in parts.items()}


def spread_of(name: str, values: Floats) -> float:
    """SD between sheets, as a share of the mean where the finding's margin is a share of it."""
    sd = float(np.std(values, ddof=1))
    return sd / abs(float(np.mean(values))) if METRICS[name].margin_is_relative else sd


def planning_value(name: str, spreads: Floats, *, typical: float) -> float:
    """Root mean square over media, at least what the resolution lets one believe, to two digits."""
    metric = METRICS[name]
    floor = metric.resolution / np.sqrt(12.0) / (typical if metric.margin_is_relative else 1.0)
    believed = max(float(np.sqrt(np.mean(spreads**2))), floor)
    return float(f"{believed:.2g}")


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sheets", type=int, default=1000, help="of each medium")
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args()
    found = [values_of(paper, sheets=asked.sheets, seed=asked.seed) for paper in MEDIA]
    spreads = {name: np.array([spread_of(name, values[name]) for values in found]) for name in JUDGED}
    for name in JUDGED:
        typical = float(np.mean([np.mean(values[name]) for values in found]))
        print(f'    "{name}": {planning_value(name, spreads[name], typical=typical):g},')
    print("\n| finding | " + " | ".join(paper.name for paper in MEDIA) + " |\n|---|---|---|---|---|")
    for name in JUDGED:
        print(f"| {name} | " + " | ".join(f"{value:.3g}" for value in spreads[name]) + " |")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
