"""Things that hold for many findings or media, gathered so that a report says each of them once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from laydown.report.wording import display_name, margin_text, number, percent, preference_words
from laydown.usecases.comparison import CallsByFinding, Candidate, Overlap

_NEARLY_ALL = 0.7  # of the kinds of finding, from which a list of them is no help


def preferred(calls: Iterable[CallsByFinding]) -> dict[str, list[str]]:
    """Labels of findings by what is wanted of them, such as ``"Higher is better"``."""
    found: dict[str, list[str]] = {}
    for item in calls:
        found.setdefault(preference_words(item).capitalize(), []).append(item.label)
    return found


def margins_by_source(calls: Iterable[CallsByFinding], decimals: Mapping[str, int]) -> dict[str, list[str]]:
    """``"Dmax, visual ± 0.050 D"`` and the like, gathered by where the margin comes from."""
    found: dict[str, list[str]] = {}
    for item in calls:
        if item.margin is not None:
            margin = margin_text(item.margin, decimals.get(item.finding, 2), item.unit)
            found.setdefault(item.margin_source or "source not stated", []).append(f"{item.label} {margin}")
    return found


def assumption_sentences(calls: Iterable[CallsByFinding]) -> list[str]:
    """What was assumed about the spread, each thing once, naming the findings it holds for.

    Texts that differ only in their p-value are made one, with the range of p. What most findings share is
    told first, "unless named below". The JSON has every text in full.
    """
    common: dict[str, list[str]] = {}
    raised: dict[str, list[str]] = {}
    chances: dict[str, list[str]] = {}
    for item in calls:
        parts = re.split(r"(?<=[.)])\s+(?=[A-Z])", item.assumption.strip())
        text = " ".join(part for part in parts if "raised" not in part)
        shape = _CHANCE.sub("p = {p}", text)
        chances.setdefault(shape, []).extend(_CHANCE.findall(text))
        if shape:
            common.setdefault(shape, []).append(item.label)
        for part in parts:
            if "raised" in part:
                raised.setdefault(_RESOLUTION.sub("", part), []).append(item.label)
    told: list[str] = []
    for shape, labels in sorted(common.items(), key=lambda pair: -len(pair[1])):
        text = shape.replace("{p}", _range(chances[shape]))
        first = "Every finding" if len(common) == 1 else "Unless named below"
        told.append(f"{', '.join(labels) if told else first}: {text}")
    return [*told, *(f"{', '.join(labels)}: {text}" for text, labels in raised.items())]


_CHANCE = re.compile(r"p = ([0-9.]+(?:e-?[0-9]+)?)")
_RESOLUTION = re.compile(r"(?<=resolution) \([^()]*\)")


def _range(numbers: Sequence[str]) -> str:
    ordered = sorted(numbers, key=float)
    if not ordered:
        return ""
    return ordered[0] if ordered[0] == ordered[-1] else f"{ordered[0]} to {ordered[-1]}"


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """How much of one gamut each medium holds: ``"86 %"`` and the like in the order of the media."""

    name: str
    volume: str
    coverage: tuple[str, ...]


def coverage_rows(overlaps: Sequence[Overlap], media: Sequence[str]) -> list[CoverageRow]:
    """One row for each gamut that is held, in order of appearance; a dash where nothing was worked out."""
    held = {(o.candidate, o.other): percent(o.coverage) for o in overlaps}
    volumes = {o.other: o.other_volume for o in overlaps}
    return [
        CoverageRow(display_name(other), number(volume, 0), tuple(held.get((m, other), "–") for m in media))
        for other, volume in volumes.items()
    ]


def notes(candidates: Sequence[Candidate]) -> list[str]:
    """Each note on findings once: the media it is about, the findings, what it says."""
    found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for candidate in candidates:
        own: dict[str, list[str]] = {}
        for item in candidate.findings:
            if item.note:
                own.setdefault(item.note, []).append(item.label)
        kinds = {item.id for item in candidate.findings}
        for note, labels in own.items():
            about = tuple(dict.fromkeys(labels))
            key = (note, ("nearly every finding",) if len(about) > _NEARLY_ALL * len(kinds) else about)
            found.setdefault(key, []).append(display_name(candidate.name))
    told = []
    for (note, findings), media in found.items():
        whom = "All media" if 1 < len(media) == len(candidates) else "; ".join(media)
        told.append(f"{whom}, {', '.join(findings)}: {display_name(note)}")
    return told


@dataclass(frozen=True, slots=True)
class FactRow:
    """One condition and its value, every place it was found at, and whom it holds for ("all", or names)."""

    name: str
    value: str
    where: str
    media: str


def fact_rows(candidates: Sequence[Candidate]) -> list[FactRow]:
    """How the media were measured: each condition and value once, in the first medium's order."""
    places: dict[tuple[str, str], dict[str, None]] = {}
    media: dict[tuple[str, str], list[str]] = {}
    order: dict[str, int] = {}
    for candidate in candidates:
        for fact in candidate.facts:
            order.setdefault(fact.name, len(order))
            key = (fact.name, fact.value)
            media.setdefault(key, []).append(display_name(candidate.name))
            if fact.where and fact.where != fact.value:
                places.setdefault(key, {})[display_name(fact.where)] = None
    return [
        FactRow(
            name=display_name(name),
            value=display_name(value),
            where="; ".join(places.get((name, value), ())),
            media="all" if len(media[name, value]) == len(candidates) else "; ".join(media[name, value]),
        )
        for name, value in sorted(media, key=lambda key: order[key[0]])
    ]
