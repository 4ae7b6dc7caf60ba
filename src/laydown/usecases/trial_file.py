"""Reads the two small JSON files a user may write: the trial file and the margins file."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, get_args

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.kernel.preference import Preference
from laydown.science.findings.catalogue import METRICS

_AROUND_ZERO = {"a*", "b*", "T", "YI"}
_STATED = {"condition", "backing", "finish", "age_hours", "note"}
_WORDS: dict[str, set[str]] = {
    "condition": {"M0", "M1", "M2", "M3"},
    "backing": {"white", "black"},
    "finish": {"coated", "uncoated"},
}


@dataclass(frozen=True, slots=True)
class StatedAbout:
    """What is stated about one medium where its measurement files say nothing; ``where`` names the place."""

    condition: str | None = None
    backing: str | None = None
    finish: str | None = None
    age_hours: float | None = None
    note: str = ""
    where: str = "trial file"


@dataclass(frozen=True, slots=True)
class Trial:
    """What the trial file says: title, question, house medium, and facts about the media."""

    title: str = ""
    question: str = ""
    house: str = ""
    invented: bool = False
    candidates: Mapping[str, StatedAbout] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MarginSetting:
    """A user's own margin or preference for one finding; None keeps the default."""

    margin: Constant | None = None
    relative: bool | None = None
    prefer: Preference | None = None


def parse_trial(data: bytes, *, file: str) -> Trial:
    """The trial file's contents.

    Raises
    ------
    BadSetting
        It is not JSON, or says something that makes no sense; the message names the entry.
    """
    top = _json_object(data, file)
    _no_strangers(top, {"title", "question", "house", "invented", "candidates"}, "the trial file", file)
    candidates = {}
    for name, entry in _mapping(top.get("candidates", {}), "candidates", file).items():
        candidates[name] = _stated(_mapping(entry, name, file), name, file)
    return Trial(
        title=_text(top, "title", file),
        question=_text(top, "question", file),
        house=_text(top, "house", file),
        invented=bool(top.get("invented", False)),
        candidates=candidates,
    )


def parse_margins(data: bytes, *, file: str) -> dict[str, MarginSetting]:
    """The margins file's contents: ``{"dmax_visual": {"margin": 0.03, "prefer": "higher"}}``.

    ``margin`` is in the finding's unit, or a percentage such as ``"5 %"`` of the house medium's value (of the
    mean of all where no house is named). A bare number in place of the object is a margin.

    Raises
    ------
    BadSetting
        It is not JSON, names a finding that does not exist, or gives a margin that is not above zero.
    """
    settings = {}
    for finding, entry in _json_object(data, file).items():
        if finding not in METRICS:
            raise BadSetting(
                f'there is no finding called "{finding}".',
                todo=f"The findings are: {', '.join(METRICS)}.",
                file=file,
            )
        fields = entry if isinstance(entry, dict) else {"margin": entry}
        settings[finding] = _margin(fields, finding, file)
    return settings


def _margin(fields: Mapping[str, Any], finding: str, file: str) -> MarginSetting:
    _no_strangers(fields, {"margin", "prefer"}, finding, file)
    prefer = fields.get("prefer")
    if prefer is not None and prefer not in list(get_args(Preference)):
        raise BadSetting(
            f'"{finding}" cannot prefer "{prefer}".', todo='Use "higher", "lower" or "none".', file=file
        )
    if "margin" not in fields:
        return MarginSetting(prefer=prefer)
    told = fields["margin"]
    relative = isinstance(told, str) and told.strip().endswith("%")
    try:
        value = float(told.strip().rstrip("%")) / 100.0 if relative else float(told)
    except (TypeError, ValueError, OverflowError):
        value = math.nan
    if not (math.isfinite(value) and value > 0) or isinstance(told, bool):
        raise BadSetting(
            f'the margin of "{finding}" is "{told}".',
            todo='Give a number above zero, or such as "5 %".',
            file=file,
        )
    if relative and METRICS[finding].unit in _AROUND_ZERO:
        raise BadSetting(
            f'a percentage makes no sense as the margin of "{finding}", which lies around zero.',
            todo=f"Give it in {METRICS[finding].unit}.",
            file=file,
        )
    unit = "of the value" if relative else METRICS[finding].unit
    return MarginSetting(
        margin=Constant(value, unit, f"the user's own ({file})", "common practice, no source"),
        relative=relative,
        prefer=prefer,
    )


def _stated(entry: Mapping[str, Any], name: str, file: str) -> StatedAbout:
    _no_strangers(entry, _STATED, name, file)
    for key, words in _WORDS.items():
        told = entry.get(key)
        if told is not None and (not isinstance(told, str) or told not in words):
            raise BadSetting(
                f'"{key}" of "{name}" is "{entry[key]}".',
                todo=f"Use one of: {', '.join(sorted(words))}.",
                file=file,
            )
    age = entry.get("age_hours")
    if age is not None and (isinstance(age, bool) or not isinstance(age, int | float) or not 0 <= age < 1e6):
        raise BadSetting(
            f'"age_hours" of "{name}" is "{age}".', todo="Give the hours as a number.", file=file
        )
    return StatedAbout(
        condition=entry.get("condition"),
        backing=entry.get("backing"),
        finish=entry.get("finish"),
        age_hours=None if age is None else float(age),
        note=_text(entry, "note", file),
    )


def _no_strangers(entry: Mapping[str, Any], known: set[str], name: str, file: str) -> None:
    strangers = sorted(set(entry) - known)
    if strangers:
        raise BadSetting(
            f'"{name}" has an entry "{strangers[0]}" that means nothing here.',
            todo=f"Use: {', '.join(sorted(known))}.",
            file=file,
        )


def _json_object(data: bytes, file: str) -> dict[str, Any]:
    try:
        told = json.loads(data)
    except RecursionError:
        raise BadSetting("it is nested too deeply to mean anything.", file=file) from None
    except ValueError as error:
        line = getattr(error, "lineno", None)
        raise BadSetting(f"it is not JSON ({error}).", file=file, line=line) from None
    return dict(_mapping(told, "the file", file))


def _mapping(told: object, name: str, file: str) -> Mapping[str, Any]:
    if not isinstance(told, dict):
        raise BadSetting(f'"{name}" should be a list of entries in braces {{ }}.', file=file)
    return told


def _text(entry: Mapping[str, Any], key: str, file: str) -> str:
    told = entry.get(key, "")
    if not isinstance(told, str):
        raise BadSetting(f'"{key}" should be text in quotes.', file=file)
    return told
