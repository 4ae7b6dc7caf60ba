"""Gloss readings: typed in, set aside, let in early."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Body, Depends, Request
from pydantic import AwareDatetime

from laydown.records.trial_facts import load_facts
from laydown.trials.measured import GlossDirection, GlossReading
from laydown.usecases.acted import Acted
from laydown.usecases.measuring.gloss_aside import (
    bring_gloss_back,
    leave_out_early_gloss,
    set_gloss_aside,
    use_early_gloss,
)
from laydown.usecases.measuring.standings import GlossStanding, gloss_standings
from laydown.usecases.measuring.type_gloss import TypedGloss, type_gloss
from laydown.web.api.changing import Id, Seen
from laydown.web.api.measuring import Why
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["gloss"], dependencies=[Depends(allow("bench"))])


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a gloss meter showed at one place: repeats in gloss units, the angle in degrees.

    ``confirmed`` says that what looks mistyped is typed as it was read; ``early_why`` lets a reading in that
    was taken before the sheet had settled.
    """

    place: str
    angle: int
    values: tuple[float, ...]
    direction: GlossDirection = ""
    instrument: str = ""
    measured_at: AwareDatetime | None = None
    confirmed: bool = False
    early_why: str = ""


@router.get("/trials/{trial_id}/gloss")
def gloss(request: Request, trial_id: Id) -> tuple[GlossStanding, ...]:
    """Every gloss reading, how old its print was, and whether comparisons use it."""
    with desk_of(request).records.look() as look:
        return gloss_standings(load_facts(look, trial_id))


@router.post("/sheets/{sheet_id}/gloss", status_code=201)
def read(request: Request, sheet_id: Id, told: Annotated[Shown, Body()]) -> Acted[GlossReading]:
    """Keep what a gloss meter showed on a sheet."""
    typed = TypedGloss(
        place=told.place,
        angle=told.angle,
        values=told.values,
        direction=told.direction,
        instrument=told.instrument[:200],
        measured_at=told.measured_at,
    )
    return type_gloss(
        desk_of(request).records,
        sheet_id,
        typed,
        who=person_of(request).name,
        confirmed=told.confirmed,
        early_why=told.early_why,
    )


@router.post("/gloss/{gloss_id}/set-aside")
def aside(
    request: Request, gloss_id: Id, told: Annotated[Why, Body()], seen: Seen = None
) -> Acted[GlossReading]:
    """Keep a gloss reading out of comparisons."""
    records, who = desk_of(request).records, person_of(request).name
    return set_gloss_aside(records, gloss_id, why=told.why, who=who, seen=seen)


@router.post("/gloss/{gloss_id}/bring-back")
def back(request: Request, gloss_id: Id, seen: Seen = None) -> Acted[GlossReading]:
    """Let a gloss reading into comparisons again."""
    return bring_gloss_back(desk_of(request).records, gloss_id, who=person_of(request).name, seen=seen)


@router.post("/gloss/{gloss_id}/use-early")
def use_early(
    request: Request, gloss_id: Id, told: Annotated[Why, Body()], seen: Seen = None
) -> Acted[GlossReading]:
    """Use a gloss reading that was taken too early all the same; by whom and why is shown with the date."""
    records, who = desk_of(request).records, person_of(request).name
    return use_early_gloss(records, gloss_id, why=told.why, who=who, seen=seen)


@router.post("/gloss/{gloss_id}/leave-out")
def leave_out(request: Request, gloss_id: Id, seen: Seen = None) -> Acted[GlossReading]:
    """Leave an early gloss reading out again."""
    return leave_out_early_gloss(desk_of(request).records, gloss_id, who=person_of(request).name, seen=seen)
