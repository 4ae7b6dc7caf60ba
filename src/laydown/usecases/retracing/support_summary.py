"""A support file's content as a text that anybody can read."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from datetime import datetime

from laydown.trials.recipe import Recipe
from laydown.usecases.retracing.support_content import (
    SupportContent,
    SupportGloss,
    SupportHappened,
    SupportSheet,
)
from laydown.usecases.retracing.support_forms import form_sentence

_WIDTH = 88
_NOT_SHOWN = {"profile_sha256", "file_sha256"}


def support_summary(content: SupportContent, files: Iterable[str], *, left_out: Iterable[str] = ()) -> str:
    """The text; ``files`` are the members that lie beside it, ``left_out`` what was taken out of them."""
    lines = [content.title, "=" * min(len(content.title), _WIDTH), ""]
    lines += [f"Begun {_when(content.begun_at)}, {content.outcome}."]
    if content.trial:
        lines.append(f"Trial: {content.trial}")
    if content.invented:
        lines.append("Everything here is invented.")
    if content.words:
        lines += ["", *_wrapped(content.words)]
    for heading, part in _parts(content):
        told = list(part)
        if told:
            lines += ["", heading, "-" * len(heading), *told]
    lines += ["", "Files beside this text", "----------------------", *(f"- {name}" for name in files), ""]
    for words in left_out:
        lines += [*_wrapped(f"Left out: {words}."), ""]
    return "\n".join(lines)


def _parts(content: SupportContent) -> Iterator[tuple[str, Iterable[str]]]:
    yield "The sample", _sample(content)
    yield "The printer", _printer(content)
    bad = [sheet for sheet in content.sheets if sheet.retraced]
    for sheet in bad:
        yield f"The bad print: sheet {sheet.code}", _sheet(sheet, content.planned)
    yield "Printed from the test form", _listed(form_sentence(one) for one in content.forms)
    yield (
        "What is seen",
        (f"- {'there' if one.there else 'NOT there'}: {one.symptom}" for one in content.seen),
    )
    yield "What the records and readings say", _listed(one.found for one in content.evidence)
    yield "What is not known", _listed(content.not_known)
    yield f"Likely causes (chances: {content.numbers_from})", _causes(content)
    yield (
        "What was checked",
        _listed(f"{one.question} {one.answer.capitalize()}. {one.words}" for one in content.checked),
    )
    helped = {True: "it helped", False: "it did not help", None: "not known yet whether it helped"}
    yield (
        "What was tried",
        _listed(f"{one.what} Against: {one.against}; {helped[one.helped]}." for one in content.tried),
    )
    yield "Notes", _listed(content.notes)
    yield (
        "Other sheets of this medium",
        _listed(
            f"{sheet.code} ({sheet.finish}): "
            + "; ".join([*map(_happened, sheet.happened), *map(_gloss, sheet.gloss)])
            for sheet in content.sheets
            if not sheet.retraced
        ),
    )
    yield "Questions", _listed(content.questions)


def _sample(content: SupportContent) -> Iterator[str]:
    if content.sample is None:
        yield "Not named: this print belongs to no trial."
        return
    for name, value in asdict(content.sample).items():
        if value not in (None, ""):
            yield f"{_named(name)}: {_value(value)}"


def _printer(content: SupportContent) -> Iterator[str]:
    printer = content.printer
    if printer is None:
        return
    for name in ("name", "serial", "ink_set", "black_inks", "firmware"):
        if value := getattr(printer, name):
            yield f"{_named(name)}: {value}"
    yield from (f"- {_happened(event)}" for event in printer.events)


def _sheet(sheet: SupportSheet, planned: Recipe | None) -> Iterator[str]:
    yield from (f"- {_happened(event)}" for event in sheet.happened)
    yield from (f"- {_gloss(one)}" for one in sheet.gloss)
    if sheet.room_rh is not None or sheet.room_c is not None:
        yield f"Room while printing: {_climate(sheet.room_c, sheet.room_rh)}"
    yield from (f"{_named(name)}: {value}" for name, value in _settings(sheet.settings))
    if planned is not None and planned != sheet.settings:
        yield "Planned, where it was set otherwise:"
        was = dict(_settings(sheet.settings))
        yield from (
            f"  {_named(name)}: {value}" for name, value in _settings(planned) if was.get(name) != value
        )


def _settings(recipe: Recipe) -> Iterator[tuple[str, str]]:
    for name, value in asdict(recipe).items():
        if name not in _NOT_SHOWN and value not in (None, "", ()):
            yield name, ", ".join(value) if isinstance(value, tuple) else _value(value)


def _causes(content: SupportContent) -> Iterator[str]:
    for place, cause in enumerate(content.causes, start=1):
        yield f"{place}. {cause.name}: {cause.chance:.0%}"
        for reason in cause.reasons:
            yield from _wrapped(reason, first="     - ", then="       ")


def _gloss(one: SupportGloss) -> str:
    feed = f", {one.direction} the feed" if one.direction else ""
    meter = f", {one.instrument}" if one.instrument else ""
    return (
        f"gloss of the {one.place}: {', '.join(f'{v:g}' for v in one.values)} GU at {one.angle}°{feed}{meter}"
    )


def _happened(event: SupportHappened) -> str:
    told = f"{event.kind} {_when(event.at)}"
    climate = _climate(event.room_c, event.room_rh)
    told += f", {climate}" if climate else ""
    if event.coat is not None:
        coat = {name: value for name, value in asdict(event.coat).items() if value not in (None, "")}
        told += f" ({', '.join(f'{_named(name).lower()} {_value(value)}' for name, value in coat.items())})"
    return told + (f": {event.words}" if event.words else "")


def _climate(room_c: float | None, room_rh: float | None) -> str:
    parts = (
        f"{room_c:g} degC" if room_c is not None else "",
        f"{room_rh:g} % RH" if room_rh is not None else "",
    )
    return ", ".join(part for part in parts if part)


def _value(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _named(field: str) -> str:
    return field.replace("_", " ").capitalize()


def _when(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M} UTC"


def _listed(items: Iterable[str]) -> Iterator[str]:
    for item in items:
        yield from _wrapped(item.strip(), first="- ", then="  ")


def _wrapped(text: str, *, first: str = "", then: str = "") -> Iterator[str]:
    for number, line in enumerate(text.split("\n")):
        start = first if number == 0 else then
        yield from textwrap.wrap(line, _WIDTH, initial_indent=start, subsequent_indent=then) or [""]
