"""One reading: what is in its file, what was asked about it, and what may be done with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.kernel.problems import Problem
from laydown.records.look import Look
from laydown.report.moments import moment_field, moment_words, zone_words
from laydown.report.wording import number
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.route import open_doubts
from laydown.usecases.check_file import CheckedTable, check_file
from laydown.usecases.comparison import StatedFact
from laydown.usecases.measuring.answers import words_of
from laydown.usecases.measuring.kept_file import KeptFile
from laydown.usecases.measuring.parsed_file import moment_in_file
from laydown.usecases.measuring.standings import standing_of
from laydown.web.views.reading_lines import (
    QuestionView,
    ReadingLine,
    question_view,
    reading_line,
    sheet_choices,
)
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class AnsweredView:
    """A question that was answered: what looked wrong, the answer, by whom and when."""

    words: str
    answer: str
    by: str
    when: str


@dataclass(frozen=True, slots=True)
class TableView:
    """One table of the file: what it holds and under which conditions."""

    what: str
    facts: tuple[tuple[str, str, str], ...]
    lightest: str
    darkest: str


@dataclass(frozen=True, slots=True)
class OneReadingView:
    """The page of one reading. ``early`` is "use", "leave out" or "" where it was not read early."""

    frame: TrialFrame
    trial_id: str
    problem: str
    line: ReadingLine
    sheet: str
    sheet_href: str
    sheet_id: str
    choices: tuple[tuple[str, str], ...]
    received: str
    measured: str
    measured_field: str
    zone: str
    instrument: str
    questions: tuple[QuestionView, ...]
    answered: tuple[AnsweredView, ...]
    set_aside: str
    early: str
    early_said: str
    tables: tuple[TableView, ...]
    refused: str
    problems: tuple[Problem, ...]
    mended: bool


def one_reading_view(
    look: Look, facts: TrialFacts, reading: Reading, *, now: datetime, problem: str = ""
) -> OneReadingView:
    """The page of one reading; its file is read anew."""
    one = standing_of(facts, reading)
    seen = look.revision(Reading, reading.id)
    zone = facts.studio.time_zone
    content = reading.mended_sha256 or reading.file_sha256
    checked = check_file(KeptFile("", reading.file_name, content, look.vault))
    sheet = one.sheet
    return OneReadingView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        problem=problem,
        line=reading_line(facts, one, now=now, seen=seen),
        sheet=f"{sheet.code}, {one.candidate.name}" if sheet and one.candidate else "",
        sheet_href=f"/trials/{facts.trial.id}/sheets/{sheet.id}" if sheet else "",
        sheet_id=sheet.id if sheet else "",
        choices=sheet_choices(facts),
        received=f"{moment_words(reading.received_at, time_zone=zone)}, by {reading.by}",
        measured=moment_words(reading.measured_at, time_zone=zone),
        measured_field=moment_field(reading.measured_at, time_zone=zone),
        zone=zone_words(zone, now=now),
        instrument=reading.instrument or "not stated",
        questions=tuple(
            question_view(facts, one, doubt, seen=seen)
            for doubt in (open_doubts(reading) if one.state != "set aside" else ())
        ),
        answered=tuple(
            AnsweredView(
                doubt.words,
                words_of(doubt.answer),
                doubt.answered_by,
                moment_words(doubt.answered_at, time_zone=zone),
            )
            for doubt in reading.doubts
            if doubt.answer
        ),
        set_aside=_aside(reading, zone),
        early="" if not (one.age and one.age.early) else "leave out" if reading.early_used_at else "use",
        early_said=_early(reading, zone),
        tables=tuple(_table(table, zone) for table in checked.tables),
        refused=checked.refused,
        problems=checked.problems,
        mended=bool(reading.mended_sha256),
    )


def _table(table: CheckedTable, zone: str) -> TableView:
    told = f"{number(table.patches, 0)} patches, {', '.join(table.values)}; {table.device}"
    return TableView(
        what=f"{table.format}: {told}",
        facts=tuple(_fact(fact, zone) for fact in table.facts),
        lightest=table.lightest,
        darkest=table.darkest,
    )


def _fact(fact: StatedFact, zone: str) -> tuple[str, str, str]:
    """What a file states; a moment as the studio's clock had it, beside what is written there."""
    at = moment_in_file(fact.value, time_zone=zone)
    if at is None:
        return fact.name, fact.value, fact.where
    return fact.name, moment_words(at, time_zone=zone), f"{fact.where}, written {fact.value}"


def _aside(reading: Reading, zone: str) -> str:
    if reading.set_aside_at is None:
        return ""
    return f"Set aside on {moment_words(reading.set_aside_at, time_zone=zone)}: {reading.set_aside_why}"


def _early(reading: Reading, zone: str) -> str:
    if reading.early_used_at is None:
        return ""
    at = moment_words(reading.early_used_at, time_zone=zone)
    return f"{reading.early_used_by}, {at}: {reading.early_used_why}"
