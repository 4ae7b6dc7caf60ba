"""The measuring station of a trial: sheets and their readings, open questions, files that wait."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from laydown.records.look import Look
from laydown.report.moments import moment_short, zone_words
from laydown.trials.clocks import SheetClocks, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.remarks import Note
from laydown.trials.route import COMPARED_USES, open_doubts
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.attach_readings import NotTaken
from laydown.usecases.measuring.standings import Standing, standings
from laydown.usecases.measuring.watch_folder import refused_notes
from laydown.web.views.reading_lines import (
    QuestionView,
    ReadingLine,
    question_view,
    reading_line,
    sheet_choices,
)
from laydown.web.views.trial_frame import TrialFrame, trial_frame

SAID_ONCE_FROM = 3


@dataclass(frozen=True, slots=True)
class SheetReadings:
    """A sheet with its readings; ``state`` says whether it may be measured, ``when`` since or from when."""

    id: str
    code: str
    candidate: str
    ready: bool
    state: str
    when: str
    readings: tuple[ReadingLine, ...]
    measured: bool


@dataclass(frozen=True, slots=True)
class ChartView:
    """The trial's chart. ``proposal`` is the reading it could be taken from, "" where there is none."""

    name: str
    proposal: str
    proposal_words: str


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file of the watched folder that could not be used: the note about it, its words, and since when."""

    id: str
    words: str
    when: str


@dataclass(frozen=True, slots=True)
class FolderView:
    """The watched folder: which, for this trial or another, and what is wrong with it."""

    path: str
    here: bool
    elsewhere: bool
    trouble: str
    refused: tuple[RefusedFile, ...]


@dataclass(frozen=True, slots=True)
class DropReport:
    """What became of files that were just handed in, where not all could be kept."""

    kept: str
    entry_id: str
    not_taken: tuple[NotTaken, ...]


@dataclass(frozen=True, slots=True)
class MeasureView:
    """The station. ``problem`` is why a form was refused, ``typed`` what its fields held.

    ``patches`` is how many all readings have, "" where they differ. ``said_once`` are sentences that hold for
    several readings, each with their sheets.
    """

    frame: TrialFrame
    trial_id: str
    problem: str
    said: str
    report: DropReport | None
    typed: Mapping[str, str]
    questions: tuple[QuestionView, ...]
    waiting: tuple[ReadingLine, ...]
    patches: str
    said_once: tuple[tuple[str, str], ...]
    zone: str
    ready: tuple[SheetReadings, ...]
    measured: tuple[SheetReadings, ...]
    not_ready: tuple[SheetReadings, ...]
    choices: tuple[tuple[str, str], ...]
    chart: ChartView
    folder: FolderView
    can_check: bool
    any_coated: bool
    any_used: bool
    printed: bool
    is_open: bool
    largest_mb: int


def measure_view(
    look: Look,
    facts: TrialFacts,
    *,
    now: datetime,
    largest_mb: int,
    problem: str = "",
    said: str = "",
    report: DropReport | None = None,
    typed: Mapping[str, str] | None = None,
) -> MeasureView:
    """The station of a trial; ``typed`` is what a refused form held, ``report`` what became of a drop."""
    told = standings(facts)
    seen = {one.reading.id: look.revision(Reading, one.reading.id) for one in told}
    lines = {one.reading.id: reading_line(facts, one, now=now, seen=seen[one.reading.id]) for one in told}
    counts = {line.patches for line in lines.values()}
    patches = counts.pop() if len(counts) == 1 and len(lines) > 1 else ""
    said_once = _said_once(told, lines)
    lines = {key: _shortened(line, said_once, patches) for key, line in lines.items()}
    sheets = [_sheet(facts, sheet, told, lines, now=now) for sheet in _shown(facts)]
    return MeasureView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        problem=problem,
        said=said,
        report=report,
        typed=typed or {},
        questions=tuple(
            question_view(facts, one, doubt, seen=seen[one.reading.id])
            for one in told
            if one.state != "set aside"
            for doubt in open_doubts(one.reading)
        ),
        waiting=tuple(lines[one.reading.id] for one in told if one.state == "no sheet"),
        patches=patches,
        said_once=tuple((words, ", ".join(codes)) for words, codes in said_once.items()),
        zone=zone_words(facts.studio.time_zone, now=now),
        ready=tuple(one for one in sheets if one.ready and not one.measured),
        measured=tuple(one for one in sheets if one.measured),
        not_ready=tuple(one for one in sheets if not one.ready and not one.measured),
        choices=sheet_choices(facts),
        chart=_chart(facts),
        folder=_folder(look, facts, now=now),
        can_check=len(facts.readings) > 1,
        any_coated=any(one.finish == "coated" for one in facts.candidates),
        any_used=any(one.used for one in told),
        printed=any(event.kind == "printed" for event in facts.events),
        is_open=facts.trial.closed_at is None and facts.trial.removed_at is None,
        largest_mb=largest_mb,
    )


def _shown(facts: TrialFacts) -> list[Sheet]:
    """Sheets that are compared, and others that have readings, in print order."""
    read = {reading.sheet_id for reading in facts.readings}
    return [sheet for sheet in facts.sheets if sheet.use in COMPARED_USES or sheet.id in read]


def _said_once(told: Sequence[Standing], lines: Mapping[str, ReadingLine]) -> dict[str, list[str]]:
    """Sentences that several readings share, each with the codes of their sheets."""
    codes: dict[str, list[str]] = {}
    for one in told:
        for why in lines[one.reading.id].whys if one.sheet else ():
            codes.setdefault(why, []).append(one.sheet.code if one.sheet else "")
    return {why: sorted(set(held)) for why, held in codes.items() if len(held) >= SAID_ONCE_FROM}


def _shortened(line: ReadingLine, said: Container[str], patches: str) -> ReadingLine:
    """A line without what is said once for all."""
    return replace(
        line,
        patches="" if patches else line.patches,
        whys=tuple(why for why in line.whys if why not in said),
    )


def _sheet(
    facts: TrialFacts,
    sheet: Sheet,
    told: Sequence[Standing],
    lines: Mapping[str, ReadingLine],
    *,
    now: datetime,
) -> SheetReadings:
    own = [one for one in told if one.reading.sheet_id == sheet.id]
    ready, state, when = _readiness(facts, sheet_clocks(facts, sheet, now=now), now=now)
    return SheetReadings(
        id=sheet.id,
        code=sheet.code,
        candidate=facts.candidate(sheet.candidate_id).name,
        ready=ready,
        state=state,
        when=when,
        readings=tuple(lines[one.reading.id] for one in sorted(own, key=lambda one: one.reading.file_name)),
        measured=any(one.used for one in own),
    )


def _readiness(facts: TrialFacts, clocks: SheetClocks, *, now: datetime) -> tuple[bool, str, str]:
    """Whether a sheet may be measured now, the word for where it stands, and since or from when."""
    if clocks.stage == "spoiled":
        return False, "spoiled", ""
    if clocks.printed_at is None:
        return False, "not printed yet", ""
    if clocks.ready_at is None:
        return False, "waits for its coat" if clocks.stage == "cured" else "curing, then its coat", ""
    at = moment_short(clocks.ready_at, time_zone=facts.studio.time_zone, now=now)
    if now >= clocks.ready_at:
        return True, "ready", f"since {at}"
    return False, "coat drying" if clocks.coated_at else "curing", f"ready {at}"


def _chart(facts: TrialFacts) -> ChartView:
    if facts.trial.chart_sha256:
        return ChartView(facts.trial.chart_name, "", "")
    for one in sorted(facts.readings, key=lambda reading: (reading.received_at, reading.file_name)):
        if one.set_aside_at is None and one.source != "typed in" and one.sheet_id is not None:
            return ChartView("", one.id, f"{one.file_name}, {one.patches} patches")
    return ChartView("", "", "")


def _folder(look: Look, facts: TrialFacts, *, now: datetime) -> FolderView:
    studio, trial_id = facts.studio, facts.trial.id
    path = studio.watched_folder
    here = bool(path) and studio.watched_trial_id == trial_id
    missing = here and not Path(path).expanduser().is_dir()
    notes = refused_notes(look.find(Note, about=trial_id, order=("-at", "id")))
    return FolderView(
        path=path,
        here=here,
        elsewhere=bool(path) and studio.watched_trial_id is not None and not here,
        trouble=f"There is no folder {path} on this computer now." if missing else "",
        refused=tuple(
            RefusedFile(note.id, note.words, moment_short(note.at, time_zone=studio.time_zone, now=now))
            for note in notes
        ),
    )
