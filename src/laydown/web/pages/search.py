"""Search over everything that is kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse

from laydown.records.search_kinds import FoundKind
from laydown.usecases.trial.search import kinds_for, search
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.search import search_view

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/search")
def look_for(
    request: Request,
    q: Annotated[str, Query(max_length=400)] = "",
    kind: FoundKind | None = None,
    number: Annotated[int, Query(alias="page", ge=1, le=10_000)] = 1,
) -> HTMLResponse:
    """Some of everything that holds the words; or, of one kind, all of it page by page."""
    role = person_of(request).role
    finds = search(desk_of(request).records, q, role=role, kind=kind, number=number)
    has_journal = "entry" in kinds_for(role)
    view = search_view(finds, query=q, kind=kind, number=number, has_journal=has_journal)
    return page(request, "search.html", view)
