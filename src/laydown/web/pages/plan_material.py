"""The material of a trial, against the rolls and boxes at hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.trial_facts import load_facts
from laydown.trials.studio import Studio
from laydown.trials.trial import Plan
from laydown.usecases.trial.write_plan import write_plan
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.plan import revision_of_plan, seen_revision, uses_of
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.plan_material import LENGTHS, length_text, material_view

router = APIRouter()


@router.get("/trials/{trial_id}/plan/material", dependencies=[Depends(allow("bench"))])
def material(request: Request, trial_id: str) -> HTMLResponse:
    """What each candidate needs, what is there, what is left."""
    return _material(request, trial_id)


@router.post("/trials/{trial_id}/plan/material", dependencies=[Depends(allow())], response_model=None)
def set_lengths(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep the lengths of this trial."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            facts = load_facts(look, trial_id)
        kept = facts.plan or Plan(id="", trial_id=trial_id)
        told = _told(form, kept, facts.studio)
        act = write_plan(records, told, who=person_of(request).name, seen=seen_revision(form))
    except LaydownError as error:
        typed = {name: form.text(name) for name in LENGTHS}
        return _material(request, trial_id, typed=typed, refusal=str(error))
    return done(f"/trials/{trial_id}/plan/material", act.entry_id)


def _told(form: Form, kept: Plan, studio: Studio) -> Plan:
    """The plan with the lengths of the form; what was left as it was shown is not rounded anew."""
    told: dict[str, float | None] = {}
    for name, (label, _) in LENGTHS.items():
        present: float | None = getattr(kept, name)
        unaltered = form.text(name) == length_text(present, units=studio.units)
        told[name] = present if unaltered else form.length(name, label, studio=studio)
    return replace(
        kept,
        sheet_length_mm=told["sheet_length_mm"],
        sheet_width_mm=told["sheet_width_mm"],
        setting_length_mm=told["setting_length_mm"],
        chart_length_mm=told["chart_length_mm"],
        strip_length_mm=told["strip_length_mm"],
        handling_length_mm=told["handling_length_mm"],
        fading_length_mm=told["fading_length_mm"],
    )


def _material(
    request: Request, trial_id: str, *, typed: dict[str, str] | None = None, refusal: str = ""
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        uses = uses_of(look, facts)
        revision = revision_of_plan(look, facts)
    view = material_view(facts, uses=uses, revision=revision, now=records.now(), typed=typed, refusal=refusal)
    return page(request, "plan_material.html", view, status=422 if refusal else 200)
