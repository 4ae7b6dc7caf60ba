"""The brief in force: what was sealed, with every dated change on top of it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Any

from laydown.science.findings.catalogue import METRICS
from laydown.trials.seals import SEALED_FIELDS
from laydown.trials.trial import Brief, BriefChange, Criterion, Gate, WantedDifference

LABELS: Mapping[str, str] = MappingProxyType(
    {
        "question": "question",
        "products": "what is sold",
        "sizes": "sizes",
        "display_light": "display light",
        "viewing_distance": "viewing distance",
        "glazing": "glazing",
        "coating": "coating",
        "must_match": "must match",
        "gates": "must-have",
        "criteria": "criterion",
        "judges": "who judges",
        "lights": "lights to judge under",
        "differences": "difference that matters",
        "stop_date": "stop date",
        "words": "remarks",
    }
)
NOT_THERE = "null"


@dataclass(frozen=True, slots=True)
class Alteration:
    """One thing that differs between two briefs, in words and as JSON text; see ``BriefChange``."""

    field: str
    part: str
    before: str
    after: str
    before_plain: str
    after_plain: str


def brief_in_force(brief: Brief, changes: Iterable[BriefChange]) -> Brief:
    """The brief with its dated changes made, in the order given (oldest first).

    Seal and date of sealing stay those of the sealed text, which the seal answers for. A gate, criterion or
    difference that is changed keeps its place; a new one comes last.
    """
    for change in changes:
        value = json.loads(change.after_plain)
        if change.field in _PARTED:
            value = _with_part(brief, change.field, change.part, value)
        else:
            value = _simple(change.field, value)
        brief = replace(brief, **{change.field: value})
    return brief


def alterations(before: Brief, after: Brief) -> tuple[Alteration, ...]:
    """Everything that differs between two briefs: plain fields whole, gates and the like one by one."""
    found = []
    for field in SEALED_FIELDS:
        if field not in LABELS:
            continue
        if field in _PARTED:
            old, new = _parts(before, field), _parts(after, field)
            pairs = [(part, old.get(part), new.get(part)) for part in {**old, **new}]
        else:
            pairs = [("", getattr(before, field), getattr(after, field))]
        found += [_alteration(field, part, one, two) for part, one, two in pairs if one != two]
    return tuple(found)


def changes_that_do_not_follow(brief: Brief, changes: Iterable[BriefChange]) -> tuple[BriefChange, ...]:
    """Changes that do not begin with what was in force before them, such as when one below was taken away."""
    found = []
    for change in changes:
        if change.before_plain != _plain(_value(brief, change.field, change.part)):
            found.append(change)
        brief = brief_in_force(brief, [change])
    return tuple(found)


def field_words(brief: Brief, field: str) -> str:
    """A plain field as it is shown; "not stated" where it is empty."""
    return _words(field, getattr(brief, field))


def amount_words(wanted: WantedDifference) -> str:
    """A difference that matters with its unit, such as "0.05 D" or "5 %"."""
    metric = METRICS.get(wanted.finding)
    if metric is not None and metric.margin_is_relative:
        return f"{100 * wanted.amount:g} %"
    return f"{wanted.amount:g} {metric.unit if metric else ''}".strip()


def _alteration(field: str, part: str, before: Any, after: Any) -> Alteration:
    return Alteration(field, part, _words(field, before), _words(field, after), _plain(before), _plain(after))


_PARTED: Mapping[str, tuple[Callable[..., Any], str]] = MappingProxyType(
    {
        "gates": (Gate, "name"),
        "criteria": (Criterion, "name"),
        "differences": (WantedDifference, "finding"),
    }
)


def _parts(brief: Brief, field: str) -> dict[str, Any]:
    key = _PARTED[field][1]
    return {getattr(one, key): one for one in getattr(brief, field)}


def _value(brief: Brief, field: str, part: str) -> Any:
    return _parts(brief, field).get(part) if field in _PARTED else getattr(brief, field)


def _with_part(brief: Brief, field: str, part: str, plain: dict[str, Any] | None) -> tuple[Any, ...]:
    parts = _parts(brief, field)
    if plain is None:
        parts.pop(part, None)
    else:
        parts[part] = _PARTED[field][0](**plain)
    return tuple(parts.values())


def _simple(field: str, plain: Any) -> Any:
    if field == "products":
        return tuple(plain)
    if field == "stop_date":
        return None if plain is None else date.fromisoformat(plain)
    return plain


def _plain(value: Any) -> str:
    if isinstance(value, Gate | Criterion | WantedDifference):
        value = asdict(value)
    return json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=str)


def _words(field: str, value: Any) -> str:
    if field in _PARTED and value is None:
        return "not there"
    if isinstance(value, Gate):
        return value.words or "must be met"
    if isinstance(value, Criterion):
        tied = METRICS[value.finding].label if value.finding in METRICS else value.finding
        told = (f"weight {value.weight:g}", f"measured by {tied}" if tied else "", value.words)
        return ", ".join(part for part in told if part)
    if isinstance(value, WantedDifference):
        return amount_words(value)
    if value is None or value in ("", ()):
        return "not stated"
    return ", ".join(value) if isinstance(value, tuple) else str(value)
