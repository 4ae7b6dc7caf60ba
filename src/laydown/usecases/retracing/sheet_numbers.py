"""What the readings of one sheet say about its ink, its greys and its white."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import NotEnoughData
from laydown.records.look import Look
from laydown.science.findings.reduction import ABOVE_PAPER, SAME_COLOUR, Reduced
from laydown.science.gamut import average_by_colour, unique_colours
from laydown.science.numeric.known_mean import known_mean
from laydown.science.tone import darkest, lost_steps, neutral_ramp
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.route import open_doubts
from laydown.trials.sheets import Sheet
from laydown.usecases.collect_findings import ORDER_OF_CONDITIONS
from laydown.usecases.measuring.kept_file import KeptFile
from laydown.usecases.read_media import ReadFile, read_one

RGB = ("R", "G", "B")


@dataclass(frozen=True, slots=True, eq=False)
class SheetNumbers:
    """Numbers of one sheet under one condition, repeats of a colour averaged; None where not to be had.

    ``device`` (u, k) and ``lab`` (u, 3) are its colours, ``hook_l`` how much lighter full ink is than the
    darkest colour, ``lean`` the mean a*b* of the greys away from the line paper to black, ``white`` the Lab
    of bare medium. ``hours`` is its age when it was read, ``finish`` how it was then.
    """

    files: tuple[str, ...]
    condition: str
    hours: float | None
    finish: Literal["uncoated", "coated"]
    device: Floats
    lab: Floats
    hook_l: float | None
    lost_shadow_steps: int | None
    shadow_steps: int | None
    dmax: float | None
    lean: tuple[float, float] | None
    white: Floats | None


def believed_readings(facts: TrialFacts, sheet: Sheet) -> tuple[Reading, ...]:
    """Readings of a sheet whose numbers mean something: settled or wanted early, not set aside, not in doubt.

    Unlike a comparison, a retrace also believes those of a spoiled sheet: it is the bad print it asks about.
    """
    kept = []
    for reading in facts.readings_of(sheet.id):
        age = reading_age(facts, reading)
        early = age is None or (age.early and reading.early_used_at is None)
        if reading.set_aside_at is None and not open_doubts(reading) and not early:
            kept.append((reading, age.finish if age else "uncoated"))
    finish = "coated" if any(how == "coated" for _, how in kept) else "uncoated"
    return tuple(reading for reading, how in kept if how == finish)


def numbers_of_sheet(
    look: Look, facts: TrialFacts, sheet: Sheet, *, condition: str = ""
) -> SheetNumbers | None:
    """The numbers of a sheet under one condition, the usual first; None where its readings give none."""
    readings = believed_readings(facts, sheet)
    by_condition: dict[str, list[tuple[Reduced, Reading]]] = {}
    for reading in readings:
        file = KeptFile("", reading.file_name, reading.mended_sha256 or reading.file_sha256, look.vault)
        for item in _read(_ByContent(file.sha256, file.name, file)).readings:
            if item.device is not None:
                by_condition.setdefault(_under(item), []).append((item, reading))
    wanted = [condition] if condition else sorted(by_condition, key=_rank)
    for one in wanted:
        if one in by_condition:
            return _numbers(facts, one, by_condition[one])
    return None


def white_difference_labs(numbers: Iterable[SheetNumbers]) -> Floats | None:
    """The mean white of several sheets; None where none has one."""
    whites = [one.white for one in numbers if one.white is not None]
    return known_mean(np.stack(whites)) if whites else None


@dataclass(frozen=True, slots=True)
class _ByContent:
    """A kept file, told from others by what it holds and is called, wherever it lies."""

    sha256: str
    name: str
    file: KeptFile = field(compare=False, repr=False)


@lru_cache(maxsize=128)
def _read(wanted: _ByContent) -> ReadFile:
    """A file read once: a page asks for the same few again at every answer."""
    return read_one(wanted.file)


def _under(item: Reduced) -> str:
    return f"{item.measurement}, {item.conditions.backing.value or 'backing not stated'}, {item.colorimetry}"


def _rank(condition: str) -> tuple[int, str]:
    measurement = condition.split(",", maxsplit=1)[0]
    order = ORDER_OF_CONDITIONS
    return (order.index(measurement) if measurement in order else len(order), condition)


def _numbers(
    facts: TrialFacts, condition: str, read: Sequence[tuple[Reduced, Reading]]
) -> SheetNumbers | None:
    """Readings of one chart averaged by colour; others are passed over."""
    first, _ = read[0]
    assert first.device is not None
    alike = [
        (item, reading)
        for item, reading in read
        if item.device is not None and np.array_equal(item.device, first.device)
    ]
    unique = unique_colours(first.device)
    lab = known_mean(np.stack([average_by_colour(item.lab, unique) for item, _ in alike]))
    visual = known_mean(np.stack([average_by_colour(item.visual[:, None], unique) for item, _ in alike]))[
        :, 0
    ]
    if not np.isfinite(lab).any():
        return None
    ages = [reading_age(facts, reading) for _, reading in alike]
    hours = [age.hours for age in ages if age is not None and age.hours is not None]
    black = darkest(lab, unique.device, channels=first.channels)
    lost, steps, lean = _ramp(lab, unique.device, first.channels)
    return SheetNumbers(
        files=tuple(dict.fromkeys(reading.file_name for _, reading in alike)),
        condition=condition,
        hours=min(hours) if hours else None,
        finish=ages[0].finish if ages[0] is not None else "uncoated",
        device=unique.device,
        lab=lab,
        # Full ink of an ink chart is every ink at once, lighter than a good black without any fault.
        hook_l=_known(float(black.hook)) if first.channels == RGB else None,
        lost_shadow_steps=lost,
        shadow_steps=steps,
        dmax=None
        if first.visual_from == ABOVE_PAPER or int(black.index) < 0
        else _known(float(visual[int(black.index)])),
        lean=lean,
        white=_white(lab, unique.device, first.channels),
    )


def _ramp(
    lab: Floats, device: Floats, channels: tuple[str, ...]
) -> tuple[int | None, int | None, tuple[float, float] | None]:
    """Dark steps lost, dark steps there are, and which way the greys lean."""
    try:
        ramp = neutral_ramp(device, channels=channels)
    except NotEnoughData:
        return None, None, None
    greys = lab[ramp.rows]
    greys = greys[np.isfinite(greys).all(axis=1)]
    if len(greys) < len(ramp) or len(greys) < 3 or greys[0, 0] == greys[-1, 0]:
        return None, None, None
    dark = int((greys[:, 0] < (greys[:, 0].max() + greys[:, 0].min()) / 2.0).sum())
    along = (greys[:, 0] - greys[-1, 0]) / (greys[0, 0] - greys[-1, 0])
    line = greys[-1, 1:] + along[:, None] * (greys[0, 1:] - greys[-1, 1:])
    away = (greys[:, 1:] - line)[1:-1].mean(axis=0)
    return int(lost_steps(greys).shadow), dark, (float(away[0]), float(away[1]))


def _white(lab: Floats, device: Floats, channels: tuple[str, ...]) -> Floats | None:
    bare = 1.0 if channels == RGB else 0.0
    rows = np.flatnonzero(np.all(np.abs(device - bare) < SAME_COLOUR.value, axis=1))
    return lab[rows[0]] if rows.size and np.isfinite(lab[rows[0]]).all() else None


def _known(value: float) -> float | None:
    return value if np.isfinite(value) else None
