"""Designing a test form: fields in the address, a look at what they would give, and making it."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import parse_qsl

import numpy as np
from fastapi import APIRouter, Depends, Query, Request
from starlette.datastructures import QueryParams
from starlette.responses import HTMLResponse, RedirectResponse, Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.test_form import TestForm
from laydown.usecases.forms.draft_form import FormDraft, draft_form
from laydown.usecases.forms.make_form import make_form
from laydown.usecases.forms.new_code import codes_taken, new_form_code
from laydown.usecases.forms.preview_page import preview_page
from laydown.usecases.forms.trial_pictures import ArrivingPicture, keep_pictures, pictures_of_trial
from laydown.web.desk import desk_of
from laydown.web.drawing_table import preview_width
from laydown.web.form_fields import DesignFields, fields_of_trial, fields_of_wish, fields_sent, wish_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.attachments import bearable
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.form_design import form_design_view, planned_sheets
from laydown.web.views.test_form import form_address

router = APIRouter(prefix="/trials/{trial_id}/form", dependencies=[Depends(allow())])
Posted = Annotated[Form, Depends(posted)]
_SENT = "question"  # a field that every design has which was sent by the page


@router.get("/design")
def design(request: Request, trial_id: str, like: str = "", look: bool = False) -> HTMLResponse:
    """The fields; with ``look`` what would be made of them. ``like`` begins with a form that was made."""
    records = desk_of(request).records
    refusal = ""
    with records.look() as looking:
        facts = load_facts(looking, trial_id)
        fields, said = _fields(looking, facts, request.query_params, like=like)
    draft = None
    if look:
        try:
            draft = _draft(request, facts, fields)
        except LaydownError as error:
            refusal = str(error)
    return _show(request, facts, fields, draft=draft, said=said, refusal=refusal)


@router.get("/design/preview")
def preview(
    request: Request,
    trial_id: str,
    name: Annotated[str, Query(alias="page", max_length=8)],
    px: Annotated[int, Query(ge=1, le=4000)] = 720,
) -> Response:
    """A page of the form that the fields in the address ask for, as PNG."""
    desk = desk_of(request)
    with desk.records.look() as look:
        facts = load_facts(look, trial_id)
        fields, _ = fields_sent(request.query_params)
        wish = wish_of(fields, look, trial_id, studio=facts.studio)

        def draw(width_px: int) -> bytes:
            return preview_page(wish, name, width_px=width_px, look=look)

        content = desk.drawings.preview(wish, name, preview_width(wish, name, px), with_own=True, draw=draw)
    return Response(content, media_type="image/png", headers={"Cache-Control": "private, max-age=3600"})


@router.post("/pictures", dependencies=[Depends(bearable)], response_model=None)
def hand_in(request: Request, trial_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Keep pictures of the studio's own for this trial, tick them, and go back to the fields."""
    records = desk_of(request).records
    fields, said = fields_sent(form.fields)
    try:
        acted = keep_pictures(
            records,
            trial_id,
            [ArrivingPicture(file.filename or "", file.file) for file in form.files("files")],
            who=person_of(request).name,
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        with records.look() as look:
            facts = load_facts(look, trial_id)
        return _show(request, facts, fields, said=said, refusal=str(error))
    query = fields.with_own(one.sha256 for one in acted.thing).query
    return done(f"/trials/{trial_id}/form/design?{query}", acted.entry_id, at="pictures")


@router.post("", response_model=None)
def make(request: Request, trial_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Make the form that was looked at: the fields come as they stood in its address."""
    records = desk_of(request).records
    fields, said = fields_sent(QueryParams(parse_qsl(form.text("design"), keep_blank_values=True)))
    with records.look() as look:
        facts = load_facts(look, trial_id)
    try:
        with records.look() as look:
            wish = wish_of(fields, look, trial_id, studio=facts.studio)
        acted = make_form(records, trial_id, wish, who=person_of(request).name, words=form.text("words"))
    except LaydownError as error:
        return _show(request, facts, fields, said=said, refusal=str(error))
    return done(form_address(acted.thing), acted.entry_id)


def _fields(look: Look, facts: TrialFacts, sent: QueryParams, *, like: str) -> tuple[DesignFields, str]:
    if _SENT in sent:
        return fields_sent(sent)
    code = new_form_code(codes_taken(look), rng=np.random.default_rng())
    if not like:
        return fields_of_trial(facts, code=code), ""
    model = look.get(TestForm, like)
    if model.trial_id != facts.trial.id:
        raise UnknownRecord("there is no such form in this trial.", todo="Open the page again.")
    fields = fields_of_wish(model.wish, code=code, units=facts.studio.units)
    return fields, f"The fields of form {model.code}, for another form under a code of its own."


def _draft(request: Request, facts: TrialFacts, fields: DesignFields) -> FormDraft:
    with desk_of(request).records.look() as look:
        wish = wish_of(fields, look, facts.trial.id, studio=facts.studio)
    return draft_form(wish, sheets=planned_sheets(facts))


def _show(
    request: Request,
    facts: TrialFacts,
    fields: DesignFields,
    *,
    draft: FormDraft | None = None,
    said: str = "",
    refusal: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        pictures = pictures_of_trial(look, facts.trial.id)
    view = form_design_view(
        facts, fields, pictures, now=records.now(), draft=draft, said=said, refusal=refusal
    )
    return page(request, "form_design.html", view, status=422 if refusal else 200)
