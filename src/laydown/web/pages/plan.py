"""The plan of a trial: how many sheets of each medium and why, and the order they are printed in."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import ORDER_WAYS
from laydown.trials.stock import RollUse
from laydown.trials.trial import Plan
from laydown.usecases.trial.draw_sheets import add_sheets, begun_sheet, draw_sheets
from laydown.usecases.trial.foresee import foresee
from laydown.usecases.trial.write_plan import MOST_SEED, MOST_SHEETS, write_plan
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.plan import plan_view
from laydown.web.views.print_order import order_view

router = APIRouter()
_MOST = int(MOST_SHEETS.value)


@router.get("/trials/{trial_id}/plan", dependencies=[Depends(allow("bench"))])
def plan(request: Request, trial_id: str) -> HTMLResponse:
    """How many sheets of each medium, what they would show, and what they cost."""
    return _plan(request, trial_id)


@router.post("/trials/{trial_id}/plan", dependencies=[Depends(allow())], response_model=None)
def choose(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep how many sheets, and why."""
    records = desk_of(request).records
    try:
        kept = plan_to_alter(request, trial_id)
        sheets = form.whole("sheets", "Sheets of each candidate", low=1, high=_MOST)
        told = replace(kept, sheets_per_candidate=sheets or kept.sheets_per_candidate, why=form.text("why"))
        act = write_plan(records, told, who=person_of(request).name, seen=seen_revision(form))
    except LaydownError as error:
        return _plan(request, trial_id, form=form, refusal=str(error))
    return done(f"/trials/{trial_id}/plan", act.entry_id)


@router.get("/trials/{trial_id}/plan/order", dependencies=[Depends(allow("bench"))])
def order(request: Request, trial_id: str) -> HTMLResponse:
    """The order the sheets are printed in."""
    return _order(request, trial_id)


@router.post("/trials/{trial_id}/plan/order", dependencies=[Depends(allow())], response_model=None)
def draw(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Keep how to order, and draw."""
    typed = None
    try:
        typed = _typed_order(plan_to_alter(request, trial_id), form)
        act = draw_sheets(
            desk_of(request).records,
            trial_id,
            told=typed,
            who=person_of(request).name,
            seen=seen_revision(form),
        )
    except LaydownError as error:
        return _order(request, trial_id, typed=typed, refusal=str(error))
    return done(f"/trials/{trial_id}/plan/order", act.entry_id)


@router.post("/trials/{trial_id}/plan/order/add", dependencies=[Depends(allow())], response_model=None)
def add(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Add sheets on a further day."""
    try:
        wanted = {
            name.removeprefix("more-"): form.whole(name, "Sheets", low=0, high=_MOST) or 0
            for name in form.fields
            if name.startswith("more-")
        }
        act = add_sheets(desk_of(request).records, trial_id, wanted, who=person_of(request).name)
    except LaydownError as error:
        return _order(request, trial_id, refusal=str(error))
    return done(f"/trials/{trial_id}/plan/order", act.entry_id)


def plan_to_alter(request: Request, trial_id: str) -> Plan:
    """The plan as it is kept, or one with nothing stated."""
    with desk_of(request).records.look() as look:
        return load_facts(look, trial_id).plan or Plan(id="", trial_id=trial_id)


def seen_revision(form: Form) -> int | None:
    """The revision a form was made from; BadSetting where it is none."""
    return form.whole("seen", "This form", low=0, high=2**53)


def revision_of_plan(look: Look, facts: TrialFacts) -> int:
    """What a form about the plan sends back, so that two tablets do not overwrite each other."""
    return look.revision(Plan, facts.plan.id) if facts.plan else 0


def uses_of(look: Look, facts: TrialFacts) -> tuple[RollUse, ...]:
    """What was taken from the rolls and boxes of a trial."""
    return look.find_any(RollUse, "roll_id", {roll.id for roll in facts.rolls})


def _typed_order(kept: Plan, form: Form) -> Plan:
    way = form.choice("order", ORDER_WAYS, "The way of ordering")
    days = form.whole("days", "Printing days", low=1, high=_MOST)
    seed = form.whole("seed", "The seed", low=0, high=MOST_SEED)
    spares = form.whole("spares", "Spare sheets", low=0, high=_MOST)
    if days is None or seed is None or spares is None:
        raise BadSetting("days, spares or seed are missing.", todo="Fill them in.")
    known = next(one for one in ORDER_WAYS if one == way)
    return replace(kept, order=known, days=days, seed=seed, spare_sheets=spares)


def _plan(request: Request, trial_id: str, *, form: Form | None = None, refusal: str = "") -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        uses = uses_of(look, facts)
        revision = revision_of_plan(look, facts)
    begun = begun_sheet(facts)
    view = plan_view(
        facts,
        foresee(facts, uses=uses),
        revision=revision,
        stands=begun.code if begun and facts.plan and facts.plan.drawn_at else "",
        now=records.now(),
        typed=_typed_sheets(form) if form else None,
        refusal=refusal,
    )
    return page(request, "plan.html", view, status=422 if refusal else 200)


def _typed_sheets(form: Form) -> tuple[int, str]:
    told = form.text("sheets")
    return int(told) if told.isdigit() else 0, form.text("why")


def _order(request: Request, trial_id: str, *, typed: Plan | None = None, refusal: str = "") -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        revision = revision_of_plan(look, facts)
    view = order_view(facts, revision=revision, now=records.now(), typed=typed, refusal=refusal)
    return page(request, "print_order.html", view, status=422 if refusal else 200)
