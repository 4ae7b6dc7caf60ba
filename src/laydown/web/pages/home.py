"""The first page: what to do next, across all trials; and the demo trial on one click."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import RedirectResponse, Response

from laydown.records.trial_list_query import TrialShelf
from laydown.usecases.trial.list_trials import list_trials
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.web.desk import desk_of
from laydown.web.forms import done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.home import home_view

router = APIRouter()


@router.get("/", dependencies=[Depends(allow("bench"))])
def home(
    request: Request,
    shelf: TrialShelf = "running",
    number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1,
) -> Response:
    """Running trials with their next step, or the trials of another shelf; the bench begins at the board."""
    if person_of(request).role != "owner":
        return RedirectResponse("/board", status_code=303)
    records = desk_of(request).records
    told = list_trials(records, shelf=shelf, number=number)
    return page(request, "home.html", home_view(told, now=records.now(), demo_id=DEMO_TRIAL_ID))


@router.post("/demo", dependencies=[Depends(allow()), Depends(posted)])
def open_demo(request: Request) -> RedirectResponse:
    """The demo trial, put into the records on first need."""
    acted = seed_demo(desk_of(request).records, who=person_of(request).name)
    address = f"/trials/{acted.thing.id}"
    return done(address, acted.entry_id) if acted.entry_id else RedirectResponse(address, status_code=303)
