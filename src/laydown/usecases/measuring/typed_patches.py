"""Readings typed in from an instrument's display: which patches, what may be typed, what looks mistyped."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import Literal

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.kernel.stated import Stated
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cgats import write_cgats

Kind = Literal["Lab", "densities"]
Zero = Literal["absolute", "paper"]


@dataclass(frozen=True, slots=True)
class TypedPatch:
    """A patch that may be typed: its name, the RGB sent to the printer for it, and whether it is needed."""

    id: str
    label: str
    rgb: tuple[int, int, int]


PATCHES = (
    TypedPatch("white", "Bare medium", (255, 255, 255)),
    TypedPatch("black", "Black", (0, 0, 0)),
    TypedPatch("cyan", "Cyan", (0, 255, 255)),
    TypedPatch("magenta", "Magenta", (255, 0, 255)),
    TypedPatch("yellow", "Yellow", (255, 255, 0)),
    TypedPatch("red", "Red", (255, 0, 0)),
    TypedPatch("green", "Green", (0, 255, 0)),
    TypedPatch("blue", "Blue", (0, 0, 255)),
    TypedPatch("grey-191", "Light grey", (191, 191, 191)),
    TypedPatch("grey-128", "Middle grey", (128, 128, 128)),
    TypedPatch("grey-64", "Dark grey", (64, 64, 64)),
)
# Density filters by the letters on a densitometer: V visual, C through red, M through green, Y through blue.
FILTERS: Mapping[str, str] = {"V": "visual", "C": "red", "M": "green", "Y": "blue"}
LAB = ("L", "a", "b")

LIGHTNESS = (
    Constant(0.0, "L*", "by definition", "standard"),
    Constant(101.0, "L*", "brighteners take it a little beyond 100", "common practice, no source"),
)
MOST_CHROMATIC = Constant(130.0, "a*, b*", "solid inks stay below", "common practice, no source")
DENSITY = (
    Constant(-0.1, "D", "rounding above the paper", "common practice, no source"),
    Constant(4.0, "D", "no reflection print is darker", "common practice, no source"),
)
# Signs of a* and b* no solid ink is without; our own judgement from usual ink sets.
HUES: Mapping[str, tuple[tuple[str, int], ...]] = {
    "cyan": (("a", -1), ("b", -1)),
    "magenta": (("a", 1),),
    "yellow": (("b", 1),),
    "red": (("a", 1), ("b", 1)),
    "green": (("a", -1), ("b", 1)),
    "blue": (("b", -1),),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """What was typed. ``values`` holds, by patch id, numbers by column (L, a, b, or V, C, M, Y).

    ``zero`` says whether densities are absolute or read above the paper; above the paper, the values of the
    bare medium are its own absolute densities, where they are known. "" means not stated.
    """

    kind: Kind
    values: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    measurement: str = ""
    backing: str = ""
    status: str = ""
    zero: Zero = "absolute"
    colorimetry: str = ""
    instrument: str = ""
    measured_at: datetime | None = None


def refuse_impossible(typed: Typed) -> None:
    """Refuse what cannot be: nothing typed, halves of a colour, numbers out of range, black not darkest.

    Raises
    ------
    BadSetting
        Names the patch and what to do.
    """
    paper_known = typed.kind == "densities" and typed.zero == "paper"
    if "black" not in typed.values or ("white" not in typed.values and not paper_known):
        raise BadSetting(
            "the bare medium and black are needed.", todo="Read both and type them; everything else may wait."
        )
    for patch, numbers in typed.values.items():
        for column, value in numbers.items():
            _refuse_out_of_range(typed.kind, patch, column, value)
        wanted = LAB if typed.kind == "Lab" else _filters(typed)
        missing = [column for column in wanted if column not in numbers]
        extra = [column for column in numbers if column not in wanted]
        if missing or extra:
            wrong = (
                f"{', '.join(missing)} is missing" if missing else f"{', '.join(extra)} was not read on black"
            )
            raise BadSetting(
                f"{_label(patch)}: {wrong}.",
                todo="Type the same numbers for every patch, or leave the patch out.",
            )
    _refuse_order(typed)


def doubtful(typed: Typed) -> tuple[str, ...]:
    """What looks mistyped though it may be so; to be confirmed."""
    return tuple(_doubts(typed))


def typed_file(typed: Typed, *, code: str) -> bytes:
    """What was typed as a CGATS file like any other; ``code`` is the sheet it was read on."""
    values = _absolute(typed)
    rows = [patch for patch in PATCHES if patch.id in values]
    columns = LAB if typed.kind == "Lab" else _filters(typed)
    table = np.array([[values[patch.id][name] for name in columns] for patch in rows])
    device = np.array([patch.rgb for patch in rows], dtype=np.float64) / 255.0
    # One patch alone could not say what its device values are out of; nothing is lost without them.
    named = len(rows) > 1
    readings = Readings(
        file="",
        ids=tuple(patch.id for patch in rows),
        names=("",) * len(rows),
        lines=np.zeros(len(rows), dtype=np.int64),
        channels=("R", "G", "B") if named else (),
        device=device if named else None,
        device_scale=Stated(255.0, "the form"),
        lab=table if typed.kind == "Lab" else None,
        densities={}
        if typed.kind == "Lab"
        else {FILTERS[name]: table[:, place] for place, name in enumerate(columns)},
        conditions=_conditions(typed, above_paper=typed.zero == "paper" and "white" not in values),
    )
    return write_cgats(readings, preamble=(("DESCRIPTOR", f"Sheet {code}, typed in"),))


def _filters(typed: Typed) -> tuple[str, ...]:
    """The filters black was read through; every other patch wants the same."""
    return tuple(name for name in FILTERS if name in typed.values["black"])


def _conditions(typed: Typed, *, above_paper: bool) -> Conditions:
    illuminant, _, observer = typed.colorimetry.partition("/")
    is_density = typed.kind == "densities"

    def told(value: str) -> Stated[str]:
        return Stated(" ".join(value.split()), "typed in") if value.strip() else Stated()

    return Conditions(
        measurement=told(typed.measurement),
        backing=told(typed.backing),
        illuminant=told("" if is_density else illuminant),
        observer=told("" if is_density else observer),
        instrument=told(typed.instrument.replace('"', "'")),
        date=told(typed.measured_at.strftime("%Y-%m-%dT%H:%M:%SZ") if typed.measured_at else ""),
        density_status=told(typed.status if is_density else ""),
        density_zero=told("paper" if above_paper else "absolute" if is_density else ""),
    )


def _absolute(typed: Typed) -> Mapping[str, Mapping[str, float]]:
    """Densities above a paper whose own are known become absolute; others stay as typed."""
    if typed.zero != "paper" or "white" not in typed.values:
        return typed.values
    paper = typed.values["white"]
    return {
        patch: dict(numbers)
        if patch == "white"
        else {column: value + paper[column] for column, value in numbers.items()}
        for patch, numbers in typed.values.items()
    }


def _refuse_out_of_range(kind: Kind, patch: str, column: str, value: float) -> None:
    if kind == "densities":
        low, high = DENSITY[0].value, DENSITY[1].value
    elif column == "L":
        low, high = LIGHTNESS[0].value, LIGHTNESS[1].value
    else:
        low, high = -MOST_CHROMATIC.value, MOST_CHROMATIC.value
    if not low <= value <= high:
        raise BadSetting(
            f"{_label(patch)}: {column} {value:.10g} is not from {low:g} to {high:g}.", todo="Correct it."
        )


def _refuse_order(typed: Typed) -> None:
    if typed.kind == "Lab":
        white, black = typed.values["white"]["L"], typed.values["black"]["L"]
        if black >= white:
            raise BadSetting(
                f"black (L* {black:g}) is not darker than the bare medium (L* {white:g}).",
                todo="Were the two exchanged?",
            )
        return
    paper = typed.values.get("white", {}) if typed.zero == "absolute" else {}
    for column, value in typed.values["black"].items():
        if value <= paper.get(column, 0.0):
            raise BadSetting(
                f"black ({column} {value:g}) is not darker than the bare medium "
                f"({column} {paper.get(column, 0.0):g}).",
                todo="Were the two exchanged?",
            )


def _doubts(typed: Typed) -> Iterator[str]:
    values = typed.values
    if typed.kind == "Lab":
        if values["white"]["L"] < 80.0:
            yield f"The bare medium is dark for a print medium (L* {values['white']['L']:g})."
        if values["black"]["L"] > 40.0:
            yield f"Black is light for a print (L* {values['black']['L']:g})."
        for patch, signs in HUES.items():
            for axis, sign in signs:
                if patch in values and values[patch][axis] * sign <= 0:
                    usual = "above 0" if sign > 0 else "below 0"
                    yield f"{_label(patch)} has {axis}* {values[patch][axis]:g}; {usual} is usual."
    else:
        darkest = values["black"].get("V", values["black"].get("C", 9.0))
        if darkest < 0.8:
            yield f"Black has a density of {darkest:g}, little for a print."
        if values.get("white", {}).get("V", 0.0) > 0.3:
            yield f"The bare medium has a density of {values['white']['V']:g}, much for a print medium."
    yield from _greys(typed)


def _greys(typed: Typed) -> Iterator[str]:
    """Greys are typed from light to dark."""
    column, sign = ("L", -1.0) if typed.kind == "Lab" else ("V", 1.0)
    order = ["white", "grey-191", "grey-128", "grey-64", "black"]
    told = [(p, typed.values[p][column]) for p in order if column in typed.values.get(p, {})]
    if typed.zero == "paper":
        told = [(patch, value) for patch, value in told if patch != "white"]
    for (light, first), (dark, second) in pairwise(told):
        if sign * (second - first) <= 0 and "grey" in light + dark:
            yield f"{_label(dark)} is not darker than {_label(light).lower()}."


def _label(patch: str) -> str:
    return next(one.label for one in PATCHES if one.id == patch)
