"""Where each reading stands: used in comparisons, or why not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from laydown.trials.clocks import ReadingAge, reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import AnyReading, GlossReading, Reading
from laydown.trials.route import COMPARED_USES, may_be_compared, open_doubts
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate

State = Literal[
    "used",
    "used early",
    "no sheet",
    "set aside",
    "in question",
    "spoiled",
    "not in the trial",
    "early",
    "other finish",
]
USED: tuple[State, ...] = ("used", "used early")


@dataclass(frozen=True, slots=True)
class Standing:
    """A reading with its sheet and candidate, how old the print was, and whether comparisons use it.

    ``words`` say why not, or what is to be known where they do.
    """

    reading: Reading
    sheet: Sheet | None
    candidate: Candidate | None
    age: ReadingAge | None
    state: State
    words: str

    @property
    def used(self) -> bool:
        """Whether comparisons by medium use it."""
        return self.state in USED


@dataclass(frozen=True, slots=True)
class GlossStanding:
    """A gloss reading with its sheet and candidate, and whether comparisons use it; else as ``Standing``."""

    reading: GlossReading
    sheet: Sheet
    candidate: Candidate
    age: ReadingAge | None
    state: State
    words: str

    @property
    def used(self) -> bool:
        """Whether comparisons by medium use it."""
        return self.state in USED


def standings(facts: TrialFacts) -> tuple[Standing, ...]:
    """Every reading of a trial, oldest first."""
    return tuple(standing_of(facts, reading) for reading in facts.readings)


def standing_of(facts: TrialFacts, reading: Reading) -> Standing:
    """Where one reading stands."""
    if reading.sheet_id is None:
        return Standing(reading, None, None, None, "no sheet", "it is not known which sheet it is of")
    sheet = facts.sheet(reading.sheet_id)
    candidate = facts.candidate(sheet.candidate_id)
    age = reading_age(facts, reading)
    state, words = next(_states(facts, reading, sheet, candidate, age))
    return Standing(reading, sheet, candidate, age, state, words)


def gloss_standings(facts: TrialFacts) -> tuple[GlossStanding, ...]:
    """Every gloss reading of a trial, oldest first."""
    return tuple(gloss_standing_of(facts, reading) for reading in facts.gloss)


def gloss_standing_of(facts: TrialFacts, reading: GlossReading) -> GlossStanding:
    """Where one gloss reading stands, by the rules of every reading."""
    sheet = facts.sheet(reading.sheet_id)
    candidate = facts.candidate(sheet.candidate_id)
    age = reading_age(facts, reading)
    state, words = next(_states(facts, reading, sheet, candidate, age))
    return GlossStanding(reading, sheet, candidate, age, state, words)


def _states(
    facts: TrialFacts, reading: AnyReading, sheet: Sheet, candidate: Candidate, age: ReadingAge | None
) -> Iterator[tuple[State, str]]:
    """Every state that holds of a reading, the one that decides first; ``route.is_usable`` is the rule."""
    if reading.set_aside_at is not None:
        yield "set aside", reading.set_aside_why
    if facts.events_of(sheet.id, "spoiled"):
        yield "spoiled", "the sheet was spoiled"
    if sheet.use not in COMPARED_USES:
        yield "not in the trial", f"a {sheet.use} sheet, not a test sheet"
    if candidate.withdrawn_at is not None:
        yield "not in the trial", f"{candidate.name} was withdrawn"
    for doubt in open_doubts(reading) if isinstance(reading, Reading) else ():
        yield "in question", doubt.words
    if age is not None and age.finish != candidate.finish:
        yield "other finish", "read before the sheet was coated"
    if not may_be_compared(facts, reading):
        yield "early", age.why if age else "it is not known when the sheet was printed"
    if age is not None and age.early:
        why = f": {reading.early_used_why}" if reading.early_used_why else ""
        yield "used early", f"{age.why}; used on the word of {reading.early_used_by}{why}"
    yield "used", ""
