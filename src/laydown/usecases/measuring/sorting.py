"""The readings of a trial sorted into the media of a comparison: by medium, lot, finish or age."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from laydown.science.findings.likeness import AGE_TOLERANCE, NOT_ACROSS, Across
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Lot
from laydown.trials.trial import Candidate
from laydown.usecases.measuring.standings import Standing

By = Literal["medium", "lot", "finish", "age", "coat"]
WAYS: tuple[By, ...] = get_args(By)
ACROSS: Mapping[By, frozenset[Across]] = {
    "finish": frozenset({"finish"}),
    "coat": frozenset({"finish"}),
    "age": frozenset({"age"}),
}
BEFORE = "{name}, before coating"


@dataclass(frozen=True, slots=True)
class Sorted:
    """The media of a comparison and the readings of each; ``house`` names one of them or is ""."""

    media: Mapping[str, tuple[Standing, ...]]
    house: str

    @property
    def readings(self) -> tuple[Standing, ...]:
        """All readings used, medium by medium."""
        return tuple(one for readings in self.media.values() for one in readings)


def sort_readings(
    facts: TrialFacts, standings: Sequence[Standing], lots: Mapping[str, Lot], *, by: By
) -> Sorted:
    """The media to compare, in the order of the candidates. ``lots`` holds all lots by id."""
    if by in ("finish", "coat"):
        return _by_finish(facts, standings, with_before=by == "coat")
    if by == "age":
        return _by_age(facts, standings)
    used = [one for one in standings if one.used]
    if by == "lot":
        return _sorted(facts, used, lambda one: _lot_name(facts, lots, one))
    return _sorted(facts, used, _name)


def across(by: By, found: Sorted) -> frozenset[Across]:
    """What may differ between the media: what the question is about, and age where every print had settled.

    A trial has hours of its own, and its clocks have kept out what was read too early by them.
    """
    asked = ACROSS.get(by, NOT_ACROSS)
    early = any(one.state == "used early" for one in found.readings)
    return asked if early else asked | {"age"}


def _name(one: Standing) -> str:
    assert one.candidate is not None
    return one.candidate.name


def _sorted(facts: TrialFacts, used: Iterable[Standing], name: Callable[[Standing], str]) -> Sorted:
    """Readings by name, in the order of the candidates; the house is its candidate's medium with most."""
    media: dict[str, list[Standing]] = defaultdict(list)
    house: dict[str, int] = defaultdict(int)
    place = {candidate.id: number for number, candidate in enumerate(facts.candidates)}

    def turn(one: Standing) -> tuple[int, int, str, str]:
        assert one.candidate is not None
        assert one.sheet is not None
        return place[one.candidate.id], one.sheet.place, one.sheet.code, one.reading.file_name

    for one in sorted(used, key=turn):
        media[name(one)].append(one)
        if one.candidate is not None and one.candidate.house:
            house[name(one)] += 1
    return Sorted(
        {name: tuple(readings) for name, readings in media.items()},
        max(house, key=house.__getitem__, default=""),
    )


def _lot_name(facts: TrialFacts, lots: Mapping[str, Lot], one: Standing) -> str:
    """The candidate with the lot of the sheet's own roll, else the candidate's."""
    assert one.candidate is not None
    assert one.sheet is not None
    roll = next((roll for roll in facts.rolls if roll.id == one.sheet.roll_id), None)
    lot = lots.get((roll.lot_id if roll else one.candidate.lot_id) or "")
    return f"{one.candidate.name}, lot {lot.code if lot else 'not stated'}"


def arm_name(candidate: Candidate) -> str:
    """A candidate's name with its finish, where the name does not say it."""
    words = re.findall(r"\w+", candidate.name.casefold())
    return candidate.name if candidate.finish in words else f"{candidate.name}, {candidate.finish}"


def _by_finish(facts: TrialFacts, standings: Sequence[Standing], *, with_before: bool) -> Sorted:
    """Candidates that have a twin in the other finish, each beside its twin.

    ``with_before`` adds coated candidates without a twin, and what their sheets were before coating, cured.
    """
    pairs = {one.twin_id: one.id for one in facts.candidates if one.twin_id}
    asked = {*pairs, *pairs.values()}
    if with_before:
        asked |= {one.id for one in facts.candidates if one.finish == "coated"}
    states = ("used", "used early", "other finish") if with_before else ("used", "used early")
    used = [
        one
        for one in standings
        if one.state in states and one.candidate and one.candidate.id in asked and not _unsettled(one)
    ]

    def name(one: Standing) -> str:
        assert one.candidate is not None
        arm = arm_name(one.candidate)
        return BEFORE.format(name=arm) if one.state == "other finish" else arm

    return _sorted(facts, used, name)


def _unsettled(one: Standing) -> bool:
    return one.state == "other finish" and (one.age is None or one.age.early)


def _by_age(facts: TrialFacts, standings: Sequence[Standing]) -> Sorted:
    """Every settled or early reading in the finish of its candidate, by the age the print had."""
    used = [one for one in standings if one.state in ("used", "used early", "early") and one.age is not None]
    labels = age_classes([one.age.hours for one in used if one.age and one.age.hours is not None])

    def name(one: Standing) -> str:
        assert one.age is not None
        return f"{_name(one)}, {labels.get(one.age.hours or 0.0, 'age not known')}"

    found = _sorted(facts, used, name)
    place = {candidate.id: number for number, candidate in enumerate(facts.candidates)}

    def turn(item: tuple[str, tuple[Standing, ...]]) -> tuple[int, float]:
        first = item[1][0]
        return place[first.candidate.id] if first.candidate else -1, _oldest(item[1])

    media = dict(sorted(found.media.items(), key=turn))
    house = [name for name, held in media.items() if held[0].candidate and held[0].candidate.house]
    return Sorted(media, house[-1] if house else "")


def _oldest(readings: Sequence[Standing]) -> float:
    return max(((one.age.hours or 0.0) for one in readings if one.age), default=0.0)


def age_classes(hours: Iterable[float]) -> dict[float, str]:
    """A name for each age: ages within a quarter of each other share one, such as "5 h" or "3 days"."""
    classes: list[list[float]] = []
    for age in sorted(set(hours)):
        if classes and age - classes[-1][0] <= float(AGE_TOLERANCE) * age:
            classes[-1].append(age)
        else:
            classes.append([age])
    return {age: _age_words(sum(group) / len(group)) for group in classes for age in group}


def _age_words(hours: float) -> str:
    if hours < 1:
        return f"{max(1, round(hours * 60))} min"
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days"
