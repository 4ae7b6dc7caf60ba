"""The printing station of a trial: what to print next, and beginning at the printer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import LaydownError, UnknownRecord
from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.sheets import SheetUse
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.spoil_sheet import add_sheet
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.begin import begin_view
from laydown.web.views.print_station import print_view
from laydown.web.views.stickers import stickers_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]
BESIDE: tuple[SheetUse, ...] = ("setting", "spare", "control strip", "handling", "other")


@router.get("/trials/{trial_id}/print")
def print_station(request: Request, trial_id: str) -> HTMLResponse:
    """What to print next, the order by day, and each candidate with its recipe."""
    return _show(request, trial_id)


@router.post("/trials/{trial_id}/runs")
def begin(request: Request, trial_id: str, form: Posted) -> Response:
    """Begin a sitting at a printer."""
    records = desk_of(request).records
    with records.look() as look:
        candidate = candidate_of(look, trial_id, form.text("candidate"))
        studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    try:
        acted = begin_run(
            records,
            candidate.id,
            who=person_of(request).name,
            printer_id=form.text("printer") or None,
            roll_id=form.text("roll") or None,
            begun_at=form.moment("begun", "when it began", studio=studio),
            same_load_as=form.text("same_load") or None,
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        if form.flag("otherwise"):
            typed = form.texts(("printer", "roll", "begun"))
            return _begin(request, trial_id, candidate.id, typed=typed, problem=str(error))
        return _show(request, trial_id, problem=str(error))
    return done(f"/bench/{acted.thing.id}", acted.entry_id)


@router.get("/trials/{trial_id}/candidates/{candidate_id}/begin")
def begin_otherwise(request: Request, trial_id: str, candidate_id: str, find: str = "") -> HTMLResponse:
    """Begin on another printer or roll than planned, or with an earlier time; ``find`` looks for a roll."""
    return _begin(request, trial_id, candidate_id, find=find)


@router.post("/trials/{trial_id}/sheets")
def add(request: Request, trial_id: str, form: Posted) -> Response:
    """Add a sheet beside the drawn order."""
    records = desk_of(request).records
    try:
        with records.look() as look:
            candidate = candidate_of(look, trial_id, form.must("candidate", "the candidate"))
        use = next(one for one in BESIDE if one == form.choice("use", BESIDE, "the use of the sheet"))
        acted = add_sheet(
            records, candidate.id, use=use, who=person_of(request).name, words=form.text("words")
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, trial_id, problem=str(error))
    return done(f"/trials/{trial_id}/print", acted.entry_id, at="others")


@router.get("/trials/{trial_id}/stickers")
def stickers(request: Request, trial_id: str) -> HTMLResponse:
    """Labels to print and cut, for the backs of the sheets; they do not name the medium."""
    with desk_of(request).records.look() as look:
        facts = load_facts(look, trial_id)
    return page(request, "stickers.html", stickers_view(facts))


def candidate_of(look: Look, trial_id: str, candidate_id: str) -> Candidate:
    """A candidate of a trial.

    Raises
    ------
    UnknownRecord
        It is another trial's, or nobody's.
    """
    candidate = look.get(Candidate, candidate_id)
    if candidate.trial_id != trial_id:
        raise UnknownRecord("there is no such candidate in this trial.", todo="Open the page again.")
    return candidate


def back_to(form: Form, trial_id: str, otherwise: str) -> str:
    """The page a form asks to come back to, where it is one of this trial or of the bench."""
    back = form.text("back")
    return back if back.startswith((f"/trials/{trial_id}/", "/bench/")) else otherwise


def _show(request: Request, trial_id: str, *, problem: str = "") -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        view = print_view(look, load_facts(look, trial_id), now=records.now(), problem=problem)
    return page(request, "print_station.html", view, status=422 if problem else 200)


def _begin(
    request: Request,
    trial_id: str,
    candidate_id: str,
    *,
    find: str = "",
    typed: Mapping[str, str] | None = None,
    problem: str = "",
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        candidate = candidate_of(look, trial_id, candidate_id)
        facts = load_facts(look, trial_id)
        view = begin_view(look, facts, candidate, now=records.now(), find=find, typed=typed, problem=problem)
    return page(request, "begin.html", view, status=422 if problem else 200)
