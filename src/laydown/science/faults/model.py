"""What is known about faults: symptoms, causes, checks, and how strongly they hang together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant

Cost = Literal["nothing", "scrap", "print", "bought"]
COST_WORDS: dict[Cost, str] = {
    "nothing": "costs nothing",
    "scrap": "costs a scrap of the medium",
    "print": "costs a whole print",
    "bought": "something has to be bought or sent out",
}

WAITING = Constant(
    2.0,
    "min per hour waited",
    "our judgement: an hour of waiting is as dear as two minutes at the bench",
    "common practice, no source",
)
LARGEST_RATIO = Constant(
    1000.0,
    "likelihood ratio",
    "our judgement: a record may be wrong, so nothing known is stronger than this",
    "common practice, no source",
)


@dataclass(frozen=True, slots=True)
class Symptom:
    """Something to be seen on a bad print; ``drawing`` names its picture, empty for none."""

    id: str
    name: str
    sentence: str
    family: str
    drawing: str
    source: str


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that may be behind it, with what to do about it, the first thing first."""

    id: str
    name: str
    explanation: str
    family: str
    fixes: tuple[str, ...]
    source: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Check:
    """A test with the answers yes and no that tells causes apart."""

    id: str
    question: str
    how: str
    minutes: float
    cost: Cost
    source: str
    wait_hours: float = 0.0
    caution: str = ""

    @property
    def effort_minutes(self) -> float:
        """Minutes at the bench, plus a small share of the time spent waiting."""
        return self.minutes + WAITING.value * self.wait_hours


@dataclass(frozen=True, slots=True)
class Bearing:
    """How likely a yes is: with none of the causes named (``otherwise``), and with each of them alone."""

    otherwise: float
    yes_if: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class FaultModel:
    """Symptoms, causes and checks by id, and the chances that join them.

    ``priors`` (by cause) is the chance that a cause is at work in a bad print about which nothing else is
    known; ``leaks`` (by symptom) the chance that a symptom shows although none of its causes is at work;
    ``links`` (by cause, then symptom) the chance that the cause, when at work, brings the symptom about;
    ``speaks`` (by evidence, then cause) how many times likelier the evidence is with the cause than without.
    A model read from a studio's own file may hold a part of these only; `with_overrides` lays it over a
    whole one. ``own`` lists the entries that came from such a file, as ``"prior of idle-or-cleaning"``.
    """

    symptoms: Mapping[str, Symptom]
    causes: Mapping[str, Cause]
    checks: Mapping[str, Check]
    priors: Mapping[str, float]
    leaks: Mapping[str, float]
    links: Mapping[str, Mapping[str, float]]
    bearings: Mapping[str, Bearing]
    speaks: Mapping[str, Mapping[str, float]]
    file: str
    numbers_from: str = ""
    own: tuple[str, ...] = ()

    def effects_of(self, cause: str) -> Mapping[str, float]:
        """Symptoms the cause brings about, with their chances."""
        return self.links.get(cause, {})

    def origin(self, entry: str) -> str:
        """Who gave a number, in words; ``entry`` is written as in ``own``."""
        return "your own experience" if entry in self.own else self.numbers_from
