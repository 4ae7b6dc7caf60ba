"""The calendar of a trial with its gates."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.trial_facts import load_facts
from laydown.usecases.trial.write_plan import write_plan
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.plan import plan_to_alter, revision_of_plan, seen_revision
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.plan_calendar import calendar_view

router = APIRouter()


@router.get("/trials/{trial_id}/plan/calendar", dependencies=[Depends(allow("bench"))])
def calendar(request: Request, trial_id: str) -> HTMLResponse:
    """What is worked on when, what is waited for, and whether the stop date holds."""
    return _calendar(request, trial_id)


@router.post("/trials/{trial_id}/plan/calendar", dependencies=[Depends(allow())], response_model=None)
def set_first_day(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep the day the trial begins."""
    try:
        told = replace(plan_to_alter(request, trial_id), first_day=form.day("first_day", "The first day"))
        who = person_of(request).name
        act = write_plan(desk_of(request).records, told, who=who, seen=seen_revision(form))
    except LaydownError as error:
        return _calendar(request, trial_id, typed=form.text("first_day"), refusal=str(error))
    return done(f"/trials/{trial_id}/plan/calendar", act.entry_id)


def _calendar(
    request: Request, trial_id: str, *, typed: str | None = None, refusal: str = ""
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        revision = revision_of_plan(look, facts)
    view = calendar_view(facts, revision=revision, now=records.now(), typed=typed, refusal=refusal)
    return page(request, "plan_calendar.html", view, status=422 if refusal else 200)
