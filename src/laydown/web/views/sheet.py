"""What the page of a sheet shows: its identity, what happened to it, its clocks, readings and label."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.records.journal import Entry
from laydown.records.look import Look
from laydown.report.lengths import length_words
from laydown.report.moments import moment_field, moment_words
from laydown.trials.clocks import sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Lot, Roll, RollUse
from laydown.usecases.bench.spoil_sheet import was_replaced
from laydown.usecases.measuring.standings import standing_of
from laydown.web.room_climate import degree_sign, room_words
from laydown.web.views.gloss import GlossPart, gloss_part
from laydown.web.views.notes import NotesView, notes_view
from laydown.web.views.reading_lines import STATE_WORDS
from laydown.web.views.settle import EarlyForm, early_form
from laydown.web.views.sheet_identity import (
    IdentityGroup,
    coat_words,
    recipe_of,
    sheet_identity,
    turn_in_sitting,
)
from laydown.web.views.sheet_lines import STAGES, ClockView, DeedView, clock_view, deeds_of, hours_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

_LOOKED_BACK = 50
LONGEST_IN_HOURS = 48


@dataclass(frozen=True, slots=True)
class Happened:
    """Something that happened to a sheet. ``corrected`` says what stood there before, and why it changed."""

    id: str
    kind: str
    when: str
    by: str
    room: str
    words: str
    corrected: tuple[str, ...]
    at_field: str
    seen: int


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading of the sheet; ``fate`` is whether it goes into comparisons."""

    file_name: str
    when: str
    age: str
    instrument: str
    conditions: str
    patches: int
    fate: str
    used: bool


@dataclass(frozen=True, slots=True)
class TakenView:
    """What the sheet took from its roll or box."""

    words: str
    value: str
    by_length: bool
    seen: int


@dataclass(frozen=True, slots=True)
class SheetView:
    """The page of a sheet. ``problem`` is why a form was refused, "" where none was."""

    frame: TrialFrame
    trial_id: str
    id: str
    code: str
    candidate: str
    use: str
    turn: str
    stage: str
    spoiled: bool
    printed: bool
    replaceable: bool
    problem: str
    clock: ClockView | None
    deeds: tuple[DeedView, ...]
    hours: str
    happened: tuple[Happened, ...]
    identity: tuple[IdentityGroup, ...]
    readings: tuple[ReadingLine, ...]
    early: EarlyForm
    gloss: GlossPart
    drift: bool
    run_id: str
    open_run: str
    taken: TakenView | None
    label: str
    may_coat: bool
    degrees: str
    notes: NotesView
    words: str


def sheet_view(look: Look, facts: TrialFacts, sheet: Sheet, *, now: datetime, problem: str = "") -> SheetView:
    """The page of a sheet."""
    zone = facts.studio.time_zone
    candidate = facts.candidate(sheet.candidate_id)
    clocks = sheet_clocks(facts, sheet, now=now)
    events = facts.events_of(sheet.id)
    spoiled = next((event for event in events if event.kind == "spoiled"), None)
    readings = facts.readings_of(sheet.id)
    here = f"/trials/{facts.trial.id}/sheets/{sheet.id}"
    return SheetView(
        frame=trial_frame(facts, now=now, here="print"),
        trial_id=facts.trial.id,
        id=sheet.id,
        code=sheet.code,
        candidate=candidate.name,
        use=sheet.use,
        turn=_turn(sheet),
        stage=STAGES[clocks.stage],
        spoiled=spoiled is not None,
        printed=clocks.printed_at is not None,
        replaceable=spoiled is not None and sheet.use != "spare" and not was_replaced(sheet, spoiled),
        problem=problem,
        clock=clock_view(clocks, now=now, time_zone=zone),
        deeds=deeds_of(clocks, now=now, time_zone=zone),
        hours=hours_words(clocks, finish=candidate.finish),
        happened=tuple(_happened(look, facts, event) for event in events),
        identity=sheet_identity(look, facts, sheet, clocks, now=now),
        readings=tuple(_reading(facts, reading) for reading in readings),
        early=early_form(look, facts, readings, now=now),
        gloss=gloss_part(look, facts, sheet, now=now),
        drift=len(readings) >= 2,
        run_id=sheet.run_id or "",
        open_run=next(
            (run.id for run in facts.runs if run.candidate_id == candidate.id and run.ended_at is None), ""
        ),
        taken=_taken(look, facts, events),
        label=label_text(look, facts, sheet),
        may_coat=candidate.finish == "coated" and clocks.printed_at is not None and clocks.coated_at is None,
        degrees=degree_sign(facts.studio.units),
        notes=notes_view(look, about=sheet.id, back=here, studio=facts.studio),
        words=sheet.words,
    )


def _turn(sheet: Sheet) -> str:
    if sheet.place:
        return f"day {sheet.day}, turn {sheet.place}"
    return "its turn went to a spare" if sheet.use == "test" else "beside the order"


def label_text(look: Look, facts: TrialFacts, sheet: Sheet) -> str:
    """What to write on the back, in pencil: code, medium, lot, setting, time, print number."""
    candidate = facts.candidate(sheet.candidate_id)
    run = next((one for one in facts.runs if one.id == sheet.run_id), None)
    roll = look.seek(Roll, sheet.roll_id or candidate.roll_id)
    lot = look.seek(Lot, roll.lot_id if roll else candidate.lot_id)
    recipe = recipe_of(facts, sheet, run)
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    setting = ", ".join(part for part in (recipe.media_setting, recipe.quality) if part)
    turn = turn_in_sitting(facts, sheet, run)
    form = "box" if roll and roll.form == "sheets" else "roll"
    return "\n".join(
        (
            f"{sheet.code}   {facts.trial.name}",
            candidate.name,
            f"lot {lot.code if lot else '______'}   {form} {roll.code if roll and roll.code else '______'}",
            f"setting {setting or '______'}",
            moment_words(printed.at, time_zone=facts.studio.time_zone) if printed else "printed ______",
            f"print {turn} of its sitting" if turn else "print ______ of its sitting",
        )
    )


def _happened(look: Look, facts: TrialFacts, event: SheetEvent) -> Happened:
    zone, units = facts.studio.time_zone, facts.studio.units
    told = ", ".join(part for part in (coat_words(event.coat), event.words) if part)
    room = ""
    if event.room_c is not None or event.room_rh is not None:
        room = room_words(event.room_c, event.room_rh, units=units)
    return Happened(
        id=event.id,
        kind=event.kind,
        when=moment_words(event.at, time_zone=zone),
        by=event.by,
        room=room,
        words=told,
        corrected=tuple(
            _correction(entry, event, zone)
            for entry in look.entries(record_id=event.id, limit=_LOOKED_BACK)
            if entry.action == "corrected"
        ),
        at_field=moment_field(event.at, time_zone=zone),
        seen=look.revision(SheetEvent, event.id),
    )


def _correction(entry: Entry, event: SheetEvent, zone: str) -> str:
    """What stood there before a correction, by whom and why it was made."""
    changed = (one for one in entry.changes if one.id == event.id and one.noun == "SheetEvent")
    before = next((one.before or {} for one in changed), {})
    told = before.get("at")
    was = f"before: {moment_words(datetime.fromisoformat(told), time_zone=zone)}; " if told else ""
    why = entry.words.partition(": ")[2]
    return f"Corrected {moment_words(entry.at, time_zone=zone)} by {entry.who}; {was}{why}"


def _reading(facts: TrialFacts, reading: Reading) -> ReadingLine:
    one = standing_of(facts, reading)
    fate = STATE_WORDS[one.state] + (f": {one.words}" if one.state == "set aside" else "")
    return ReadingLine(
        file_name=reading.file_name,
        when=moment_words(reading.measured_at or reading.received_at, time_zone=facts.studio.time_zone)
        + ("" if reading.measured_at else " (when it was handed in)"),
        age=_age(one.age.hours if one.age else None),
        instrument=reading.instrument,
        conditions=", ".join(reading.conditions),
        patches=reading.patches,
        fate=fate,
        used=one.used,
    )


def _age(hours: float | None) -> str:
    if hours is None:
        return ""
    return f"{hours:.1f} h" if hours < LONGEST_IN_HOURS else f"{hours / 24:.1f} days"


def _taken(look: Look, facts: TrialFacts, events: tuple[SheetEvent, ...]) -> TakenView | None:
    printed = next((event for event in events if event.kind == "printed"), None)
    use = look.seek(RollUse, printed.id) if printed else None
    if use is None:
        return None
    words = (
        length_words(use.length_mm, units=facts.studio.units)
        if use.length_mm is not None
        else f"{use.sheets} sheet{'' if use.sheets == 1 else 's'}"
    )
    value = words if use.length_mm is not None else str(use.sheets or "")
    return TakenView(words, value, use.length_mm is not None, look.revision(RollUse, use.id))
