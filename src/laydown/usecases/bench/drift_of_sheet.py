"""Several readings of one sheet over hours: how it changed after printing, and when it had settled."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import LaydownError, NotEnoughData
from laydown.records.look import Look
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.readings import read_measurements
from laydown.science.settling import DriftCurve, drift_curve
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A reading that is not in the curve, and why."""

    reading_id: str
    file_name: str
    why: str


@dataclass(frozen=True, slots=True, eq=False)
class InCurve:
    """A reading that is in the curve: its age since printing, in hours, and its colours."""

    reading: Reading
    hours: float
    reduced: Reduced


@dataclass(frozen=True, slots=True, eq=False)
class SheetDrift:
    """How a sheet changed under one measuring condition and in one finish, from which readings.

    ``names`` are those of the patches; ``others`` conditions that a curve could be drawn for as well.
    """

    curve: DriftCurve
    condition: str
    finish: str
    names: tuple[str, ...]
    readings: tuple[InCurve, ...]
    left_out: tuple[LeftOut, ...]
    others: tuple[str, ...]


def drift_of_sheet(look: Look, facts: TrialFacts, sheet: Sheet, *, condition: str = "") -> SheetDrift:
    """Set the readings of a sheet against one another, those of one condition, finish, instrument and chart.

    Without ``condition`` the one with most readings is taken. What is left out says why.

    Raises
    ------
    NotEnoughData
        Fewer than two readings can be set against one another, or the time of printing is not known.
    """
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    if printed is None:
        raise NotEnoughData(f"sheet {sheet.code} was not printed yet.", todo="Print it, then read it.")
    coated = next(iter(facts.events_of(sheet.id, "coated")), None)
    left: list[LeftOut] = []
    found: dict[str, list[InCurve]] = defaultdict(list)
    for reading in facts.readings_of(sheet.id):
        at = reading.measured_at or reading.received_at
        for reduced in _tables(look, reading, left):
            item = InCurve(reading, (at - printed.at) / timedelta(hours=1), reduced)
            found[reduced.condition].append(item)
    wanted = condition if condition in found else _commonest([n for n, of in found.items() for _ in of])

    def finish_of(item: InCurve) -> str:
        at = item.reading.measured_at or item.reading.received_at
        return "coated" if coated is not None and at >= coated.at else "uncoated"

    chosen = sorted(found.get(wanted, []), key=lambda item: item.hours)
    chosen = _alike(chosen, finish_of, left, "read in another finish: {}")
    chosen = _alike(chosen, _instrument, left, "read with another instrument: {}")
    chosen, labs, densities = _on_one_chart(chosen, left)
    if len(chosen) < 2:
        raise NotEnoughData(
            f"{len(chosen)} reading(s) of sheet {sheet.code} can be set against one another.",
            todo=" ".join(
                ["Read it again under the same condition, each time after about twice as long."]
                + [f"{one.file_name}: {one.why}." for one in left]
            ),
        )
    curve = drift_curve([item.hours for item in chosen], labs, density=densities)
    return SheetDrift(
        curve=replace(curve, density_from=chosen[-1].reduced.visual_from),
        condition=wanted,
        finish=finish_of(chosen[-1]),
        names=chosen[-1].reduced.ids,
        readings=tuple(chosen),
        left_out=tuple(left),
        others=tuple(sorted(name for name, of in found.items() if name != wanted and len(of) > 1)),
    )


def _tables(look: Look, reading: Reading, left: list[LeftOut]) -> list[Reduced]:
    """The tables of a reading's file; one that is set aside, too old or unreadable is left out."""
    if reading.set_aside_at is not None:
        left.append(LeftOut(reading.id, reading.file_name, f"set aside: {reading.set_aside_why}"))
        return []
    try:
        content = look.read_file(reading.mended_sha256 or reading.file_sha256)
        tables = read_measurements(content, file=reading.file_name).tables
        reduced = [reduce_readings(table, check_rows=False) for table in tables]
    except LaydownError as error:
        left.append(LeftOut(reading.id, reading.file_name, error.what))
        return []
    return [one for one in reduced if np.isfinite(one.lab).all(axis=1).any()]


def _alike(
    items: Sequence[InCurve], what: Callable[[InCurve], str], left: list[LeftOut], why: str
) -> list[InCurve]:
    """The items most of which say the same of themselves; the others are left out."""
    wanted = _commonest([what(item) for item in reversed(items)])
    left += [
        LeftOut(item.reading.id, item.reading.file_name, why.format(what(item)))
        for item in items
        if what(item) != wanted
    ]
    return [item for item in items if what(item) == wanted]


def _instrument(item: InCurve) -> str:
    return item.reduced.conditions.instrument.value or item.reading.instrument or "not stated"


def _commonest(names: Sequence[str]) -> str:
    return Counter(names).most_common(1)[0][0] if names else ""


def _on_one_chart(items: Sequence[InCurve], left: list[LeftOut]) -> tuple[list[InCurve], Floats, Floats]:
    """Colours and densities in the order of patches of the last reading; NaN where one was not read."""
    kept, labs, darks = [], [], []
    for item in items:
        rows = _rows(item.reduced, items[-1].reduced)
        if rows is None or item.hours < 0:
            why = "it is of another chart" if rows is None else "it was read before the sheet was printed"
            left.append(LeftOut(item.reading.id, item.reading.file_name, why))
            continue
        kept.append(item)
        labs.append(np.where(rows[:, None] < 0, np.nan, item.reduced.lab[rows]))
        darks.append(np.where(rows < 0, np.nan, item.reduced.visual[rows]))
    if not kept:
        return [], np.zeros((0, 0, 3)), np.zeros((0, 0))
    return kept, np.stack(labs), np.stack(darks)


def _rows(item: Reduced, last: Reduced) -> Ints | None:
    """Where each patch of the last reading stands in another one, -1 where it is not there.

    None where they are of different charts: patches of one name with other device values, or fewer than half
    of the patches in common.
    """
    if len(set(last.ids)) < len(last.ids) or len(set(item.ids)) < len(item.ids):
        if item.ids != last.ids:
            return None
        rows = np.arange(len(last.ids))
    else:
        place = {name: row for row, name in enumerate(item.ids)}
        rows = np.array([place.get(name, -1) for name in last.ids], dtype=np.int64)
    there = rows >= 0
    if 2 * np.count_nonzero(there) < len(rows):
        return None
    if item.device is not None and last.device is not None:
        if item.device.shape[1] != last.device.shape[1]:
            return None
        if not np.allclose(item.device[rows[there]], last.device[there], atol=0.01, equal_nan=True):
            return None
    return rows
