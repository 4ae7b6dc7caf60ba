"""Simulated sheets with known truth, handed to the program as readings; the stuff of ``simulate_trials``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from laydown.compute.runner import Runner
from laydown.kernel.arrays import Floats
from laydown.kernel.stated import Stated
from laydown.science.findings import METRICS
from laydown.science.findings.doubts import settle_doubts
from laydown.science.findings.pairing import gather_sheets
from laydown.science.findings.reduction import reduce_readings
from laydown.science.prints import (
    ANCHORS,
    WAVELENGTHS_NM,
    Chart,
    Misreads,
    Noise,
    SheetState,
    misread,
    neutral_levels,
    primary_ramp_colours,
    print_sheet,
    read_sheet,
    surface_colours,
)
from laydown.science.prints import Medium as Paper
from laydown.science.readings.types import Conditions, Readings
from laydown.usecases.collect_findings import Collected, collect_findings
from laydown.usecases.read_media import Medium

CONDITIONS = ("M1", "M2")
BLOCK = 250  # sheets at once for the truth
TAILS_DF = 5.0
CHART_SEED = 20260131
IDS = tuple(METRICS)
USUAL = Noise()


@dataclass(frozen=True, slots=True)
class Kind:
    """One medium as it is in truth: how it prints and how its sheets vary (t5: now and then a bad sheet)."""

    paper: Paper
    noise: Noise = USUAL
    t5: bool = False


@cache
def chart() -> Chart:
    """249 patches of 213 colours: cube faces in six levels, neutral ramp, primaries, an inside, repeats."""
    rng = np.random.default_rng([CHART_SEED, 1])
    steps = np.array([51, 128, 204])
    inside = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    neutrals = np.repeat(neutral_levels()[:, None], 3, axis=1)
    every = np.concatenate([surface_colours(6), neutrals, primary_ramp_colours(6), inside])
    often = np.repeat(np.array(list(ANCHORS.values())), [7, 7, 7, *[3] * (len(ANCHORS) - 3)], axis=0)
    colours = rng.permutation(np.concatenate([np.unique(every, axis=0), often]))
    place = np.arange(len(colours))
    positions = np.stack([place // 20, place % 20], axis=1)
    return Chart(colours / 255.0, positions, tuple(f"P{number + 1}" for number in place))


def print_one(kind: Kind, rng: np.random.Generator) -> SheetState:
    """One more sheet; with t5 all that varies from sheet to sheet is scaled together."""
    state = print_sheet(len(chart()), noise=kind.noise, rng=rng)
    if not kind.t5:
        return state
    scale = float(np.sqrt((TAILS_DF - 2.0) / rng.chisquare(TAILS_DF)))
    return replace(
        state,
        ink_amount=tuple(scale * value for value in state.ink_amount),
        gain=tuple(scale * value for value in state.gain),
        tint=(scale * state.tint[0], scale * state.tint[1]),
        drift=tuple(scale * value for value in state.drift),
    )


def read_one(
    kind: Kind,
    rng: np.random.Generator,
    *,
    name: str,
    conditions: tuple[str, ...] = CONDITIONS,
    mistakes: Misreads | None = None,
) -> list[Readings]:
    """Print a sheet and read it under every condition; mistakes are made in the first reading."""
    state = print_one(kind, rng)
    return [
        _reading(kind, state, rng, name, condition, mistakes if condition == conditions[0] else None)
        for condition in conditions
    ]


def _reading(
    kind: Kind,
    state: SheetState,
    rng: np.random.Generator,
    name: str,
    condition: str,
    mistakes: Misreads | None,
) -> Readings:
    spectra = read_sheet(
        chart().device_rgb,
        medium=kind.paper,
        sheet_state=state,
        noise=kind.noise,
        rng=rng,
        condition=condition,
        across=chart().across,
    )
    return Readings(
        file=f"{name}-{condition}.txt",
        ids=chart().ids,
        names=("",) * len(chart()),
        lines=np.zeros(len(chart()), dtype=np.int64),
        channels=("R", "G", "B"),
        device=chart().device_rgb,
        device_scale=Stated(255.0, "the chart"),
        wavelengths_nm=WAVELENGTHS_NM,
        reflectance=spectra if mistakes is None else misread(spectra, misreads=mistakes),
        positions=chart().positions,
        conditions=Conditions(
            measurement=Stated(condition, "simulated"),
            backing=Stated("white", "simulated"),
            finish=Stated("uncoated", "simulated"),
            age_hours=Stated(24.0, "simulated"),
        ),
    )


def some_mistake(rng: np.random.Generator, *, share: float) -> Misreads | None:
    """On a share of sheets a pair of patches swapped, or one patch read half over its neighbour."""
    if rng.random() >= share:
        return None
    first, second = (int(row) for row in rng.choice(len(chart()), 2, replace=False))
    return Misreads(swapped=((first, second),)) if rng.random() < 0.5 else Misreads(wrong=(first,))


def medium_of(name: str, sheets: Sequence[Sequence[Readings]], *, check_rows: bool = True) -> Medium:
    """The program's own way from readings to a medium."""
    reduced = [reduce_readings(item, check_rows=check_rows) for sheet in sheets for item in sheet]
    return Medium(name, gather_sheets(settle_doubts(reduced)[0])[0])


@dataclass(frozen=True, slots=True, eq=False)
class Truth:
    """By finding (f,), NaN for none: the mean over all sheets and its standard error, the SD of sheets, the
    value of a perfect sheet read without noise, and the share of sheets that have the commonest value."""

    mean: Floats
    error: Floats
    sd: Floats
    perfect: Floats
    commonest: Floats


@dataclass(frozen=True, slots=True)
class Block:
    kind: Kind
    seed: tuple[int, ...]
    sheets: int
    conditions: tuple[str, ...] = CONDITIONS


def sheet_values(block: Block) -> Floats:
    """Every finding of independent sheets of one medium, (f, sheets); nothing is misread, nothing checked."""
    rng = np.random.default_rng(block.seed)
    sheets = [
        read_one(block.kind, rng, name=f"s{number}", conditions=block.conditions)
        for number in range(block.sheets)
    ]
    medium = medium_of("it", sheets, check_rows=False)
    return _found(collect_findings([medium], condition=block.conditions[0]))


def _found(collected: Collected) -> Floats:
    found = collected.media[0].judged.found
    count = len(collected.media[0].judged.sheets)
    nothing = np.full(count, np.nan)
    return np.stack(
        [found[name].values if name in found and not found[name].of_medium else nothing for name in IDS]
    )


def perfect_values(kind: Kind) -> Floats:
    """Every finding of the print that was intended, read without noise, (f,)."""
    still = replace(kind, noise=USUAL.times(0.0), t5=False)
    sheets = [read_one(still, np.random.default_rng(0), name="s")]
    return _found(collect_findings([medium_of("it", sheets, check_rows=False)], condition=CONDITIONS[0]))[
        :, 0
    ]


def find_truths(
    kinds: Sequence[Kind],
    *,
    sheets: int,
    seed: int,
    runner: Runner,
    conditions: tuple[str, ...] = CONDITIONS,
) -> dict[Kind, Truth]:
    """The truth of every kind, from ``sheets`` independent sheets each, in whole blocks."""
    size = min(BLOCK, sheets)
    blocks = [
        Block(kind, (seed, 2, place, number), size, conditions)
        for place, kind in enumerate(kinds)
        for number in range(sheets // size)
    ]
    values: dict[Kind, list[Floats]] = {kind: [] for kind in kinds}
    for block, got in zip(blocks, runner.map(sheet_values, blocks), strict=True):
        values[block.kind].append(got)
    return {kind: _truth(np.concatenate(values[kind], axis=1), perfect_values(kind)) for kind in kinds}


def _truth(values: Floats, perfect: Floats) -> Truth:
    sd = values.std(axis=1, ddof=1)
    return Truth(
        mean=values.mean(axis=1),
        error=sd / np.sqrt(values.shape[1]),
        sd=sd,
        perfect=perfect,
        commonest=np.array([_commonest(row) for row in values]),
    )


def _commonest(row: Floats) -> float:
    return float(np.unique(np.round(row, 9), return_counts=True)[1].max() / row.size)
