"""The checklist of a bench run: what gloved hands do, in order, and what they write down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate

NoteKind = Literal["number", "text", "time"]


@dataclass(frozen=True, slots=True)
class Noted:
    """A value to be noted at a step: the field it goes to, its name, its unit, and whether it is a number."""

    field: str
    label: str
    unit: str
    kind: NoteKind


@dataclass(frozen=True, slots=True)
class Step:
    """One step. ``id`` never changes its meaning; ``text`` is an order of at most 60 characters.

    ``expected`` is the value wanted, "" where there is none; ``caution`` is about hands and eyes;
    ``skippable`` steps may be left out with a reason.
    """

    id: str
    text: str
    why: str
    caution: str = ""
    expected: str = ""
    noted: Noted | None = None
    skippable: bool = False


def checklist(
    facts: TrialFacts,
    candidate: Candidate,
    *,
    printer: Printer | None,
    medium: Medium,
    for_chart: bool = False,
) -> tuple[Step, ...]:
    """The steps of one bench run of a candidate, in order; only those that its printer and medium need."""
    return (
        Step(
            "nozzles",
            "Print a nozzle check; it must be whole",
            "A missing nozzle spoils every sheet after it.",
        ),
    )
