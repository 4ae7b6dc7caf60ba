"""The page of one comparison."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, JSONResponse

from laydown.trials.trial import Trial
from laydown.web.desk import DEMO, Desk, desk_of
from laydown.web.rendering import page
from laydown.web.trial_comparison import TrialComparisonId, trial_comparison_id
from laydown.web.trial_gloss import gloss_beside
from laydown.web.views.comparison import WayBack, comparison_view
from laydown.web.views.working import WorkingView, progress_of

router = APIRouter()


@router.get("/comparisons/{comparison_id}")
def show(request: Request, comparison_id: str, against: str = "") -> HTMLResponse:
    """The comparison; while it is being worked out, how far that is."""
    desk = desk_of(request)
    of_trial = trial_comparison_id(comparison_id)
    job = desk.job_of(comparison_id)
    back = _way_back(desk, of_trial) if of_trial else None
    if job.result is None or job.figures is None:
        where = "" if comparison_id == DEMO else f"/uploads/{comparison_id}/arrange"
        view = WorkingView.of(
            back.name if back else _title(desk, comparison_id),
            job,
            f"/comparisons/{comparison_id}/progress",
            arrange_href=back.href if back else where,
            arrange_words="To the readings" if back else "Back to the files",
        )
        return page(request, "working.html", view, status=200 if job.state == "working" else 422)
    view_of_result = comparison_view(
        comparison_id,
        job.figures,
        asked=against,
        deletable=comparison_id != DEMO and of_trial is None,
        back=back,
        gloss=gloss_beside(desk, comparison_id),
    )
    return page(request, "comparison.html", view_of_result)


@router.get("/comparisons/{comparison_id}/progress")
def progress(request: Request, comparison_id: str) -> JSONResponse:
    """How far it is, for the page's script."""
    job = desk_of(request).job_of(comparison_id)
    following = "" if job.state == "working" else f"/comparisons/{comparison_id}"
    return JSONResponse({**progress_of(job), "next": following})


def _way_back(desk: Desk, of_trial: TrialComparisonId) -> WayBack:
    with desk.records.look() as look:
        name = look.get(Trial, of_trial.trial_id).name
    return WayBack(name, f"/trials/{of_trial.trial_id}/measure")


def _title(desk: Desk, comparison_id: str) -> str:
    return "The demo trial" if comparison_id == DEMO else desk.store.get(comparison_id).title
