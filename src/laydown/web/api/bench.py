"""At the bench: runs, ticks, prints, what happens to sheets, and the board."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Body, Depends, Request

from laydown.records.trial_facts import load_facts
from laydown.trials.checklist import Step
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.begin_run import begin_run, end_run, set_run
from laydown.usecases.bench.board import BoardLine, board
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.run_steps import run_steps
from laydown.usecases.bench.settle_hours import set_hours
from laydown.usecases.bench.sheet_events import LaterKind, correct_event, note_event, take_back_event
from laydown.usecases.bench.spoil_sheet import replace_with_spare, spoil_sheet
from laydown.usecases.bench.tick_step import tick_step, untick_step
from laydown.web.api.changing import Id, OptionalId, Seen
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["bench"], dependencies=[Depends(allow("bench"))])


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRun:
    """What a sitting at the printer begins with."""

    printer_id: str | None = None
    roll_id: str | None = None
    room_c: float | None = None
    room_rh: float | None = None
    begun_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatWasSet:
    """What was really set; None leaves a field as it is."""

    recipe: Recipe | None = None
    roll_id: str | None = None
    room_c: float | None = None
    room_rh: float | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticked:
    """A step done, with what was seen or set; or skipped, and why."""

    value: str = ""
    skipped_why: str = ""
    at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A sheet was printed in a run."""

    run_id: str
    at: datetime | None = None
    room_c: float | None = None
    room_rh: float | None = None
    roll_id: str | None = None
    used_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoiled:
    """A sheet was spoiled; ``replaced`` lets a spare take its place."""

    why: str
    at: datetime | None = None
    replaced: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Coated:
    """Sheets were coated; ``early_why`` says why before they had cured."""

    sheet_ids: tuple[str, ...]
    coat: Coat = field(default_factory=Coat)
    at: datetime | None = None
    room_c: float | None = None
    room_rh: float | None = None
    early_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """Something else happened to a sheet."""

    kind: LaterKind
    at: datetime | None = None
    words: str = ""
    early_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """What an event should have said, and why; None leaves a field as it is."""

    why: str
    at: datetime | None = None
    room_c: float | None = None
    room_rh: float | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """Why an event is taken back."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """How long a candidate's sheets cure and dry; None goes back to the trial's usual time."""

    cure_hours: float | None = None
    dry_hours: float | None = None
    why: str


@router.get("/board")
def the_board(request: Request, trial: OptionalId = None) -> tuple[BoardLine, ...]:
    """What cures, dries, waits for a coat or may be measured now; what changes next comes first."""
    records = desk_of(request).records
    with records.look() as look:
        return board(look, now=records.now(), trial_id=trial)


@router.post("/candidates/{candidate_id}/runs", status_code=201)
def begin(request: Request, candidate_id: Id, new: Annotated[NewRun, Body()]) -> Acted[BenchRun]:
    """Begin a sitting at the printer."""
    return begin_run(
        desk_of(request).records,
        candidate_id,
        who=person_of(request).name,
        printer_id=new.printer_id,
        roll_id=new.roll_id,
        room_c=new.room_c,
        room_rh=new.room_rh,
        begun_at=new.begun_at,
    )


@router.get("/runs/{run_id}/steps")
def steps(request: Request, run_id: Id) -> tuple[Step, ...]:
    """The checklist of a run."""
    with desk_of(request).records.look() as look:
        run = look.get(BenchRun, run_id)
        return run_steps(load_facts(look, run.trial_id), run)


@router.put("/runs/{run_id}/set")
def really_set(
    request: Request, run_id: Id, told: Annotated[WhatWasSet, Body()], seen: Seen = None
) -> Acted[BenchRun]:
    """Record what was really set."""
    return set_run(
        desk_of(request).records,
        run_id,
        who=person_of(request).name,
        recipe=told.recipe,
        roll_id=told.roll_id,
        room_c=told.room_c,
        room_rh=told.room_rh,
        words=told.words,
        seen=seen,
    )


@router.put("/runs/{run_id}/ticks/{step_id}")
def tick(request: Request, run_id: Id, step_id: Id, told: Annotated[Ticked, Body()]) -> Acted[BenchRun]:
    """Tick a step. Sending the same tick again changes nothing."""
    return tick_step(
        desk_of(request).records,
        run_id,
        step_id,
        who=person_of(request).name,
        value=told.value,
        skipped_why=told.skipped_why,
        at=told.at,
    )


@router.delete("/runs/{run_id}/ticks/{step_id}")
def untick(request: Request, run_id: Id, step_id: Id) -> Acted[BenchRun]:
    """Take a tick back."""
    return untick_step(desk_of(request).records, run_id, step_id, who=person_of(request).name)


@router.post("/runs/{run_id}/end")
def end(request: Request, run_id: Id, all_the_same: bool = False) -> Acted[BenchRun]:
    """End a sitting at the printer; ``all_the_same`` though steps are neither ticked nor skipped."""
    records, who = desk_of(request).records, person_of(request).name
    return end_run(records, run_id, who=who, all_the_same=all_the_same)


@router.post("/sheets/{sheet_id}/printed", status_code=201)
def printed(request: Request, sheet_id: Id, told: Annotated[Printed, Body()]) -> Acted[SheetEvent]:
    """A sheet was printed; its clock starts."""
    return print_sheet(
        desk_of(request).records,
        sheet_id,
        run_id=told.run_id,
        who=person_of(request).name,
        at=told.at,
        room_c=told.room_c,
        room_rh=told.room_rh,
        roll_id=told.roll_id,
        used_mm=told.used_mm,
    )


@router.post("/sheets/{sheet_id}/spoiled", status_code=201)
def spoiled(request: Request, sheet_id: Id, told: Annotated[Spoiled, Body()]) -> Acted[SheetEvent]:
    """A sheet was spoiled."""
    records, who = desk_of(request).records, person_of(request).name
    return spoil_sheet(records, sheet_id, why=told.why, who=who, at=told.at, replaced=told.replaced)


@router.post("/sheets/{sheet_id}/replace", status_code=201)
def replace(request: Request, sheet_id: Id) -> Acted[Sheet]:
    """Let a spare take the place of a spoiled sheet."""
    return replace_with_spare(desk_of(request).records, sheet_id, who=person_of(request).name)


@router.post("/sheets/{sheet_id}/events", status_code=201)
def happened(request: Request, sheet_id: Id, told: Annotated[Happened, Body()]) -> Acted[SheetEvent]:
    """Note what else happened to a sheet."""
    return note_event(
        desk_of(request).records,
        sheet_id,
        kind=told.kind,
        who=person_of(request).name,
        at=told.at,
        words=told.words,
        early_why=told.early_why,
    )


@router.put("/events/{event_id}")
def correct(
    request: Request, event_id: Id, told: Annotated[Corrected, Body()], seen: Seen = None
) -> Acted[SheetEvent]:
    """Correct an event; the journal keeps both."""
    return correct_event(
        desk_of(request).records,
        event_id,
        why=told.why,
        who=person_of(request).name,
        at=told.at,
        room_c=told.room_c,
        room_rh=told.room_rh,
        words=told.words,
        seen=seen,
    )


@router.post("/events/{event_id}/take-back")
def take_back(request: Request, event_id: Id, told: Annotated[TakenBack, Body()]) -> Acted[Sheet]:
    """Take an event back that never happened."""
    records, who = desk_of(request).records, person_of(request).name
    return take_back_event(records, event_id, why=told.why, who=who)


@router.post("/trials/{trial_id}/coat", status_code=201)
def coated(request: Request, trial_id: Id, told: Annotated[Coated, Body()]) -> Acted[tuple[SheetEvent, ...]]:
    """Sheets were coated; their drying clock starts. Follow the coating's data sheet and local rules."""
    return coat_sheets(
        desk_of(request).records,
        trial_id,
        told.sheet_ids,
        told.coat,
        who=person_of(request).name,
        at=told.at,
        room_c=told.room_c,
        room_rh=told.room_rh,
        early_why=told.early_why,
    )


@router.put("/candidates/{candidate_id}/hours")
def hours(
    request: Request, candidate_id: Id, told: Annotated[Hours, Body()], seen: Seen = None
) -> Acted[Candidate]:
    """Say how long a candidate's sheets cure and dry."""
    return set_hours(
        desk_of(request).records,
        candidate_id,
        cure_hours=told.cure_hours,
        dry_hours=told.dry_hours,
        why=told.why,
        who=person_of(request).name,
        seen=seen,
    )
