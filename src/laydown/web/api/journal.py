"""The journal, and undoing."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request

from laydown.records.journal import Entry
from laydown.usecases.acted import Acted
from laydown.usecases.undo import undo
from laydown.web.api.answers import Listed
from laydown.web.api.changing import Id, Limit, OptionalId, Page
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["journal"])


@router.get("/journal", dependencies=[Depends(allow())])
def journal(
    request: Request, trial: OptionalId = None, thing: OptionalId = None, page: Page = 1, limit: Limit = 50
) -> Listed[Entry]:
    """The newest acts first: all, of one trial, or about one thing."""
    with desk_of(request).records.look() as look:
        found = look.entries(trial_id=trial, record_id=thing, limit=limit + 1, offset=(page - 1) * limit)
    return Listed(found[:limit], page, len(found) > limit)


@router.post("/journal/{entry_id}/undo", dependencies=[Depends(allow("bench"))])
def take_back(request: Request, entry_id: Id) -> Acted[str]:
    """Undo one act, by others than the owner one of their own; the answer names it and what undid it."""
    records, person = desk_of(request).records, person_of(request)
    return Acted(entry_id, undo(records, entry_id, who=person.name, role=person.role))
