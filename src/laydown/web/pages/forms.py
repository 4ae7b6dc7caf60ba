"""The test forms of a trial: the list, one of them, and what may be done with it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.trials.test_form import TestForm
from laydown.usecases.forms.set_form_aside import bring_form_back, set_form_aside
from laydown.usecases.forms.take_form_away import take_form_away
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.test_form import form_address, forms_view, one_form_view

router = APIRouter(prefix="/trials/{trial_id}/form")
BENCH = [Depends(allow("bench"))]
OWNER = [Depends(allow())]
Posted = Annotated[Form, Depends(posted)]


@router.get("", dependencies=BENCH)
def forms(request: Request, trial_id: str) -> HTMLResponse:
    """The forms of the trial, those in use first."""
    records = desk_of(request).records
    with records.look() as look:
        view = forms_view(load_facts(look, trial_id), now=records.now())
    return page(request, "test_forms.html", view)


@router.get("/{form_id}", dependencies=BENCH)
def one_form(request: Request, trial_id: str, form_id: str, sheet: str = "") -> HTMLResponse:
    """One form: how its pages look and are printed, and its files; for one sheet where that is named."""
    return _show(request, trial_id, form_id, sheet=sheet)


@router.post("/{form_id}/set-aside", dependencies=OWNER, response_model=None)
def aside(request: Request, trial_id: str, form_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Print no more from it."""
    records = desk_of(request).records
    with records.look() as look:
        one = form_of(look, trial_id, form_id)
    try:
        acted = set_form_aside(
            records, one.id, why=form.text("why"), who=person_of(request).name, seen=_seen(form)
        )
    except LaydownError as error:
        return _show(request, trial_id, form_id, refusal=str(error))
    return done(form_address(one), acted.entry_id)


@router.post("/{form_id}/bring-back", dependencies=OWNER, response_model=None)
def back(request: Request, trial_id: str, form_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Print from it again."""
    records = desk_of(request).records
    with records.look() as look:
        one = form_of(look, trial_id, form_id)
    try:
        acted = bring_form_back(records, one.id, who=person_of(request).name, seen=_seen(form))
    except LaydownError as error:
        return _show(request, trial_id, form_id, refusal=str(error))
    return done(form_address(one), acted.entry_id)


@router.post("/{form_id}/remove", dependencies=[*OWNER, Depends(posted)], response_model=None)
def remove(request: Request, trial_id: str, form_id: str) -> HTMLResponse | RedirectResponse:
    """Take it away, where nothing was printed yet."""
    records = desk_of(request).records
    with records.look() as look:
        one = form_of(look, trial_id, form_id)
    try:
        acted = take_form_away(records, one.id, who=person_of(request).name)
    except LaydownError as error:
        return _show(request, trial_id, form_id, refusal=str(error))
    return done(f"/trials/{trial_id}/form", acted.entry_id)


def form_of(look: Look, trial_id: str, form_id: str) -> TestForm:
    """A form of a trial.

    Raises
    ------
    UnknownRecord
        It is another trial's, or nobody's.
    """
    form = look.get(TestForm, form_id)
    if form.trial_id != trial_id:
        raise UnknownRecord("there is no such form in this trial.", todo="Open the page again.")
    return form


def _seen(form: Form) -> int | None:
    return form.whole("seen", "this page", low=0, high=2**53)


def _show(
    request: Request, trial_id: str, form_id: str, *, sheet: str = "", refusal: str = ""
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        form = form_of(look, trial_id, form_id)
        facts = load_facts(look, trial_id)
        view = one_form_view(look, facts, form, now=records.now(), sheet=sheet, refusal=refusal)
    return page(request, "test_form.html", view, status=422 if refusal else 200)
