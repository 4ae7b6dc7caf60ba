"""Put a complete invented trial into the records, to look around in before there is one of one's own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID
from laydown.records.work import Work
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.recipe import Coat
from laydown.trials.remarks import Attachment, AttachmentKind
from laydown.trials.sheets import Sheet
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate, Plan, Trial
from laydown.usecases.acted import Acted
from laydown.usecases.demo_trial import demo_chart, demo_media
from laydown.usecases.trial.seed_demo_course import DemoCourse, demo_course
from laydown.usecases.trial.seed_demo_files import (
    DRIFT_HOURS,
    TOO_EARLY_HOURS,
    DemoFile,
    demo_files,
    early_files,
)
from laydown.usecases.trial.seed_demo_gloss import BEFORE_COATING, DemoGloss, demo_gloss
from laydown.usecases.trial.seed_demo_picture import chart_picture, hook_picture
from laydown.usecases.trial.seed_demo_stock import (
    LOT_IDS,
    MEDIUM_IDS,
    PRINTER_ID,
    ROLL_IDS,
    WITHY,
    DemoStock,
    demo_recipe,
    demo_stock,
)
from laydown.usecases.trial.seed_demo_words import (
    OWNER,
    QUESTION,
    demo_brief,
    demo_brief_changes,
    demo_notes,
    demo_retrace,
)

DEMO_TRIAL_ID = "demo-trial"
DEMO_NAME = "Saltmarsh Print Room (invented): a medium for the 2026 editions"
CHART_NAME = "Laydown demonstration chart.png"
INSTRUMENT = "bench spectrophotometer (invented)"
_HOUSE, _TIDEMILL, _GULLWING, _SAMPHIRE, _WITHY = (demo.name for demo in demo_media())
_KEYS = dict(zip((_HOUSE, _TIDEMILL, _GULLWING, _SAMPHIRE, _WITHY), MEDIUM_IDS, strict=True))
_COATED_ARM = f"{_WITHY}, coated"


@dataclass(frozen=True, slots=True)
class _Content:
    """A file that lies in the vault."""

    name: str
    sha256: str
    size: int


def seed_demo(records: Records, *, who: str = "demo") -> Acted[Trial]:
    """Put the demo trial into the records, or give the one that is there; one in the trash is brought back.

    One entry of the journal, which can be undone. The studio's settings stay as they are. Everything that
    has a name says that it is invented; measured values are those of the demo on files.
    """
    with records.look() as look:
        there = look.seek(Trial, DEMO_TRIAL_ID)
    if there is not None:
        return _bring_back(records, who=who) if there.removed_at else Acted(there, "")
    chart, photograph = _keep_pictures(records)
    facts = _planned(demo_stock(), chart)
    course = demo_course(
        facts,
        spoiled_candidate=_candidate_id(_GULLWING),
        added={_candidate_id(_HOUSE): 1, _candidate_id(_TIDEMILL): 1},
    )
    readings = tuple(_readings(records, course))
    with records.work("opened", who=who, trial_id=DEMO_TRIAL_ID, words="the demo trial") as work:
        if work.seek(Trial, DEMO_TRIAL_ID) is None:  # somebody else may have opened it meanwhile
            _keep(work, demo_stock(), facts, course, readings, chart, photograph)
        return Acted(work.get(Trial, DEMO_TRIAL_ID), work.entry_id)


def _bring_back(records: Records, *, who: str) -> Acted[Trial]:
    with records.work("brought back", who=who, trial_id=DEMO_TRIAL_ID, words="the demo trial") as work:
        trial = replace(work.get(Trial, DEMO_TRIAL_ID), removed_at=None)
        return Acted(work.change(trial), work.entry_id)


def _keep_pictures(records: Records) -> tuple[_Content, _Content]:
    chart = chart_picture(demo_chart())
    photograph = hook_picture(rng=np.random.default_rng(1))
    return (
        _Content(CHART_NAME, records.vault.keep(chart), len(chart)),
        _Content("withy-wedge-invented.png", records.vault.keep(photograph), len(photograph)),
    )


def _candidate_id(name: str) -> str:
    return f"demo-candidate-{'withy-coated' if name == _COATED_ARM else _KEYS[name]}"


def _planned(stock: DemoStock, chart: _Content) -> TrialFacts:
    """The trial as it stood when its order was drawn."""
    brief = demo_brief(DEMO_TRIAL_ID)
    return TrialFacts(
        studio=Studio(id=STUDIO_ID),
        trial=Trial(
            id=DEMO_TRIAL_ID,
            name=DEMO_NAME,
            question=QUESTION,
            client="own editions (invented)",
            begun=date(2026, 2, 2),
            chart_name=CHART_NAME,
            chart_sha256=chart.sha256,
            invented=True,
        ),
        brief=brief,
        brief_changes=demo_brief_changes(brief),
        plan=Plan(
            id="demo-plan",
            trial_id=DEMO_TRIAL_ID,
            sheets_per_candidate=3,
            why="Three give a first idea of the spread; one more of the two cottons, which are much alike.",
            days=2,
            seed=20260206,
            first_day=date(2026, 2, 9),
            sheet_length_mm=483.0,
            sheet_width_mm=329.0,
            spare_sheets=1,
            drawn_at=datetime(2026, 2, 6, 16, 0, tzinfo=UTC),
        ),
        candidates=tuple(_candidates(chart)),
        media=stock.media,
        lots=stock.lots,
        rolls=stock.rolls,
        printers=(stock.printer,),
    )


def _candidates(chart: _Content) -> Iterator[Candidate]:
    for position, (demo, key) in enumerate(zip(demo_media(), _KEYS.values(), strict=True), start=1):
        yield Candidate(
            id=_candidate_id(demo.name),
            trial_id=DEMO_TRIAL_ID,
            medium_id=MEDIUM_IDS[key],
            name=demo.name,
            house=position == 1,
            position=position,
            lot_id=LOT_IDS[key],
            roll_id=ROLL_IDS[key],
            printer_id=PRINTER_ID,
            recipe=demo_recipe(key, chart_name=chart.name, chart_sha256=chart.sha256),
            cure_hours=24.0 if demo.name == _SAMPHIRE else None,
            words=demo.note,
        )
    yield Candidate(
        id=_candidate_id(_COATED_ARM),
        trial_id=DEMO_TRIAL_ID,
        medium_id=MEDIUM_IDS[WITHY],
        name=_COATED_ARM,
        position=len(_KEYS) + 1,
        lot_id=LOT_IDS[WITHY],
        roll_id=ROLL_IDS[WITHY],
        printer_id=PRINTER_ID,
        finish="coated",
        coat=Coat(
            product="Mudflat water-based satin (invented)",
            batch="26-01",
            dilution="none",
            tool="foam roller",
            coats=2,
            wet_g_m2=190.0,
            flow_cup_seconds=25.0,
        ),
        twin_id=_candidate_id(_WITHY),
        recipe=demo_recipe(WITHY, chart_name=chart.name, chart_sha256=chart.sha256),
        words="Invented. The coated arm of the canvas; its gloss was read, its chart waits to be measured.",
    )


def _measured_sheets(course: DemoCourse) -> dict[str, list[Sheet]]:
    """The test sheets that were not spoiled, by candidate, in the order they were printed."""
    codes = {event.sheet_id: event.at for event in course.events if event.kind == "printed"}
    spoiled = {event.sheet_id for event in course.events if event.kind == "spoiled"}
    found: dict[str, list[Sheet]] = defaultdict(list)
    for sheet in sorted(
        course.sheets, key=lambda one: (codes.get(one.id, datetime.max.replace(tzinfo=UTC)), one.id)
    ):
        if sheet.use == "test" and sheet.id in codes and sheet.id not in spoiled:
            found[sheet.candidate_id].append(sheet)
    return found


def _readings(records: Records, course: DemoCourse) -> Iterator[Reading]:
    """Every reading, its file put away: those of the comparison, a series of one sheet, one too early."""
    by_candidate = _measured_sheets(course)
    printed_at = {event.sheet_id: event.at for event in course.events if event.kind == "printed"}
    sheets = {name: by_candidate[_candidate_id(name)] for name in _KEYS}
    files = tuple(
        demo_files(
            {name: [printed_at[one.id] for one in own] for name, own in sheets.items()},
            {name: [one.code for one in own] for name, own in sheets.items()},
        )
    )
    early: list[DemoFile] = []
    for name, hours in ((_SAMPHIRE, DRIFT_HOURS), (_GULLWING, (TOO_EARLY_HOURS,))):
        settled = next(file for file in files if file.candidate == name and file.conditions == ("M1",))
        early += early_files(settled, printed_at=printed_at[sheets[name][0].id], hours=hours)
    for number, file in enumerate((*early, *files), start=1):
        sheet = sheets[file.candidate][file.sheet - 1]
        yield _reading(records, file, sheet, f"demo-reading-{number}")


def _reading(records: Records, file: DemoFile, sheet: Sheet, reading_id: str) -> Reading:
    sha256 = records.vault.keep(file.content)
    return Reading(
        id=reading_id,
        trial_id=DEMO_TRIAL_ID,
        sheet_id=sheet.id,
        source="dropped",
        file_name=file.name,
        file_sha256=sha256,
        received_at=file.measured_at + timedelta(minutes=5),
        measured_at=file.measured_at,
        instrument=INSTRUMENT,
        conditions=file.conditions,
        patches=len(demo_chart()),
        by=OWNER,
    )


def _gloss(course: DemoCourse) -> Iterator[GlossReading]:
    """What a borrowed meter showed of two matte papers, the gloss, and the canvas bare and coated."""
    canvas, coated = _candidate_id(_WITHY), _candidate_id(_COATED_ARM)
    arms = (
        DemoGloss(coated, white=4.3, black=3.4, at=BEFORE_COATING),
        DemoGloss(_candidate_id(_HOUSE), white=3.1, black=2.5),
        DemoGloss(_candidate_id(_GULLWING), white=2.7, black=3.4, sheets=2),
        DemoGloss(_candidate_id(_SAMPHIRE), white=54.0, black=63.0),
        DemoGloss(canvas, white=4.6, black=3.6),
        DemoGloss(coated, white=33.0, black=36.0),
    )
    return demo_gloss(arms, _measured_sheets(course), trial_id=DEMO_TRIAL_ID, by=OWNER)


def _keep(
    work: Work,
    stock: DemoStock,
    facts: TrialFacts,
    course: DemoCourse,
    readings: tuple[Reading, ...],
    chart: _Content,
    photograph: _Content,
) -> None:
    for reading in readings:
        size = work.vault.size(reading.file_sha256)
        assert size is not None  # put away a moment ago
        work.note_file(reading.file_sha256, size)
    for content in (chart, photograph):
        work.note_file(content.sha256, content.size)
    things: list[Any] = [
        *stock.suppliers, *stock.media, *stock.lots, *stock.rolls, *stock.certificates, stock.printer,
        *stock.printer_events, facts.trial, facts.brief, *facts.brief_changes, *facts.candidates, facts.plan,
        *course.runs, *course.sheets, *course.events, *readings, *_gloss(course), *course.uses,
    ]  # fmt: skip
    for thing in (*things, *_remarks(course, chart, photograph)):
        work.add(thing)


def _remarks(course: DemoCourse, chart: _Content, photograph: _Content) -> Iterator[Any]:
    by_candidate = _measured_sheets(course)
    canvas = by_candidate[_candidate_id(_WITHY)][0]
    spoiled = next(event.sheet_id for event in course.events if event.kind == "spoiled")
    yield from demo_notes(
        DEMO_TRIAL_ID,
        gullwing_id=_candidate_id(_GULLWING),
        samphire_id=_candidate_id(_SAMPHIRE),
        early_sheet_id=by_candidate[_candidate_id(_GULLWING)][0].id,
        spoiled_sheet_id=spoiled,
    )
    at = datetime(2026, 2, 12, 10, 20, tzinfo=UTC)
    yield _attachment(
        "demo-chart", "chart", chart, about=DEMO_TRIAL_ID, at=at, words="What every sheet carries."
    )
    seen = "Stands for a photograph; drawn by a program. The two darkest steps turn cloudy."
    yield _attachment("demo-photograph", "photograph", photograph, about=canvas.id, at=at, words=seen)
    yield demo_retrace(DEMO_TRIAL_ID, sheet_id=canvas.id)


def _attachment(
    attachment_id: str, kind: AttachmentKind, content: _Content, *, about: str, at: datetime, words: str
) -> Attachment:
    return Attachment(
        id=attachment_id,
        trial_id=DEMO_TRIAL_ID,
        about=about,
        kind=kind,
        name=content.name,
        media_type="image/png",
        size=content.size,
        sha256=content.sha256,
        at=at,
        by=OWNER,
        words=words,
    )
