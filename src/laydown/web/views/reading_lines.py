"""Readings and the questions about them, as every page of a trial shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from laydown.report.moments import moment_short
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Doubt, ReadingSource
from laydown.trials.route import open_doubts
from laydown.usecases.measuring.answers import words_of
from laydown.usecases.measuring.standings import Standing, State

# Shapes beside the words, because colour says nothing here.
MARKS: Mapping[State, str] = {
    "used": "●",
    "used early": "◐",
    "no sheet": "?",
    "set aside": "×",
    "in question": "?",
    "spoiled": "×",
    "not in the trial": "–",
    "early": "○",
    "other finish": "–",
}
STATE_WORDS: Mapping[State, str] = {
    "used": "used",
    "used early": "early, used all the same",
    "no sheet": "waits for its sheet",
    "set aside": "set aside",
    "in question": "in question, not used",
    "spoiled": "sheet spoiled, not used",
    "not in the trial": "not compared",
    "early": "read too early, not used",
    "other finish": "before coating",
}
SOURCES: Mapping[ReadingSource, str] = {
    "dropped": "",
    "watched folder": "from the watched folder",
    "typed in": "typed in",
}


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading in a line: its file, how and when it was read, and where it stands.

    ``whys`` are sentences that explain its state or tell what is to be known of it.
    """

    id: str
    href: str
    file_name: str
    what: str
    patches: str
    when: str
    mark: str
    state: str
    whys: tuple[str, ...]
    questions: int
    seen: int


@dataclass(frozen=True, slots=True)
class AnswerView:
    """An answer that may be given: what is sent, and its words."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """An open question about a reading; ``holds_back`` says that the reading is not used until then."""

    reading_id: str
    href: str
    file_name: str
    sheet: str
    kind: str
    words: str
    question: str
    answers: tuple[AnswerView, ...]
    holds_back: bool
    seen: int


def reading_line(facts: TrialFacts, one: Standing, *, now: datetime, seen: int) -> ReadingLine:
    """A reading in a line; ``seen`` is its revision."""
    reading = one.reading
    count = "1 patch" if reading.patches == 1 else f"{reading.patches} patches"
    mended = "mended" if reading.mended_sha256 else ""
    known = "" if one.state == "in question" else one.words  # the question itself says it
    parts = (" and ".join(reading.conditions), SOURCES[reading.source], mended)
    return ReadingLine(
        id=reading.id,
        href=f"/trials/{facts.trial.id}/readings/{reading.id}",
        file_name=reading.file_name,
        what=", ".join(part for part in parts if part) or "condition not stated",
        patches=count,
        when=when_read(facts, one, now=now),
        mark=MARKS[one.state],
        state=STATE_WORDS[one.state],
        whys=tuple(sentence(part) for part in (known, reading.words) if part),
        questions=len(open_doubts(reading)),
        seen=seen,
    )


def when_read(facts: TrialFacts, one: Standing, *, now: datetime) -> str:
    """When a reading was taken and how old the print was, or that the time of receipt stands in."""
    reading = one.reading
    at = moment_short(reading.measured_at or reading.received_at, time_zone=facts.studio.time_zone, now=now)
    age = f", {_age(one.age.hours)} after printing" if one.age and one.age.hours is not None else ""
    return f"{'read' if reading.measured_at else 'received'} {at}{age}"


def question_view(facts: TrialFacts, one: Standing, doubt: Doubt, *, seen: int) -> QuestionView:
    """An open question about a reading; ``seen`` is the reading's revision."""
    return QuestionView(
        reading_id=one.reading.id,
        href=f"/trials/{facts.trial.id}/readings/{one.reading.id}",
        file_name=one.reading.file_name,
        sheet=f"{one.sheet.code}, {one.candidate.name}" if one.sheet and one.candidate else "no sheet yet",
        kind=doubt.kind,
        words=doubt.words,
        question=doubt.question,
        answers=tuple(AnswerView(value, words_of(value)) for value in doubt.answers),
        holds_back=one.state == "in question",
        seen=seen,
    )


def sheet_choices(facts: TrialFacts) -> tuple[tuple[str, str], ...]:
    """Printed sheets to choose from: id, and code with candidate."""
    printed = {event.sheet_id for event in facts.events if event.kind == "printed"}
    return tuple(
        (sheet.id, f"{sheet.code}, {facts.candidate(sheet.candidate_id).name}")
        for sheet in sorted(facts.sheets, key=lambda one: one.code)
        if sheet.id in printed
    )


def sentence(words: str) -> str:
    """Words as a sentence."""
    told = words[:1].upper() + words[1:]
    return told if not told or told.endswith((".", "?", "!")) else f"{told}."


def _age(hours: float) -> str:
    return f"{hours:.1f} h" if hours < 10 else f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.0f} days"
