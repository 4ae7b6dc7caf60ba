"""The retrace of a bad print: what was seen, what was checked, what helped."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Seen = Literal["present", "absent"]
Answer = Literal["yes", "no", "unsure"]
Outcome = Literal["open", "solved", "still wrong"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedSymptom:
    """A symptom looked for, and whether it was there."""

    symptom: str
    seen: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredCheck:
    """A check that was made, its answer and when."""

    check: str
    answer: Answer
    at: datetime
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedFix:
    """What was tried against which cause, and whether it helped."""

    cause: str
    at: datetime
    words: str
    helped: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Retrace:
    """One bad print being retraced, with or without a sheet of a trial."""

    id: str
    trial_id: str | None
    sheet_id: str | None = None
    title: str
    begun_at: datetime
    by: str = ""
    symptoms: tuple[MarkedSymptom, ...] = ()
    answers: tuple[AnsweredCheck, ...] = ()
    tried: tuple[TriedFix, ...] = ()
    outcome: Outcome = "open"
    closed_at: datetime | None = None
    words: str = ""
