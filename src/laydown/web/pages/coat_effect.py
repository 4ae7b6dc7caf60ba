"""What the coats of a trial did."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, JSONResponse

from laydown.records.trial_facts import load_facts
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.trial_comparison import TrialComparisonId
from laydown.web.views.coat_effect import coat_effect_view
from laydown.web.views.working import WorkingView, progress_of

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/trials/{trial_id}/coat")
def coat_effect(request: Request, trial_id: str) -> HTMLResponse:
    """Black, colour range and white of coated against uncoated prints; while that is worked out, how far."""
    desk = desk_of(request)
    wanted = TrialComparisonId(trial_id, "coat")
    with desk.records.look() as look:
        facts = load_facts(look, trial_id)
    job = desk.job_of_trial(wanted)
    if job.result is None or job.figures is None:
        view = WorkingView.of(
            "What the coat did",
            job,
            f"/trials/{trial_id}/coat/progress",
            arrange_href=f"/trials/{trial_id}/measure",
            arrange_words="To the readings",
        )
        return page(request, "working.html", view, status=200 if job.state == "working" else 422)
    shown = coat_effect_view(
        facts, job.result, now=desk.records.now(), comparison_href=f"/comparisons/{wanted}"
    )
    return page(request, "coat_effect.html", shown)


@router.get("/trials/{trial_id}/coat/progress")
def progress(request: Request, trial_id: str) -> JSONResponse:
    """How far it is, for the page's script."""
    job = desk_of(request).job_of_trial(TrialComparisonId(trial_id, "coat"))
    following = "" if job.state == "working" else f"/trials/{trial_id}/coat"
    return JSONResponse({**progress_of(job), "next": following})
