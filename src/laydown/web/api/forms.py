"""Test forms: made from a wish, their geometry and reference, set aside, taken away."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Body, Depends, Path, Request
from starlette.responses import PlainTextResponse

from laydown.science.forms.form_wish import FormWish
from laydown.trials.test_form import TestForm
from laydown.usecases.acted import Acted
from laydown.usecases.forms.forms_of_trial import forms_of_trial
from laydown.usecases.forms.make_form import make_form
from laydown.usecases.forms.set_form_aside import bring_form_back, set_form_aside
from laydown.usecases.forms.take_form_away import take_form_away
from laydown.web.api.changing import Id, Seen
from laydown.web.api.measuring import Why
from laydown.web.desk import desk_of
from laydown.web.pages.form_files import page_called
from laydown.web.people import allow, person_of

router = APIRouter(tags=["forms"])
OWNER = [Depends(allow())]
BENCH = [Depends(allow("bench"))]
PageName = Annotated[str, Path(max_length=8, description="Such as D1.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wished:
    """What a form is made from. ``code`` of the wish must be met nowhere else in the studio."""

    wish: FormWish
    words: str = ""


@router.get("/trials/{trial_id}/forms", dependencies=BENCH)
def forms(request: Request, trial_id: Id) -> tuple[TestForm, ...]:
    """The forms of the trial, oldest first, those that were set aside too."""
    return forms_of_trial(desk_of(request).records, trial_id).all


@router.post("/trials/{trial_id}/forms", dependencies=OWNER, status_code=201)
def make(request: Request, trial_id: Id, told: Annotated[Wished, Body()]) -> Acted[TestForm]:
    """Make a form. Own pictures in it are named by the SHA-256 of files attached to the trial."""
    records, who = desk_of(request).records, person_of(request).name
    return make_form(records, trial_id, told.wish, who=who, words=told.words[:2000])


@router.get("/forms/{form_id}", dependencies=BENCH)
def form(request: Request, form_id: Id) -> TestForm:
    """One form: its wish, its pages, its files by their SHA-256."""
    with desk_of(request).records.look() as look:
        return look.get(TestForm, form_id)


@router.get("/forms/{form_id}/pages/{name}/geometry", dependencies=BENCH)
def geometry(request: Request, form_id: Id, name: PageName) -> dict[str, Any]:
    """Where everything lies on a page, in mm from its top left corner."""
    with desk_of(request).records.look() as look:
        page = page_called(look.get(TestForm, form_id), name)
        told: dict[str, Any] = json.loads(look.read_file(page.geometry_sha256))
    return told


@router.get(
    "/forms/{form_id}/reference",
    dependencies=BENCH,
    response_model=None,
    responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}},
)
def reference(request: Request, form_id: Id) -> PlainTextResponse:
    """Its patches in reading order with their device values, as CGATS text."""
    with desk_of(request).records.look() as look:
        return PlainTextResponse(look.read_file(look.get(TestForm, form_id).reference_sha256))


@router.put("/forms/{form_id}/set-aside", dependencies=OWNER)
def aside(request: Request, form_id: Id, told: Annotated[Why, Body()], seen: Seen = None) -> Acted[TestForm]:
    """Print no more from a form; it is still recognised."""
    records, who = desk_of(request).records, person_of(request).name
    return set_form_aside(records, form_id, why=told.why, who=who, seen=seen)


@router.put("/forms/{form_id}/bring-back", dependencies=OWNER)
def back(request: Request, form_id: Id, seen: Seen = None) -> Acted[TestForm]:
    """Print from a form again that was set aside."""
    return bring_form_back(desk_of(request).records, form_id, who=person_of(request).name, seen=seen)


@router.delete("/forms/{form_id}", dependencies=OWNER)
def remove(request: Request, form_id: Id) -> Acted[TestForm]:
    """Take a form away, where no sheet of its trial is printed yet."""
    return take_form_away(desk_of(request).records, form_id, who=person_of(request).name)
