"""The later stations, as long as they are not there."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse

from laydown.records.trial_facts import load_facts
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.views.not_yet import not_yet_view
from laydown.web.views.notes import notes_view

router = APIRouter(dependencies=[Depends(allow("bench"))])


def _show(
    request: Request, trial_id: str, station: Literal["look", "last", "cost", "decide", "keep"]
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        notes = notes_view(look, about=trial_id, back=f"/trials/{trial_id}/{station}", studio=facts.studio)
    return page(request, "not_yet.html", not_yet_view(facts, station, notes, now=records.now()))


@router.get("/trials/{trial_id}/look")
def look_at(request: Request, trial_id: str) -> HTMLResponse:
    """Judging by eye."""
    return _show(request, trial_id, "look")


@router.get("/trials/{trial_id}/last")
def last(request: Request, trial_id: str) -> HTMLResponse:
    """Light, brighteners, handling."""
    return _show(request, trial_id, "last")


@router.get("/trials/{trial_id}/cost")
def cost(request: Request, trial_id: str) -> HTMLResponse:
    """Cost of a good print."""
    return _show(request, trial_id, "cost")


@router.get("/trials/{trial_id}/decide")
def decide(request: Request, trial_id: str) -> HTMLResponse:
    """The decision."""
    return _show(request, trial_id, "decide")


@router.get("/trials/{trial_id}/keep")
def keep(request: Request, trial_id: str) -> HTMLResponse:
    """Keeping what was decided."""
    return _show(request, trial_id, "keep")
