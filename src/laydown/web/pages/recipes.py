"""The recipe of a candidate: set, with its profile kept, or taken over with every difference shown."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.trial_facts import load_facts
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment
from laydown.trials.trial import Candidate
from laydown.usecases.trial.set_recipe import LARGEST_PROFILE, ProfileFile, set_recipe
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.candidates import candidate_in
from laydown.web.pages.plan import seen_revision
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.candidate import candidate_head, recipe_sources, recipe_view, take_over_view
from laydown.web.views.notes import notes_view
from laydown.web.views.recipe_form import recipe_texts, told_recipe, typed_recipe

router = APIRouter()
_PIECE = 2**20


@router.get("/trials/{trial_id}/candidates/{candidate_id}", dependencies=[Depends(allow("bench"))])
def recipe(request: Request, trial_id: str, candidate_id: str) -> HTMLResponse:
    """How a candidate is to be printed; what is not stated, and what contradicts itself."""
    return _recipe(request, trial_id, candidate_id)


@router.post(
    "/trials/{trial_id}/candidates/{candidate_id}", dependencies=[Depends(allow())], response_model=None
)
def set_it(
    request: Request, trial_id: str, candidate_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep the recipe, and the profile handed in with it."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            kept = candidate_in(load_facts(look, trial_id), candidate_id)
        told = _with_file(form, told_recipe(form, kept.recipe))
        act = set_recipe(
            records,
            candidate_id,
            told,
            profile=_profile(form),
            who=person_of(request).name,
            seen=seen_revision(form),
        )
    except LaydownError as error:
        return _recipe(request, trial_id, candidate_id, typed=typed_recipe(form), refusal=str(error))
    return done(f"/trials/{trial_id}/candidates/{candidate_id}", act.entry_id)


@router.get("/trials/{trial_id}/candidates/{candidate_id}/take-over", dependencies=[Depends(allow())])
def compare_recipes(request: Request, trial_id: str, candidate_id: str, source: str = "") -> HTMLResponse:
    """Every difference that taking a recipe over would make."""
    return _take_over(request, trial_id, candidate_id, source)


@router.post(
    "/trials/{trial_id}/candidates/{candidate_id}/take-over",
    dependencies=[Depends(allow())],
    response_model=None,
)
def take_over(
    request: Request, trial_id: str, candidate_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Take a recipe over as it was shown."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            facts = load_facts(look, trial_id)
            candidate = candidate_in(facts, candidate_id)
            sources = recipe_sources(look, candidate, time_zone=facts.studio.time_zone)
        chosen = next((one for one in sources if one.value == form.text("source")), None)
        if chosen is None:
            raise BadSetting("no recipe is chosen.", todo="Choose where to take it from.")
        act = set_recipe(
            records,
            candidate_id,
            chosen.recipe,
            source=chosen.words,
            who=person_of(request).name,
            seen=seen_revision(form),
        )
    except LaydownError as error:
        return _take_over(request, trial_id, candidate_id, form.text("source"), refusal=str(error))
    return done(f"/trials/{trial_id}/candidates/{candidate_id}", act.entry_id)


def _recipe(
    request: Request,
    trial_id: str,
    candidate_id: str,
    *,
    typed: Mapping[str, str] | None = None,
    refusal: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        candidate = candidate_in(facts, candidate_id)
        attachments = look.find(Attachment, about=candidate_id, kind="profile", order=("at", "id"))
        revision = look.revision(Candidate, candidate_id)
        here = f"/trials/{trial_id}/candidates/{candidate_id}"
        view = recipe_view(
            facts,
            candidate_head(facts, candidate, part="recipe", revision=revision),
            texts=typed or recipe_texts(candidate.recipe),
            attachments=attachments,
            notes=notes_view(look, about=candidate_id, back=here, studio=facts.studio),
            now=records.now(),
            refusal=refusal,
        )
    return page(request, "candidate_recipe.html", view, status=422 if refusal else 200)


def _take_over(
    request: Request, trial_id: str, candidate_id: str, source: str, *, refusal: str = ""
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        candidate = candidate_in(facts, candidate_id)
        sources = recipe_sources(look, candidate, time_zone=facts.studio.time_zone)
        revision = look.revision(Candidate, candidate_id)
    view = take_over_view(
        facts,
        candidate_head(facts, candidate, part="take-over", revision=revision),
        sources=sources,
        chosen=next((one for one in sources if one.value == source), None),
        now=records.now(),
        refusal=refusal,
    )
    return page(request, "candidate_take_over.html", view, status=422 if refusal else 200)


def _profile(form: Form) -> ProfileFile | None:
    """The profile that was handed in, if there is one; one byte more than allowed is read, to tell."""
    for file in form.files("profile_file"):
        return ProfileFile(file.filename or "profile", file.file.read(LARGEST_PROFILE + 1))
    return None


def _with_file(form: Form, told: Recipe) -> Recipe:
    """The recipe with the checksum of a printed file that was handed in; the file itself is not kept."""
    for file in form.files("printed_file"):
        digest = hashlib.sha256()
        while piece := file.file.read(_PIECE):
            digest.update(piece)
        return replace(told, file_sha256=digest.hexdigest(), file_name=told.file_name or file.filename or "")
    return told
