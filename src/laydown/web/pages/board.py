"""The board: every clock of every running trial, and what may be done now."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse

from laydown.records.board_query import open_sittings
from laydown.records.trial_facts import STUDIO_ID
from laydown.records.trial_list_query import trial_ids
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.bench.board import board
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.views.board import board_view

router = APIRouter()
MOST_TABS = 12


@router.get("/board", dependencies=[Depends(allow("bench"))])
def show_board(
    request: Request,
    trial: str = "",
    number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """What can be done now, then what changes next; of all trials or of one."""
    records = desk_of(request).records
    now = records.now()
    with records.look() as look:
        ids = trial_ids(look, "running", limit=MOST_TABS)
        wanted = ids if not trial or trial in ids else (*ids, trial)
        known = {one.id: one for one in look.find_any(Trial, "id", wanted)}
        view = board_view(
            board(look, now=now, trial_id=trial or None),
            [known[one] for one in wanted if one in known],
            open_sittings(look, trial_id=trial or None),
            studio=look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID),
            now=now,
            number=number,
            trial_id=trial,
        )
    return page(request, "board.html", view)
