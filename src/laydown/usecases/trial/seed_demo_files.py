"""The files of the demo trial: those of the demo on files, dated as the trial went, and a few early ones."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from laydown.science.readings import read_measurements
from laydown.science.readings.types import Readings
from laydown.science.readings.write_cgats import write_cgats
from laydown.usecases.demo_trial import build_demo_trial

CURE = timedelta(hours=24)
READING_TAKES = timedelta(minutes=6)
DRIFT_HOURS = (0.5, 1.5, 4.0, 9.0)
TOO_EARLY_HOURS = 3.0
# How far a print is from rest at first, and how fast it gets there. Chosen so that the curve shows: about
# 2 dE00 in the shadows after half an hour, nothing to be seen after a day.
_FAR = 0.16
_SETTLES_HOURS = 3.0
_SEED = 20260209
_DATED = re.compile(rb"2026-01-1\dT10:\d\d:00Z")


@dataclass(frozen=True, slots=True)
class DemoFile:
    """One file as it was handed in: of which candidate and which of its sheets (from 1), read when."""

    candidate: str
    sheet: int
    name: str
    content: bytes
    measured_at: datetime
    conditions: tuple[str, ...]


def demo_files(
    printed: Mapping[str, Sequence[datetime]], codes: Mapping[str, Sequence[str]]
) -> Iterator[DemoFile]:
    """The files of the demo on files, for sheets printed at these moments, with these codes.

    What was measured is the same to the last digit; only the date each file states is that of this trial.
    """
    taken: dict[tuple[str, int], int] = {}
    for path, content in build_demo_trial().items():
        candidate, _, name = path.partition("/")
        if candidate not in printed:
            continue
        stem, _, ending = name.rpartition(".")
        number, _, condition = stem.removeprefix("sheet").partition("-")
        sheet = int(number)
        turn = taken[candidate, sheet] = taken.get((candidate, sheet), -1) + 1
        at = printed[candidate][sheet - 1] + CURE + READING_TAKES * (1 + turn)
        code = codes[candidate][sheet - 1]
        yield DemoFile(
            candidate=candidate,
            sheet=sheet,
            name=f"{code}{f'-{condition}' if condition else ''}.{ending}",
            content=_DATED.sub(_stated(at), content),
            measured_at=at,
            conditions=(condition,) if condition else ("M1", "M2"),
        )


def early_files(settled: DemoFile, *, printed_at: datetime, hours: Sequence[float]) -> Iterator[DemoFile]:
    """The same sheet read before it had settled: the earlier, the further from rest."""
    rest = read_measurements(settled.content, file=settled.name).tables[0]
    assert rest.reflectance is not None  # the demo writes spectra
    for number, age in enumerate(hours):
        rng = np.random.default_rng([_SEED, settled.sheet, number])
        at = printed_at + timedelta(hours=age)
        stem, _, _ = settled.name.rpartition(".")
        yield replace(
            settled,
            name=f"{stem}-{age:g}h.txt",
            content=_early(rest, settled, at=at, age=age, rng=rng),
            measured_at=at,
        )


def _early(rest: Readings, settled: DemoFile, *, at: datetime, age: float, rng: np.random.Generator) -> bytes:
    spectra = rest.reflectance
    assert spectra is not None
    away = _FAR * np.exp(-age / _SETTLES_HOURS)
    # Fresh ink is a little lighter; bare paper does not change.
    inked = 1.0 - spectra / spectra.max(axis=0)
    fresh = spectra * (1.0 + away * inked)
    read = fresh + rng.normal(0.0, 0.0004, size=(len(spectra), 1))
    conditions = replace(
        rest.conditions,
        date=replace(rest.conditions.date, value=_stated(at).decode()),
        age_hours=replace(rest.conditions.age_hours, value=age),
    )
    told = (
        ("ORIGINATOR", "Saltmarsh Print Room (invented)"),
        ("DESCRIPTOR", f"{settled.candidate}, {age:g} h after printing: invented, from a model of drying"),
        ("MATERIAL", f"{settled.candidate} (invented)"),
    )
    return write_cgats(replace(rest, reflectance=read, conditions=conditions), preamble=told)


def _stated(at: datetime) -> bytes:
    return at.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
