"""The fields of forms in the stock room, each described once: shown, filled in, read back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal

from laydown.kernel.errors import BadSetting
from laydown.report.lengths import MM_PER_INCH, length_words, run_words
from laydown.report.moments import moment_field
from laydown.trials.studio import Studio
from laydown.web.forms import Form

Kind = Literal[
    "text",
    "area",
    "number",
    "whole",
    "length",
    "run",
    "caliper",
    "day",
    "moment",
    "choice",
    "yes or no",
    "list",
]
UM_PER_MIL = MM_PER_INCH  # a mil is a thousandth of an inch


@dataclass(frozen=True, slots=True)
class Field:
    """One field: the noun's own name for it, its label, and how it is typed.

    ``low`` and ``high`` bound numbers; ``options`` are values and words of a choice, where "" means None if
    ``or_none``. A list is written with commas. ``group`` is the heading it stands under.
    """

    name: str
    label: str
    kind: Kind = "text"
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    needed: bool = False
    or_none: bool = False
    low: float = 0.0
    high: float = 1e6
    group: str = ""


def texts_of(thing: Any, fields: Sequence[Field], *, studio: Studio) -> dict[str, str]:
    """What stands in each field for a thing."""
    return {field.name: text_of(getattr(thing, field.name), field, studio=studio) for field in fields}


def text_of(value: Any, field: Field, *, studio: Studio) -> str:
    """A value as it stands in a field."""
    return "" if value is None else _SHOWN.get(field.kind, _plainly)(value, studio)


def values_of(form: Form, fields: Sequence[Field], *, studio: Studio, kept: Any = None) -> dict[str, Any]:
    """What the fields say, as the noun holds it; a field left as it was keeps its value to the last digit.

    Raises
    ------
    BadSetting
        A field cannot be read, or is needed and empty.
    """
    told: dict[str, Any] = {}
    for field in fields:
        before = None if kept is None else getattr(kept, field.name)
        if kept is not None and form.text(field.name) == text_of(before, field, studio=studio):
            told[field.name] = before
        else:
            told[field.name] = _value(form, field, studio)
    return told


def _value(form: Form, field: Field, studio: Studio) -> Any:
    if field.needed and not form.text(field.name):
        raise BadSetting(f"{field.label.lower()} is missing.", todo="Fill it in.")
    return _READ[field.kind](form, field, studio)


def _choice(form: Form, field: Field, _: Studio) -> str | None:
    chosen = form.choice(field.name, [value for value, _ in field.options], field.label)
    return None if field.or_none and not chosen else chosen


def _list(form: Form, field: Field, _: Studio) -> tuple[str, ...]:
    return tuple(part.strip() for part in form.text(field.name).split(",") if part.strip())


def _caliper(form: Form, field: Field, studio: Studio) -> float | None:
    """Thickness in micrometres, from "310", "310 µm", "0.31 mm" or "12 mil"."""
    text = form.text(field.name)
    wanted = text.lower().replace(",", ".").replace("μ", "µ").replace(" ", "")
    if not wanted:
        return None
    units: Mapping[str, float] = {"µm": 1.0, "um": 1.0, "mil": UM_PER_MIL, "mm": 1000.0}
    factor = UM_PER_MIL if studio.units == "inch" else 1.0
    for unit, size in units.items():
        if wanted.endswith(unit):
            wanted, factor = wanted.removesuffix(unit), size
            break
    try:
        return float(wanted) * factor
    except ValueError as error:
        raise BadSetting(
            f'{field.label}: "{text}" is no thickness.', todo='Write it like "310 µm" or "12 mil".'
        ) from error


def _plainly(value: Any, _: Studio) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


_SHOWN: Mapping[Kind, Callable[[Any, Studio], str]] = MappingProxyType(
    {
        "length": lambda value, studio: length_words(value, units=studio.units),
        "run": lambda value, studio: run_words(value, units=studio.units),
        "caliper": lambda value, studio: (
            f"{value / UM_PER_MIL:.4g} mil" if studio.units == "inch" else f"{value:g} µm"
        ),
        "moment": lambda value, studio: moment_field(value, time_zone=studio.time_zone),
        "day": lambda value, _: value.isoformat(),
        "yes or no": lambda value, _: "yes" if value else "no",
        "list": lambda value, _: ", ".join(value),
    }
)
_READ: Mapping[Kind, Callable[[Form, Field, Studio], Any]] = MappingProxyType(
    {
        "text": lambda form, field, _: form.text(field.name),
        "area": lambda form, field, _: form.text(field.name),
        "number": lambda form, field, _: form.number(field.name, field.label, low=field.low, high=field.high),
        "whole": lambda form, field, _: form.whole(
            field.name, field.label, low=int(field.low), high=int(field.high)
        ),
        "length": lambda form, field, studio: form.length(field.name, field.label, studio=studio),
        "run": lambda form, field, studio: form.length(field.name, field.label, studio=studio, long=True),
        "caliper": _caliper,
        "day": lambda form, field, _: form.day(field.name, field.label),
        "moment": lambda form, field, studio: form.moment(field.name, field.label, studio=studio),
        "choice": _choice,
        "yes or no": lambda form, field, _: form.yes_no(field.name),
        "list": _list,
    }
)
