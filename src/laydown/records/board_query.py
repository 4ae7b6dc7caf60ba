"""Which printed sheets of running trials still wait for something: a clock, a coat, a reading."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol, TypeVar

from sqlalchemy import Float, Select, and_, case, exists, func, literal, or_, select
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.elements import ColumnElement
from sqlalchemy.sql.functions import FunctionElement

from laydown.records.look import Look
from laydown.records.open_questions import asked_about
from laydown.records.tables import TABLES
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.clocks import GLAZE_BARRIER_HOURS, LONGER_CURE
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.trials.room import RoomNote, note_near
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Candidate, Trial

_SHEET, _EVENT, _READING = TABLES[Sheet], TABLES[SheetEvent], TABLES[Reading]
_CANDIDATE, _TRIAL, _MEDIUM = TABLES[Candidate], TABLES[Trial], TABLES[Medium]
_SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class SheetAlone:
    """A sheet, and as much of its trial as its own clocks and readings ask for."""

    sheet: Sheet
    facts: TrialFacts


def waiting_sheets(look: Look, *, now: datetime, trial_id: str | None = None) -> tuple[SheetAlone, ...]:
    """Sheets that may wait for something, of all running trials or of one, in no particular order.

    A few more than really wait are given: the database asks with upper bounds, and the rules of the clocks
    stay where they are. Sheets that were spoiled, and those of withdrawn candidates, do not wait.
    """
    ids = [row.id for row in look.connection.execute(_waiting(now, trial_id))]
    sheets = look.find_any(Sheet, "id", ids)
    return tuple(_alone(look, sheets))


def sheet_alone(
    sheet: Sheet,
    *,
    studio: Studio,
    trial: Trial,
    candidate: Candidate,
    medium: Medium,
    run: BenchRun | None,
    events: Sequence[SheetEvent],
    readings: Sequence[Reading],
    room: Sequence[RoomNote],
) -> SheetAlone:
    """A sheet by itself, so that asking about it stays quick however many others its trial has.

    ``room`` is what was noted of the room in the whole trial, oldest first.
    """
    printed = next((one.at for one in events if one.kind == "printed"), None)
    near = note_near(room, printed) if printed is not None else None
    return SheetAlone(
        sheet,
        TrialFacts(
            studio=studio,
            trial=trial,
            candidates=(candidate,),
            sheets=(sheet,),
            events=tuple(events),
            runs=() if run is None else (run,),
            readings=tuple(readings),
            media=(medium,),
            room_noted=() if near is None else (near,),
        ),
    )


class _HoursOf(FunctionElement[float]):
    """A moment as hours since 1970, in whatever way a database reckons."""

    type = Float(53)
    inherit_cache = True


@compiles(_HoursOf, "sqlite")
def _hours_on_sqlite(element: _HoursOf, compiler: SQLCompiler, **options: Any) -> str:
    return f"((julianday({compiler.process(element.clauses, **options)}) - 2440587.5) * 24.0)"


@compiles(_HoursOf, "postgresql")
def _hours_on_postgresql(element: _HoursOf, compiler: SQLCompiler, **options: Any) -> str:
    return f"(extract(epoch from {compiler.process(element.clauses, **options)}) / 3600.0)"


def _waiting(now: datetime, trial_id: str | None) -> Select[tuple[str]]:
    printed, coated, spoiled = (_EVENT.alias(name) for name in ("printed", "coated", "spoiled"))
    cure = func.coalesce(_CANDIDATE.c.cure_hours, _TRIAL.c.cure_hours * LONGER_CURE.value)
    dry = func.coalesce(_CANDIDATE.c.dry_hours, _TRIAL.c.dry_hours)
    glaze = case((_MEDIUM.c.barrier.is_(True), GLAZE_BARRIER_HOURS.value), else_=0.0)
    hour = literal(now.timestamp() / _SECONDS_PER_HOUR, Float(53))
    printed_hour, coated_hour = _HoursOf(printed.c.at), _HoursOf(coated.c.at)
    running = or_(printed_hour + cure > hour, printed_hour + glaze > hour, coated_hour + dry > hour)
    read_hour = _HoursOf(func.coalesce(_READING.c.measured_at, _READING.c.received_at))
    settled: ColumnElement[bool] = exists().where(
        _READING.c.sheet_id == _SHEET.c.id,
        _READING.c.set_aside_at.is_(None),
        ~asked_about(_READING.c.doubts),
        read_hour >= printed_hour + cure,
        or_(_CANDIDATE.c.finish == "uncoated", read_hour >= coated_hour + dry),
    )
    gone = exists().where(spoiled.c.sheet_id == _SHEET.c.id, spoiled.c.kind == "spoiled")
    found = (
        select(_SHEET.c.id)
        .join(printed, and_(printed.c.sheet_id == _SHEET.c.id, printed.c.kind == "printed"))
        .join(_CANDIDATE, _CANDIDATE.c.id == _SHEET.c.candidate_id)
        .join(_TRIAL, _TRIAL.c.id == _SHEET.c.trial_id)
        .join(_MEDIUM, _MEDIUM.c.id == _CANDIDATE.c.medium_id)
        .outerjoin(coated, and_(coated.c.sheet_id == _SHEET.c.id, coated.c.kind == "coated"))
        .where(
            _TRIAL.c.closed_at.is_(None),
            _TRIAL.c.removed_at.is_(None),
            _CANDIDATE.c.withdrawn_at.is_(None),
            or_(running, and_(_SHEET.c.use == "test", ~settled)),
            ~gone,
        )
    )
    return found if trial_id is None else found.where(_SHEET.c.trial_id == trial_id)


def _alone(look: Look, sheets: Sequence[Sheet]) -> Iterator[SheetAlone]:
    ids = [sheet.id for sheet in sheets]
    events = by_sheet(look.find_any(SheetEvent, "sheet_id", ids, order=("at", "id")))
    readings = by_sheet(look.find_any(Reading, "sheet_id", ids, order=("received_at", "id")))
    candidates = {one.id: one for one in look.find_any(Candidate, "id", {s.candidate_id for s in sheets})}
    runs = {one.id: one for one in look.find_any(BenchRun, "id", {s.run_id for s in sheets if s.run_id})}
    trials = {one.id: one for one in look.find_any(Trial, "id", {s.trial_id for s in sheets})}
    media = {
        one.id: one for one in look.find_any(Medium, "id", {one.medium_id for one in candidates.values()})
    }
    studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    rooms = _rooms(look, trials)
    for sheet in sheets:
        candidate = candidates[sheet.candidate_id]
        yield sheet_alone(
            sheet,
            studio=studio,
            trial=trials[sheet.trial_id],
            candidate=candidate,
            medium=media[candidate.medium_id],
            run=runs[sheet.run_id] if sheet.run_id else None,
            events=events.get(sheet.id, ()),
            readings=readings.get(sheet.id, ()),
            room=rooms[sheet.trial_id],
        )


def _rooms(look: Look, trial_ids: Collection[str]) -> dict[str, list[RoomNote]]:
    """What was noted of the room in each trial, oldest first."""
    run = TABLES[BenchRun]
    sittings = select(run.c.trial_id, run.c.begun_at, run.c.room_rh).where(
        run.c.trial_id.in_(trial_ids), run.c.room_rh.is_not(None)
    )
    prints = select(_EVENT.c.trial_id, _EVENT.c.at, _EVENT.c.room_rh).where(
        _EVENT.c.trial_id.in_(trial_ids), _EVENT.c.kind == "printed", _EVENT.c.room_rh.is_not(None)
    )
    found: dict[str, list[RoomNote]] = {trial_id: [] for trial_id in trial_ids}
    for wanted in (sittings, prints):
        for trial_id, at, rh in look.connection.execute(wanted):
            found[trial_id].append(RoomNote(at, rh))
    return {trial_id: sorted(notes) for trial_id, notes in found.items()}


class _OfSheet(Protocol):
    @property
    def sheet_id(self) -> str | None: ...


Belonging = TypeVar("Belonging", bound=_OfSheet)


def by_sheet(things: Iterable[Belonging]) -> dict[str, list[Belonging]]:
    """Events or readings by the sheet they belong to, in their order."""
    grouped: dict[str, list[Belonging]] = defaultdict(list)
    for thing in things:
        if thing.sheet_id is not None:
            grouped[thing.sheet_id].append(thing)
    return grouped


@dataclass(frozen=True, slots=True)
class OpenSitting:
    """A sitting that was begun and not ended, in words."""

    run_id: str
    trial_id: str
    trial: str
    candidate: str
    printer: str
    begun_at: datetime


def open_sittings(look: Look, *, trial_id: str | None = None, limit: int = 12) -> tuple[OpenSitting, ...]:
    """Sittings of running trials that are open, the newest first."""
    run, printer = TABLES[BenchRun], TABLES[Printer]
    wanted = (
        select(run.c.id, run.c.trial_id, _TRIAL.c.name, _CANDIDATE.c.name, printer.c.name, run.c.begun_at)
        .join(_TRIAL, _TRIAL.c.id == run.c.trial_id)
        .join(_CANDIDATE, _CANDIDATE.c.id == run.c.candidate_id)
        .join(printer, printer.c.id == run.c.printer_id)
        .where(run.c.ended_at.is_(None), _TRIAL.c.closed_at.is_(None), _TRIAL.c.removed_at.is_(None))
        .order_by(run.c.begun_at.desc(), run.c.id)
        .limit(limit)
    )
    if trial_id is not None:
        wanted = wanted.where(run.c.trial_id == trial_id)
    return tuple(OpenSitting(*row) for row in look.connection.execute(wanted))
