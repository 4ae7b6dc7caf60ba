"""Gloss of the sheets of a trial: typed in, looked at, set aside and brought back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, cast

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.measured import GlossDirection, GlossReading
from laydown.trials.sheets import Sheet
from laydown.trials.studio import Studio
from laydown.usecases.acted import Acted
from laydown.usecases.measuring.gloss_aside import (
    bring_gloss_back,
    leave_out_early_gloss,
    set_gloss_aside,
    use_early_gloss,
)
from laydown.usecases.measuring.gloss_comparison import compare_gloss
from laydown.usecases.measuring.type_gloss import PLACES, TypedGloss, doubtful, type_gloss
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.gloss import REPEATS, gloss_view

router = APIRouter(prefix="/trials/{trial_id}/gloss", dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]
DIRECTIONS = ("", "along", "across")
OTHER = "other"
FIELDS = ("sheet", "place", "other", "angle", "direction", "meter", "at", "early_why", "back", *REPEATS)
ANY_NUMBER = 1e9  # what a meter cannot show is refused in words of its own


@router.get("")
def gloss(request: Request, trial_id: str, sheet: str = "") -> HTMLResponse:
    """The form, every gloss reading, and what comes of them."""
    return _show(request, trial_id, {"sheet": sheet})


@router.post("")
def keep(request: Request, trial_id: str, form: Posted) -> Response:
    """Keep what the meter showed."""
    records = desk_of(request).records
    values = {name: form.text(name) for name in FIELDS}
    typed: TypedGloss | None = None
    try:
        with records.look() as look:
            studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
            sheet = look.get(Sheet, form.must("sheet", "the sheet"))
        if sheet.trial_id != trial_id:
            raise UnknownRecord("there is no such sheet in this trial.", todo="Open the page again.")
        typed = _typed(form, studio)
        acted = type_gloss(
            records,
            sheet.id,
            typed,
            who=person_of(request).name,
            confirmed=form.flag("confirmed"),
            early_why=form.text("early_why"),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        asks = typed is not None and "look again" in error.what and any(doubtful(typed))
        return _show(request, trial_id, values, problem=str(error), ask_again=asks)
    return done(*_back(trial_id, sheet.id, form, acted.entry_id), at="gloss")


@router.post("/{gloss_id}/change")
def change(request: Request, trial_id: str, gloss_id: str, form: Posted) -> Response:
    """Set a reading aside or bring it back; use one that was read early, or leave it out."""
    with desk_of(request).records.look() as look:
        reading = look.get(GlossReading, gloss_id)
    if reading.trial_id != trial_id:
        raise UnknownRecord("there is no such gloss reading in this trial.", todo="Open the page again.")
    try:
        acted = _changed(request, gloss_id, form)
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, trial_id, {"sheet": reading.sheet_id}, problem=str(error))
    return done(*_back(trial_id, reading.sheet_id, form, acted.entry_id), at="gloss")


@router.get(".json")
def as_json(request: Request, trial_id: str) -> JSONResponse:
    """What comes of gloss, unrounded, for programs."""
    from laydown.report.json_view import gloss_to_json

    with desk_of(request).records.look() as look:
        found = compare_gloss(load_facts(look, trial_id))
    return JSONResponse(gloss_to_json(found))


def _back(trial_id: str, sheet_id: str, form: Form, entry_id: str) -> tuple[str, str]:
    """To the page it came from; at the station the same sheet stays chosen, for its next place."""
    if form.text("back") == "sheet":
        return f"/trials/{trial_id}/sheets/{sheet_id}", entry_id
    return f"/trials/{trial_id}/gloss?sheet={sheet_id}", entry_id


def _typed(form: Form, studio: Studio) -> TypedGloss:
    chosen = form.choice("place", (*PLACES, OTHER), "the place")
    numbers = (
        form.number(name, f"repeat {turn}", low=-ANY_NUMBER, high=ANY_NUMBER)
        for turn, name in enumerate(REPEATS, start=1)
    )
    return TypedGloss(
        place=form.must("other", "the name of the place") if chosen == OTHER else chosen,
        angle=form.whole("angle", "the angle", low=0, high=90) or 0,
        values=tuple(value for value in numbers if value is not None),
        direction=cast("GlossDirection", form.choice("direction", DIRECTIONS, "how the meter lay")),
        instrument=form.text("meter")[:200],
        measured_at=form.moment("at", "when it was read", studio=studio),
    )


def _changed(request: Request, gloss_id: str, form: Form) -> Acted[GlossReading]:
    records, who = desk_of(request).records, person_of(request).name
    seen = form.whole("seen", "the page's number", low=0, high=10**12)
    what = form.choice("what", ("set aside", "bring back", "use", "leave"), "what to do")
    if what == "set aside":
        return set_gloss_aside(records, gloss_id, why=form.text("why"), who=who, seen=seen)
    if what == "bring back":
        return bring_gloss_back(records, gloss_id, who=who, seen=seen)
    if what == "use":
        return use_early_gloss(records, gloss_id, why=form.text("why"), who=who, seen=seen)
    return leave_out_early_gloss(records, gloss_id, who=who, seen=seen)


def _show(
    request: Request,
    trial_id: str,
    values: Mapping[str, str],
    *,
    problem: str = "",
    ask_again: bool = False,
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        view = gloss_view(look, facts, now=records.now(), values=values, problem=problem, ask_again=ask_again)
    return page(request, "gloss.html", view, status=422 if problem else 200)
