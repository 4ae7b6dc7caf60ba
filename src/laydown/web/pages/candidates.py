"""The candidates of a trial: named from the stock room, with their recipes; withdrawn with a reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import BadSetting, LaydownError, UnknownRecord
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.trial.name_candidate import (
    alter_candidate,
    move_candidate,
    name_candidate,
    name_coated_arm,
    printed_sheets,
)
from laydown.usecases.trial.withdraw_candidate import (
    readmit_candidate,
    strike_candidate,
    withdraw_candidate,
)
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.plan import seen_revision
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.candidate import candidate_head, identity_texts, identity_view
from laydown.web.views.candidate_form import IDENTITY_FIELDS, told_candidate, told_new_candidate
from laydown.web.views.candidates import candidates_view, printer_choices
from laydown.web.views.stock_offer import stock_offer

router = APIRouter()
_NEW_FIELDS = ("stock", "printer", "finish", "name", "house")


@router.get("/trials/{trial_id}/candidates", dependencies=[Depends(allow("bench"))])
def candidates(request: Request, trial_id: str, find: str = "") -> HTMLResponse:
    """Who is in the trial, and what is unfair between them; ``find`` looks through the stock room."""
    return _list(request, trial_id, find=find)


@router.post("/trials/{trial_id}/candidates", dependencies=[Depends(allow())], response_model=None)
def name(
    request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Name a candidate, and its coated arm if that is asked for."""
    records, who = desk_of(request).records, person_of(request).name
    try:
        act = name_candidate(records, told_new_candidate(form, trial_id), who=who)
    except LaydownError as error:
        return _list(request, trial_id, typed=form.texts(_NEW_FIELDS), refusal=str(error))
    return done(f"/trials/{trial_id}/candidates", act.entry_id)


@router.get("/trials/{trial_id}/candidates/{candidate_id}/identity", dependencies=[Depends(allow())])
def identity(request: Request, trial_id: str, candidate_id: str, find: str = "") -> HTMLResponse:
    """What a candidate is; ``find`` looks through the stock room."""
    return _identity(request, trial_id, candidate_id, find=find)


@router.post(
    "/trials/{trial_id}/candidates/{candidate_id}/identity",
    dependencies=[Depends(allow())],
    response_model=None,
)
def alter(
    request: Request, trial_id: str, candidate_id: str, form: Annotated[Form, Depends(posted)]
) -> HTMLResponse | RedirectResponse:
    """Alter what is stated about a candidate."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            kept = candidate_in(load_facts(look, trial_id), candidate_id)
        told = told_candidate(form, kept)
        act = alter_candidate(records, told, who=person_of(request).name, seen=seen_revision(form))
    except LaydownError as error:
        typed = form.texts(IDENTITY_FIELDS)
        return _identity(request, trial_id, candidate_id, typed=typed, refusal=str(error))
    return done(f"/trials/{trial_id}/candidates/{candidate_id}/identity", act.entry_id)


@router.post(
    "/trials/{trial_id}/candidates/{candidate_id}/do/{deed}",
    dependencies=[Depends(allow())],
    response_model=None,
)
def act_on(
    request: Request,
    trial_id: str,
    candidate_id: str,
    deed: str,
    form: Annotated[Form, Depends(posted)],
) -> HTMLResponse | RedirectResponse:
    """Add the coated arm, move up or down, withdraw, take back in, strike off."""
    records, who = desk_of(request).records, person_of(request).name
    why = form.text("why")
    deeds: dict[str, Callable[[Records], Acted[Candidate]]] = {
        "coated-arm": lambda kept: name_coated_arm(kept, candidate_id, who=who),
        "up": lambda kept: move_candidate(kept, candidate_id, towards="up", who=who),
        "down": lambda kept: move_candidate(kept, candidate_id, towards="down", who=who),
        "withdraw": lambda kept: withdraw_candidate(kept, candidate_id, why=why, who=who),
        "readmit": lambda kept: readmit_candidate(kept, candidate_id, who=who),
        "strike": lambda kept: strike_candidate(kept, candidate_id, who=who),
    }
    try:
        if deed not in deeds:
            raise BadSetting("there is no such thing to do.", todo="Go back to the candidates.")
        with records.look() as look:
            candidate_in(load_facts(look, trial_id), candidate_id)
        act = deeds[deed](records)
    except LaydownError as error:
        if deed in ("withdraw", "strike"):
            return _identity(request, trial_id, candidate_id, refusal=str(error))
        return _list(request, trial_id, refusal=str(error))
    return done(f"/trials/{trial_id}/candidates", act.entry_id)


def _list(
    request: Request,
    trial_id: str,
    *,
    typed: dict[str, str] | None = None,
    refusal: str = "",
    find: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        view = candidates_view(
            facts,
            stock=stock_offer(look, units=facts.studio.units, find=find, keep=(typed or {}).get("stock", "")),
            printers=printer_choices(look),
            now=records.now(),
            typed=typed,
            refusal=refusal,
        )
    return page(request, "candidates.html", view, status=422 if refusal else 200)


def _identity(
    request: Request,
    trial_id: str,
    candidate_id: str,
    *,
    typed: dict[str, str] | None = None,
    refusal: str = "",
    find: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
        candidate = candidate_in(facts, candidate_id)
        texts = typed or identity_texts(candidate)
        printed = printed_sheets(look, candidate_id)
        revision = look.revision(Candidate, candidate_id)
        view = identity_view(
            facts,
            candidate_head(facts, candidate, part="identity", revision=revision),
            texts=texts,
            stock=stock_offer(look, units=facts.studio.units, find=find, keep=texts["stock"]),
            printers=printer_choices(look),
            printed=printed[0].code if printed else "",
            now=records.now(),
            refusal=refusal,
        )
    return page(request, "candidate_identity.html", view, status=422 if refusal else 200)


def candidate_in(facts: TrialFacts, candidate_id: str) -> Candidate:
    """A candidate of that trial; UnknownRecord where it has none of that id."""
    for one in facts.candidates:
        if one.id == candidate_id:
            return one
    raise UnknownRecord("this trial has no such candidate.", todo="See its candidates.")
