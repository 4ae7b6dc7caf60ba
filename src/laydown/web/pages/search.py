"""Search over everything that is kept."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse

from laydown.records.search_query import KINDS, FoundKind
from laydown.usecases.trial.search import search
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.search import OF_THE_BENCH, search_view

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/search")
def look_for(
    request: Request,
    q: Annotated[str, Query(max_length=400)] = "",
    kind: FoundKind | None = None,
    number: Annotated[int, Query(alias="page", ge=1, le=10_000)] = 1,
) -> HTMLResponse:
    """Some of everything that holds the words; or, of one kind, all of it page by page."""
    mine = KINDS if person_of(request).role == "owner" else tuple(one for one in KINDS if one in OF_THE_BENCH)
    wanted = mine if kind is None else tuple(one for one in mine if one == kind)
    finds = search(desk_of(request).records, q, kinds=wanted, number=number)
    return page(request, "search.html", search_view(finds, query=q, kind=kind, number=number))
