"""Reads a file of faults: the packaged ones and a studio's own have the same form."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, TooLarge
from laydown.science.faults.model import (
    COST_WORDS,
    LARGEST_RATIO,
    Bearing,
    Cause,
    Check,
    FaultModel,
    Symptom,
)

FORMAT = "laydown faults 1"
RAREST = Constant(
    0.0001,
    "probability",
    "our judgement: nothing about a print is certain, and a chance of 0 or 1 could not be undone",
    "common practice, no source",
)
MOST_BYTES = Constant(2_000_000, "bytes", "chosen here: forty times the packaged files", "computed")
MOST_ENTRIES = Constant(400, "entries", "chosen here: keeps a ranking quick", "computed")
LONGEST_TEXT = Constant(1000, "characters", "chosen here: must fit a card", "computed")
LONGEST_CHECK = Constant(10_000, "hours or minutes", "chosen here: longer than a year is a slip", "computed")

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_PARTS = {"symptoms", "causes", "checks", "priors", "leaks", "links", "bearings", "speaks"}
_TOP = _PARTS | {"format", "about", "numbers_from"}
_AGAIN = "Correct the file and read it in again."

Entry = TypeVar("Entry", Symptom, Cause, Check)


def parse_faults(data: bytes, *, file: str) -> FaultModel:
    """Read a file of faults.

    The file may hold any part of a model: a studio that only wants another prior writes that one number.
    Whether ids that are used are also described somewhere is asked by `with_overrides`, which knows both.

    Parameters
    ----------
    data : bytes
        The file: JSON, described in ``docs/methods/retrace.md``.
    file : str
        Its name, for messages.

    Returns
    -------
    FaultModel
        What it says and nothing else.

    Raises
    ------
    BadSetting
        It is not JSON, not of this form, or an entry makes no sense; the message names the entry.
    TooLarge
        It is far larger than any such file.

    Checked against
    ---------------
    The packaged files; every kind of damage, planted (``test_fault_files.py``).
    """
    if len(data) > MOST_BYTES.value:
        what = f"this file of faults is larger than {MOST_BYTES.value / 1e6:g} MB."
        raise TooLarge(what, todo="Leave out what is not symptoms, causes or checks.", file=file)
    reader = _Reader(file)
    top = reader.whole(data)
    reader.only(top, _TOP, "the file")
    if top.get("format") != FORMAT:
        raise reader.refusal("it does not say what it is.", f'Begin it with "format": "{FORMAT}".')
    return FaultModel(
        symptoms=reader.entries(top, "symptoms", reader.symptom),
        causes=reader.entries(top, "causes", reader.cause),
        checks=reader.entries(top, "checks", reader.check),
        priors=reader.chances(top.get("priors", {}), "priors"),
        leaks=reader.chances(top.get("leaks", {}), "leaks"),
        links={
            reader.id_of(cause, "links"): reader.chances(told, f'links of "{cause}"', smallest=0.0)
            for cause, told in reader.mapping(top.get("links", {}), "links").items()
        },
        bearings={
            reader.id_of(check, "bearings"): reader.bearing(told, f'bearings of "{check}"')
            for check, told in reader.mapping(top.get("bearings", {}), "bearings").items()
        },
        speaks={
            reader.id_of(known, "speaks"): reader.ratios(told, f'speaks of "{known}"')
            for known, told in reader.mapping(top.get("speaks", {}), "speaks").items()
        },
        file=file,
        numbers_from=reader.text(top, "numbers_from", "the file", needed=False),
    )


class _Reader:
    """The rules of the form, and the file's name for every refusal."""

    def __init__(self, file: str) -> None:
        self.file = file

    def refusal(self, what: str, todo: str = _AGAIN, *, line: int | None = None) -> BadSetting:
        return BadSetting(what, todo=todo, file=self.file, line=line)

    def whole(self, data: bytes) -> Mapping[str, Any]:
        try:
            told = json.loads(data, object_pairs_hook=self._once, parse_constant=self._no_number)
        except RecursionError:
            raise self.refusal("it is nested too deeply to mean anything.") from None
        except ValueError as error:
            line = getattr(error, "lineno", None)
            raise self.refusal(f"it is not JSON ({error}).", line=line) from None
        return self.mapping(told, "the file")

    def _once(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        told = dict(pairs)
        if len(told) < len(pairs):
            names = [name for name, _ in pairs]
            twice = next(name for name in names if names.count(name) > 1)
            raise self.refusal(f'"{twice}" stands twice in one pair of braces.', "Keep one of the two.")
        return told

    def _no_number(self, told: str) -> float:
        raise self.refusal(f"{told} is not a number that can be used.", "Give an ordinary number.")

    def entries(self, top: Mapping[str, Any], part: str, read: Callable[..., Entry]) -> dict[str, Entry]:
        told = top.get(part, [])
        if not isinstance(told, list):
            raise self.refusal(f'"{part}" should be a list in brackets [ ].')
        if len(told) > MOST_ENTRIES.value:
            most = int(MOST_ENTRIES.value)
            raise self.refusal(f'"{part}" has {len(told)} entries.', f"Keep at most {most} of them.")
        found: dict[str, Entry] = {}
        for number, item in enumerate(told, start=1):
            place = f"entry {number} of {part}"
            entry = self.mapping(item, place)
            known = self.id_of(entry.get("id"), place)
            if known in found:
                raise self.refusal(f'"{known}" is described twice in {part}.', "Keep one of the two.")
            found[known] = read(entry, known, f'"{known}" in {part}')
        return found

    def symptom(self, entry: Mapping[str, Any], known: str, place: str) -> Symptom:
        self.only(entry, {"id", "name", "sentence", "family", "drawing", "source"}, place)
        texts = {key: self.text(entry, key, place) for key in ("name", "sentence", "family", "source")}
        return Symptom(id=known, drawing=self.text(entry, "drawing", place, needed=False), **texts)

    def cause(self, entry: Mapping[str, Any], known: str, place: str) -> Cause:
        self.only(entry, {"id", "name", "explanation", "family", "fixes", "caution", "source"}, place)
        fixes = entry.get("fixes")
        if not isinstance(fixes, list) or not fixes:
            raise self.refusal(f"{place} has no fixes.", 'Write "fixes": ["what to do first", "what next"].')
        steps = tuple(self.text({"fix": fix}, "fix", f"fixes of {place}") for fix in fixes)
        texts = {key: self.text(entry, key, place) for key in ("name", "explanation", "family", "source")}
        return Cause(id=known, fixes=steps, caution=self.text(entry, "caution", place, needed=False), **texts)

    def check(self, entry: Mapping[str, Any], known: str, place: str) -> Check:
        allowed = {"id", "question", "how", "minutes", "wait_hours", "cost", "caution", "source"}
        self.only(entry, allowed, place)
        cost = next((word for word in COST_WORDS if word == entry.get("cost")), None)
        if cost is None:
            raise self.refusal(f'"cost" of {place} is unknown.', f"Use one of: {', '.join(COST_WORDS)}.")
        texts = {key: self.text(entry, key, place) for key in ("question", "how", "source")}
        return Check(
            id=known,
            minutes=self._length(entry.get("minutes"), f'"minutes" of {place}', smallest=0.5),
            wait_hours=self._length(entry.get("wait_hours", 0.0), f'"wait_hours" of {place}', smallest=0.0),
            cost=cost,
            caution=self.text(entry, "caution", place, needed=False),
            **texts,
        )

    def bearing(self, told: object, place: str) -> Bearing:
        entry = self.mapping(told, place)
        self.only(entry, {"otherwise", "yes_if"}, place)
        if "otherwise" not in entry:
            why = 'Give "otherwise": the chance of a yes when none of the causes named is at work.'
            raise self.refusal(f'{place} lack "otherwise".', why)
        otherwise = self._chance(entry["otherwise"], f'"otherwise" in {place}', smallest=RAREST.value)
        return Bearing(otherwise, self.chances(entry.get("yes_if", {}), f'"yes_if" in {place}'))

    def chances(self, told: object, place: str, *, smallest: float = RAREST.value) -> dict[str, float]:
        return {
            self.id_of(key, place): self._chance(value, f'"{key}" in {place}', smallest=smallest)
            for key, value in self.mapping(told, place).items()
        }

    def ratios(self, told: object, place: str) -> dict[str, float]:
        most, ask = (
            LARGEST_RATIO.value,
            "Give how many times likelier it is with the cause than without, between",
        )
        return {
            self.id_of(key, place): self._number(value, f'"{key}" in {place}', 1.0 / most, most, ask)
            for key, value in self.mapping(told, place).items()
        }

    def _chance(self, told: object, place: str, *, smallest: float) -> float:
        return self._number(told, place, smallest, 1.0 - RAREST.value, "Give a chance, such as 0.3, between")

    def _length(self, told: object, place: str, *, smallest: float) -> float:
        return self._number(told, place, smallest, LONGEST_CHECK.value, "Give a number between")

    def _number(self, told: object, place: str, smallest: float, largest: float, ask: str) -> float:
        value = math.nan
        if isinstance(told, int | float) and not isinstance(told, bool) and abs(told) < 1e300:
            value = float(told)
        if not smallest <= value <= largest:
            raise self.refusal(f"{place} is {_short(told)}.", f"{ask} {smallest:g} and {largest:g}.")
        return value

    def id_of(self, told: object, place: str) -> str:
        if not isinstance(told, str) or not _ID.fullmatch(told) or len(told) > 80:
            what = f"{place}: {_short(told)} cannot be an id."
            raise self.refusal(what, 'Use small letters, digits and hyphens, such as "wavy-edge".')
        return told

    def text(self, entry: Mapping[str, Any], key: str, place: str, *, needed: bool = True) -> str:
        told = entry.get(key, "")
        if not isinstance(told, str) or len(told) > LONGEST_TEXT.value or (needed and not told.strip()):
            most = int(LONGEST_TEXT.value)
            raise self.refusal(
                f'"{key}" of {place} should be text.', f"Write up to {most} characters in quotes."
            )
        return told.strip()

    def mapping(self, told: object, place: str) -> Mapping[str, Any]:
        if not isinstance(told, dict):
            raise self.refusal(f"{place} should be a list of entries in braces {{ }}.")
        return told

    def only(self, entry: Mapping[str, Any], known: set[str], place: str) -> None:
        strangers = sorted(set(entry) - known)
        if strangers:
            what = f'{place} has "{strangers[0]}", which means nothing here.'
            raise self.refusal(what, f"Use: {', '.join(sorted(known))}.")


def _short(told: object) -> str:
    shown = json.dumps(told, ensure_ascii=False, default=str)
    return shown if len(shown) <= 40 else f"{shown[:37]}..."
