"""How often is a sheet wrongly suspected, and how often is a planted mix-up found?

    python benchmarks/simulate_mix_ups.py                  200 sheets of each chart and setting
    python benchmarks/simulate_mix_ups.py --sheets 20      a quick look
    python benchmarks/simulate_mix_ups.py --data ../shared/data    and measured charts, where they are at hand

Sheets are those of the print model, of four media. A sheet is looked at by itself, beside one sheet of its
medium, and beside two sheets of it and two of each other medium. Twins are media that are one in truth, with
usual and with four times the usual spread from sheet to sheet. ``docs/methods/mix-ups.md`` holds the tables.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.stated import Stated
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.mix_ups import ExpectedChart, mend, suspect_mix_ups
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.prints import (
    BARYTA,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    print_sheet,
    read_sheet,
)
from laydown.science.readings import read_measurements
from laydown.science.readings.types import Conditions

MEDIA = {"rag": MATTE_COTTON, "bright": BRIGHT_MATTE, "baryta": BARYTA, "canvas": CANVAS}
#: Kinds of claim that are right for a planted slip.
RIGHT = {
    "upside down": {"upside_down"},
    "last row first": {"rows_last_to_first"},
    "every row backwards": {"reversed_rows", "rows_last_to_first"},  # the columns from last to first
    "one row backwards": {"reversed_rows"},
    "row left out": {"row_left_out"},
    "row read twice, rest late": {"row_read_twice"},
    "row read twice, next lost": {"row_read_twice"},
    "patch left out": {"patches_shifted", "row_left_out"},
}
MENDED = 0.95  # share of the patches that have to be right: a short last row cannot be told
USUAL = Noise()
SETTINGS = ("alone", "one sibling", "all")
Tally = Counter[tuple[str, str]]
CONDITIONS = Conditions(measurement=Stated("M1", "simulated"))


def grid(steps: int) -> Floats:
    """A cube of device colours, sorted."""
    axis = np.linspace(0.0, 1.0, steps)
    return np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)


@cache
def chart(name: str) -> ExpectedChart:
    """A chart in rows: so many patches in random order, or sorted by colour."""
    rng = np.random.default_rng(7)
    if name.endswith("sorted"):
        device, columns = (grid(9), 27) if name.startswith("729") else (_strip(), 6)
    else:
        patches, columns = {
            "24": (24, 6),
            "54": (54, 9),
            "300": (300, 20),
            "918": (918, 27),
            "3190": (3190, 29),
        }[name]
        device = np.round(rng.random((patches, 3)) * 255.0) / 255.0
        device[rng.permutation(patches)[: patches // 20 + 2]] = 1.0
        device[rng.permutation(patches)[: patches // 20 + 2]] = 0.0
    place = np.arange(len(device))
    positions = np.stack([place // columns, place % columns], axis=1)
    return ExpectedChart(f"chart of {name}", ("R", "G", "B"), device, positions)


def _strip() -> Floats:
    """24 patches as on a control strip: greys, then solids and tints in pairs."""
    greys = np.repeat(np.linspace(1.0, 0.0, 12)[:, None], 3, axis=1)
    masks = np.array([(0, 1, 1), (1, 0, 1), (1, 1, 0), (0, 0, 1), (0, 1, 0), (1, 0, 0)], dtype=np.float64)
    return np.concatenate([greys, np.concatenate([np.stack([m, 0.5 + 0.5 * m]) for m in masks])])


def sheet(
    plan: ExpectedChart, paper: Medium, rng: np.random.Generator, *, name: str, noise: Noise = USUAL
) -> Reduced:
    """One more sheet, printed and read."""
    state = print_sheet(len(plan.device), noise=noise, rng=rng)
    spectra = read_sheet(plan.device, medium=paper, sheet_state=state, noise=noise, rng=rng)
    return reading(plan, lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM), name=name)


def reading(plan: ExpectedChart, lab: Floats, *, name: str) -> Reduced:
    """Colours as a reading of the chart."""
    n = len(lab)
    nothing = np.full(n, np.nan)
    return Reduced(
        file=name,
        ids=tuple(str(number + 1) for number in range(n)),
        lines=np.zeros(n, dtype=np.int64),
        positions=plan.positions,
        channels=plan.channels,
        device=plan.device,
        lab=np.asarray(lab, dtype=np.float64),
        visual=nothing,
        status_t=np.stack([nothing] * 3, axis=1),
        white=None,
        wavelengths_nm=None,
        colorimetry="D50/2°",
        visual_from="",
        conditions=CONDITIONS,
        suspects=(),
    )


def slips(rows: Ints, rng: np.random.Generator) -> Iterator[tuple[str, Ints]]:
    """Which patch was really read for each place, for every kind of slip."""
    count = int(rows.max()) + 1
    table = [np.flatnonzero(rows == row) for row in range(count)]
    full = [row for row in range(count) if table[row].size == table[0].size]
    everything = np.arange(rows.size)
    one = int(rng.choice(full))
    yield "upside down", everything[::-1]
    if len(full) == count:
        yield "last row first", np.concatenate(table[::-1])
    yield "every row backwards", np.concatenate([line[::-1] for line in table])
    read = everything.copy()
    read[table[one]] = table[one][::-1]
    yield "one row backwards", read
    from_row = int(rng.integers(0, len(full) - 1))
    read = everything.copy()
    for row in range(from_row, len(full) - 1):
        read[table[row]] = table[row + 1]
    yield "row left out", read
    from_row = int(rng.integers(0, max(1, len(full) - 2)))
    read = everything.copy()
    for row in range(from_row + 1, len(full)):
        read[table[row]] = table[row - 1]
    yield "row read twice, rest late", read
    read = everything.copy()
    read[table[from_row + 1]] = table[from_row]
    yield "row read twice, next lost", read
    start = int(rng.integers(0, rows.size - 12))
    yield "patch left out", np.concatenate([everything[:start], everything[start + 1 :], everything[-1:]])


Beside = tuple[list[Reduced], dict[str, list[Reduced]]]


def beside(setting: str, name: str, stock: dict[str, list[Reduced]]) -> Beside:
    """The sheets a reading is set against."""
    if setting == "alone":
        return [], {}
    if setting == "one sibling":
        return stock[name][:1], {}
    return stock[name][:2], {other: sheets[:2] for other, sheets in stock.items() if other != name}


def undone(
    slipped: Reduced, truth: Floats, kind: str, siblings: list[Reduced], others: dict[str, list[Reduced]]
) -> bool:
    """Whether the slip is claimed for what it is, and its mending puts (all but) every patch right."""
    found = suspect_mix_ups(slipped, medium="it", siblings=siblings, others=others)
    if not found or found[0].kind not in RIGHT[kind] or found[0].mending is None:
        return False
    mended = mend(slipped.lab, found[0].mending)
    known = np.isfinite(mended).all(axis=1)
    return bool(np.mean(np.linalg.norm(mended[known] - truth[known], axis=1) < 1.0) >= MENDED)


def study(plan: ExpectedChart, *, sheets: int, rng: np.random.Generator) -> tuple[Tally, Tally]:
    """Counts of (setting, what) claimed rightly and tried; "in order" counts false alarms."""
    stock = {
        name: [sheet(plan, paper, rng, name=f"{name}{i}") for i in range(2)] for name, paper in MEDIA.items()
    }
    right: Tally = Counter()
    tried: Tally = Counter()
    assert plan.positions is not None
    for number in range(sheets):
        name = list(MEDIA)[number % len(MEDIA)]
        other = list(MEDIA)[(number + 1 + number // len(MEDIA) % 3) % len(MEDIA)]
        good = sheet(plan, MEDIA[name], rng, name="it")
        planted = list(slips(plan.positions[:, 0], rng))
        for setting in SETTINGS:
            siblings, others = beside(setting, name, stock)
            tried[setting, "in order"] += 1
            right[setting, "in order"] += bool(
                suspect_mix_ups(good, medium=name, chart=plan, siblings=siblings, others=others)
            )
            for kind, read in planted:
                slipped = replace(good, lab=good.lab[read])
                tried[setting, kind] += 1
                right[setting, kind] += undone(slipped, good.lab, kind, siblings, others)
            turned = replace(good, lab=good.lab[::-1], positions=None)
            tried[setting, "upside down, rows not known"] += 1
            right[setting, "upside down, rows not known"] += undone(
                turned, good.lab, "upside down", siblings, others
            )
        siblings, others = beside("all", other, stock)
        found = suspect_mix_ups(good, medium=other, chart=plan, siblings=siblings, others=others)
        tried["all", "filed under another medium"] += 1
        right["all", "filed under another medium"] += any(item.belongs_to == name for item in found)
    return right, tried


def twins(plan: ExpectedChart, *, sheets: int, factor: float, rng: np.random.Generator) -> tuple[int, int]:
    """False alarms with one and with two siblings, where three media are one in truth."""
    noise = replace(Noise().times(factor), patch=Noise().patch, reading=Noise().reading)
    stock = [sheet(plan, MATTE_COTTON, rng, name=f"t{number}", noise=noise) for number in range(40)]
    alarms = [0, 0]
    for _ in range(sheets):
        it, *rest = (stock[number] for number in rng.permutation(len(stock))[:8])
        for siblings in (1, 2):
            found = suspect_mix_ups(
                it, medium="a", chart=plan, siblings=rest[:siblings], others={"b": rest[2:4], "c": rest[4:6]}
            )
            alarms[siblings - 1] += bool(found)
    return alarms[0], alarms[1]


def measured(folder: Path) -> Iterator[tuple[str, int, int, int, int]]:
    """Measured files alone: name, patches, widths tried, false alarms, share of planted slips found."""
    rng = np.random.default_rng(5)
    files = [
        *folder.glob("inkjet-matte/*.txt"),
        *folder.glob("standard-conditions/*.txt"),
        *folder.glob("offset-conditions/*.txt"),
    ]
    for file in sorted(files):
        if file.stem == "LICENSE":
            continue
        item = reduce_readings(
            read_measurements(file.read_bytes(), file=file.name).tables[0], check_rows=False
        )
        if item.device is None:
            continue
        alarms, found, tried, widths = 0, 0, 0, (0, 7, 13, 21, 29, 33, 45)
        for width in widths:
            place = np.arange(len(item.lab))
            positions = np.stack([place // width, place % width], axis=1) if width else None
            known = replace(item, positions=positions, ids=tuple(map(str, place)))
            alarms += bool(suspect_mix_ups(known, medium="it"))
            if positions is None:
                continue
            for kind, read in slips(positions[:, 0], rng):
                tried += 1
                found += undone(replace(known, lab=known.lab[read]), known.lab, kind, [], {})
        yield file.name, len(item.lab), len(widths), alarms, round(100 * found / tried)


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sheets", type=int, default=200, help="of each chart")
    parser.add_argument("--seed", type=int, default=20260131)
    parser.add_argument("--charts", default="24,54,300,918,3190,24 sorted,729 sorted")
    parser.add_argument("--data", type=Path, help="folder of measured charts")
    asked = parser.parse_args()
    for name in filter(None, asked.charts.split(",")):
        rng = np.random.default_rng([asked.seed, len(name), len(chart(name).device)])
        right, tried = study(chart(name), sheets=asked.sheets, rng=rng)
        for kind in dict.fromkeys(kind for _, kind in tried):
            shares = [
                f"{100.0 * right[setting, kind] / tried[setting, kind]:.1f}" if tried[setting, kind] else "-"
                for setting in SETTINGS
            ]
            print(f"| {name} | {kind} | " + " | ".join(shares) + " |", flush=True)
        for factor in (1.0, 4.0):
            one, two = twins(chart(name), sheets=asked.sheets, factor=factor, rng=rng)
            print(
                f"| {name} | twins in order, spread x {factor:g} | - | {one} | {two} | of {asked.sheets}",
                flush=True,
            )
    if asked.data is not None:
        for name, patches, widths, alarms, share in measured(asked.data):
            print(f"| {name} | {patches} | {alarms} of {widths} | {share} |", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
