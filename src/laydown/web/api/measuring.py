"""Readings: handed in, placed, timed, set aside."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Body, Depends, File, Form, Request, UploadFile

from laydown.kernel.errors import TooLarge
from laydown.records.trial_facts import load_facts
from laydown.trials.measured import Reading
from laydown.usecases.acted import Acted
from laydown.usecases.bench.early_readings import leave_out_reading, use_early_reading
from laydown.usecases.measuring.attach_readings import TakenIn, attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.place_reading import place_reading, time_reading
from laydown.usecases.measuring.set_aside import bring_back, set_aside
from laydown.usecases.measuring.standings import Standing, standings
from laydown.web.api.changing import Id, Seen
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["measuring"], dependencies=[Depends(allow("bench"))])


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """The sheet a reading was taken of; None where it is not known."""

    sheet_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Time:
    """When a reading was taken; None where it is not known."""

    measured_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Why."""

    why: str


@router.get("/trials/{trial_id}/readings")
def readings(request: Request, trial_id: Id) -> tuple[Standing, ...]:
    """Every reading, how old its print was, and whether comparisons use it."""
    with desk_of(request).records.look() as look:
        return standings(load_facts(look, trial_id))


@router.post("/trials/{trial_id}/readings", status_code=201)
def attach(
    request: Request,
    trial_id: Id,
    files: Annotated[list[UploadFile], File(description="Measurement files.")],
    sheet_id: Annotated[str | None, Form(max_length=64)] = None,
    measured_at: Annotated[datetime | None, Form()] = None,
) -> Acted[TakenIn]:
    """Hand measurement files in; without ``sheet_id`` the sheet's code is looked for in each name."""
    desk = desk_of(request)
    limit = desk.store.limits.file_bytes
    handed = []
    for file in files:
        content = file.file.read(limit + 1)
        if len(content) > limit:
            raise TooLarge(f"it is larger than {limit // 2**20} MB.", file=file.filename or "")
        handed.append(HandedIn(file.filename or "readings", content))
    return attach_readings(
        desk.records,
        trial_id,
        handed,
        who=person_of(request).name,
        sheet_id=sheet_id,
        measured_at=measured_at,
    )


@router.put("/readings/{reading_id}/sheet")
def place(
    request: Request, reading_id: Id, told: Annotated[Place, Body()], seen: Seen = None
) -> Acted[Reading]:
    """Say which sheet a reading was taken of."""
    records, who = desk_of(request).records, person_of(request).name
    return place_reading(records, reading_id, told.sheet_id, who=who, seen=seen)


@router.put("/readings/{reading_id}/time")
def time(
    request: Request, reading_id: Id, told: Annotated[Time, Body()], seen: Seen = None
) -> Acted[Reading]:
    """Say when a reading was taken."""
    records, who = desk_of(request).records, person_of(request).name
    return time_reading(records, reading_id, told.measured_at, who=who, seen=seen)


@router.post("/readings/{reading_id}/set-aside")
def aside(
    request: Request, reading_id: Id, told: Annotated[Why, Body()], seen: Seen = None
) -> Acted[Reading]:
    """Keep a reading out of comparisons."""
    records, who = desk_of(request).records, person_of(request).name
    return set_aside(records, reading_id, why=told.why, who=who, seen=seen)


@router.post("/readings/{reading_id}/bring-back")
def back(request: Request, reading_id: Id, seen: Seen = None) -> Acted[Reading]:
    """Let a reading into comparisons again."""
    return bring_back(desk_of(request).records, reading_id, who=person_of(request).name, seen=seen)


@router.post("/readings/{reading_id}/use-early")
def use_early(request: Request, reading_id: Id, told: Annotated[Why, Body()]) -> Acted[Reading]:
    """Use a reading that was taken too early all the same; by whom and why is shown with the date."""
    records, who = desk_of(request).records, person_of(request).name
    return use_early_reading(records, reading_id, why=told.why, who=who)


@router.post("/readings/{reading_id}/leave-out")
def leave_out(request: Request, reading_id: Id) -> Acted[Reading]:
    """Leave an early reading out again."""
    return leave_out_reading(desk_of(request).records, reading_id, who=person_of(request).name)
