"""The settling station of a trial: clocks, coats, hours of their own, and readings taken too early."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.measured import Reading
from laydown.trials.recipe import Coat
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.early_readings import leave_out_readings, use_early_readings
from laydown.usecases.bench.settle_hours import set_hours
from laydown.web.desk import desk_of
from laydown.web.forms import BOUNDLESS, Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.room_climate import room_of
from laydown.web.views.settle import NOTHING_TICKED, TypedEarly, TypedHours, settle_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]
COAT_FIELDS = (
    "product", "batch", "dilution", "tool", "coats", "wet", "flow", "words", "at", "warmth", "humidity",
    "early_why",
)  # fmt: skip


@router.get("/trials/{trial_id}/settle")
def settle(request: Request, trial_id: str) -> HTMLResponse:
    """Where every printed sheet of the trial stands."""
    return _show(request, trial_id)


@router.post("/trials/{trial_id}/coat")
def coat(request: Request, trial_id: str, form: Posted) -> Response:
    """Sheets were coated together."""
    records = desk_of(request).records
    chosen = form.many("sheet")
    try:
        with records.look() as look:
            studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
        warmth, humidity = room_of(form, studio)
        acted = coat_sheets(
            records,
            trial_id,
            chosen,
            _coat(form),
            who=person_of(request).name,
            at=form.moment("at", "when it was coated", studio=studio),
            room_c=warmth,
            room_rh=humidity,
            early_why=form.text("early_why"),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        typed = {name: form.text(name) for name in COAT_FIELDS}
        return _show(request, trial_id, problem=error, typed=typed, chosen=chosen)
    return done(f"/trials/{trial_id}/settle", acted.entry_id)


@router.post("/trials/{trial_id}/candidates/{candidate_id}/hours")
def hours(request: Request, trial_id: str, candidate_id: str, form: Posted) -> Response:
    """A candidate gets hours of its own, or the usual ones again."""
    records = desk_of(request).records
    try:
        _belongs(request, trial_id, candidate_id)
        acted = set_hours(
            records,
            candidate_id,
            cure_hours=form.number("cure", "hours to cure", low=0, high=BOUNDLESS),
            dry_hours=form.number("dry", "hours to dry", low=0, high=BOUNDLESS),
            why=form.text("why"),
            who=person_of(request).name,
            seen=form.whole("seen", "the page's number", low=0, high=10**12),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        told = TypedHours(candidate_id, *(form.text(name) for name in ("cure", "dry", "why")))
        return _show(request, trial_id, problem=error, hours_told=told)
    return done(f"/trials/{trial_id}/settle", acted.entry_id, at=f"hours-{candidate_id}")


@router.post("/trials/{trial_id}/early")
def early(request: Request, trial_id: str, form: Posted) -> Response:
    """Early readings are used all the same, or left out again, with one reason for all that are ticked."""
    records, who = desk_of(request).records, person_of(request).name
    chosen, use = form.many("reading"), form.text("what") == "use"
    back = form.text("back")
    try:
        with records.look() as look:
            if any(look.get(Reading, one).trial_id != trial_id for one in chosen):
                raise UnknownRecord("there is no such reading in this trial.", todo="Open the page again.")
        told = {one: form.whole(f"seen-{one}", "the page's number", low=0, high=10**12) for one in chosen}
        seen = {one: number for one, number in told.items() if number is not None}
        change = use_early_readings if use else leave_out_readings
        acted = change(records, chosen, why=form.text("why"), who=who, seen=seen)
    except UnknownRecord:
        raise
    except LaydownError as error:
        typed = TypedEarly("use" if use else "leave", frozenset(chosen), form.text("why"))
        return _show(request, trial_id, problem=error, early_told=typed)
    here = back if back.startswith(f"/trials/{trial_id}/") else f"/trials/{trial_id}/settle"
    return done(here, acted.entry_id, at="early")


def _coat(form: Form) -> Coat:
    return Coat(
        product=form.text("product"),
        batch=form.text("batch"),
        dilution=form.text("dilution"),
        tool=form.text("tool"),
        coats=form.whole("coats", "the number of coats", low=0, high=1000),
        wet_g_m2=form.number("wet", "the wet amount", low=0, high=BOUNDLESS),
        flow_cup_seconds=form.number("flow", "the seconds of the flow cup", low=0, high=BOUNDLESS),
        words=form.text("words"),
    )


def _belongs(request: Request, trial_id: str, candidate_id: str) -> None:
    with desk_of(request).records.look() as look:
        if look.get(Candidate, candidate_id).trial_id != trial_id:
            raise UnknownRecord("there is no such candidate in this trial.", todo="Open the page again.")


def _show(
    request: Request,
    trial_id: str,
    *,
    problem: LaydownError | None = None,
    typed: dict[str, str] | None = None,
    chosen: tuple[str, ...] = (),
    hours_told: TypedHours | None = None,
    early_told: TypedEarly = NOTHING_TICKED,
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        view = settle_view(
            look,
            facts,
            now=records.now(),
            problem=str(problem) if problem else "",
            typed=typed,
            chosen=chosen,
            hours_told=hours_told,
            early_told=early_told,
        )
    return page(request, "settle.html", view, status=422 if problem else 200)
