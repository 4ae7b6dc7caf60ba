"""The journal: who did what when; and undoing."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.usecases.undo import undo
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, own_address, person_of
from laydown.web.rendering import page
from laydown.web.views.journal import PAGE_LENGTH, entry_view, journal_view

router = APIRouter()


@router.get("/journal", dependencies=[Depends(allow())])
def journal(
    request: Request,
    trial: str = "",
    thing: str = "",
    number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """The newest acts first: all, of one trial, or about one thing."""
    with desk_of(request).records.look() as look:
        view = journal_view(look, trial_id=trial, record_id=thing, number=number, length=PAGE_LENGTH)
    return page(request, "journal.html", view)


@router.get("/journal/{entry_id}", dependencies=[Depends(allow())])
def entry(request: Request, entry_id: str) -> HTMLResponse:
    """One act with everything it changed."""
    with desk_of(request).records.look() as look:
        view = entry_view(look, entry_id)
    return page(request, "journal_entry.html", view)


@router.post("/journal/{entry_id}/undo", dependencies=[Depends(allow("bench"))])
def take_back(request: Request, entry_id: str, form: Annotated[Form, Depends(posted)]) -> RedirectResponse:
    """Undo one act, and go back to the page it was asked from."""
    back = form.text("back")
    person = person_of(request)
    undoing = undo(desk_of(request).records, entry_id, who=person.name, role=person.role)
    return done(own_address(back) if back else "/journal", undoing)
