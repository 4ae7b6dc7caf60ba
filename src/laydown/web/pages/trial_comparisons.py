"""What a trial's sheets are compared by, and what goes in."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse

from laydown.records.trial_facts import load_facts
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.trial_comparison import TrialComparisonId
from laydown.web.views.trial_comparisons import trial_comparisons_view

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/trials/{trial_id}/comparisons")
def trial_comparisons(
    request: Request,
    trial_id: str,
    by: Literal["medium", "lot", "finish", "age"] = "medium",
    condition: Literal["", "M0", "M1", "M2", "M3"] = "",
) -> HTMLResponse:
    """One way of comparing: its media, their sheets, and what must be said beside the result."""
    desk = desk_of(request)
    wanted = TrialComparisonId(trial_id, by, condition)
    told = desk.requests.of(desk.records, wanted)
    with desk.records.look() as look:
        view = trial_comparisons_view(load_facts(look, trial_id), told, wanted, now=desk.records.now())
    return page(request, "trial_comparisons.html", view)
