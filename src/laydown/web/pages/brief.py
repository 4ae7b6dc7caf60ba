"""The brief of a trial: read, written, sealed, and changed after that."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.trials.brief_changes import brief_in_force
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Brief
from laydown.usecases.trial.change_brief import change_brief
from laydown.usecases.trial.seal_brief import seal_brief
from laydown.usecases.trial.write_brief import write_brief
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.brief import brief_form_view, brief_view
from laydown.web.views.brief_form import form_of, told_brief, typed_form

router = APIRouter()


@router.get("/trials/{trial_id}/brief", dependencies=[Depends(allow("bench"))])
def brief(request: Request, trial_id: str) -> HTMLResponse:
    """What the brief says now, with the sealed text beside it."""
    return _shown(request, trial_id, "brief.html")


@router.get("/trials/{trial_id}/brief/seal", dependencies=[Depends(allow())])
def read_before_sealing(request: Request, trial_id: str) -> HTMLResponse:
    """Everything once more, and what sealing means."""
    return _shown(request, trial_id, "brief_seal.html")


@router.post("/trials/{trial_id}/brief/seal", dependencies=[Depends(allow())], response_model=None)
def seal(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Seal the brief as it was read."""
    try:
        act = seal_brief(desk_of(request).records, trial_id, who=person_of(request).name, seen=_seen(form))
    except LaydownError as error:
        return _shown(request, trial_id, "brief_seal.html", refusal=str(error))
    return done(f"/trials/{trial_id}/brief", act.entry_id)


@router.get("/trials/{trial_id}/brief/write", dependencies=[Depends(allow())])
def form_of_brief(request: Request, trial_id: str) -> HTMLResponse:
    """The form, filled with what is in force."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        seen = _known(look, facts)
    view = brief_form_view(facts, form_of(_in_force(facts)), seen=seen, now=records.now())
    return page(request, "brief_form.html", view)


@router.post("/trials/{trial_id}/brief/write", dependencies=[Depends(allow())], response_model=None)
def write(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep the draft, or note what differs from the sealed brief; or give more rows to fill in."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
    if form.text("do") == "more":
        return _typed(request, facts, form, more=True)
    who = person_of(request).name
    try:
        wanted = told_brief(form, _in_force(facts))
        if facts.brief is not None and facts.brief.sealed_at is not None:
            entry = change_brief(records, wanted, why=form.text("why"), who=who, seen=_seen(form)).entry_id
        else:
            entry = write_brief(records, wanted, who=who, seen=_seen(form)).entry_id
    except LaydownError as error:
        return _typed(request, facts, form, refusal=str(error))
    return done(f"/trials/{trial_id}/brief", entry)


def _shown(request: Request, trial_id: str, template: str, *, refusal: str = "") -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        revision = look.revision(Brief, facts.brief.id) if facts.brief else 0
    view = brief_view(facts, revision=revision, now=records.now(), refusal=refusal)
    return page(request, template, view, status=422 if refusal else 200)


def _typed(
    request: Request, facts: TrialFacts, form: Form, *, more: bool = False, refusal: str = ""
) -> HTMLResponse:
    view = brief_form_view(
        facts,
        typed_form(form, more=more),
        seen=_seen(form) or 0,
        now=desk_of(request).records.now(),
        why=form.text("why"),
        refusal=refusal,
    )
    return page(request, "brief_form.html", view, status=422 if refusal else 200)


def _in_force(facts: TrialFacts) -> Brief:
    """The brief as it stands; an empty one with the trial's question where none is written."""
    if facts.brief is None:
        return Brief(id="", trial_id=facts.trial.id, question=facts.trial.question)
    told = brief_in_force(facts.brief, facts.brief_changes)
    return told if told.question or told.sealed_at else replace(told, question=facts.trial.question)


def _known(look: Look, facts: TrialFacts) -> int:
    """What the form sends back so that two tablets do not overwrite each other."""
    if facts.brief is None:
        return 0
    return len(facts.brief_changes) if facts.brief.sealed_at else look.revision(Brief, facts.brief.id)


def _seen(form: Form) -> int | None:
    told = form.text("seen")
    if told and not told.isdigit():
        raise BadSetting("this form is damaged.", todo="Open the page again.")
    return int(told) if told else None
