"""One sheet: what it is, what happened to it, its clocks and readings, and how it changed after printing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import LaydownError, NotEnoughData, UnknownRecord
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.report.figures.drift import drift as drift_figure
from laydown.report.figures.figure import Figure, figure_csv, figure_svg
from laydown.report.moments import moment_field
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import RollUse
from laydown.usecases.acted import Acted
from laydown.usecases.bench.drift_of_sheet import drift_of_sheet
from laydown.usecases.bench.sheet_events import LaterKind, correct_event, note_event, take_back_event
from laydown.usecases.bench.spoil_sheet import replace_with_spare, spoil_sheet
from laydown.usecases.stock.amend import amend
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.pages.print_station import back_to
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.room_climate import room_of
from laydown.web.views.drift import drift_view, no_drift_view
from laydown.web.views.sheet import sheet_view

router = APIRouter(prefix="/trials/{trial_id}/sheets/{sheet_id}", dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]
LATER: tuple[LaterKind, ...] = ("trimmed", "glazed", "mounted", "handled", "other")
WIDTH, NARROW = 720, 420


@router.get("")
def show_sheet(request: Request, trial_id: str, sheet_id: str) -> HTMLResponse:
    """Everything about a sheet."""
    return _show(request, trial_id, sheet_id)


@router.post("/happened")
def happened(request: Request, trial_id: str, sheet_id: str, form: Posted) -> Response:
    """It was trimmed, glazed, mounted, handled, or something else happened to it."""

    def act(records: Records, facts: TrialFacts, who: str) -> Acted[SheetEvent]:
        chosen = form.choice("kind", LATER, "what happened")
        return note_event(
            records,
            sheet_id,
            kind=next(one for one in LATER if one == chosen),
            who=who,
            at=form.moment("when", "when it happened", studio=facts.studio),
            words=form.text("words"),
            early_why=form.text("early_why"),
        )

    return _act(request, trial_id, sheet_id, act)


@router.post("/spoil")
def spoil(request: Request, trial_id: str, sheet_id: str, form: Posted) -> Response:
    """It is spoiled, and perhaps a spare takes its place."""

    def act(records: Records, facts: TrialFacts, who: str) -> Acted[SheetEvent]:
        return spoil_sheet(
            records,
            sheet_id,
            why=form.text("why"),
            who=who,
            at=form.moment("when", "when it was spoiled", studio=facts.studio),
            replaced=form.flag("replaced"),
        )

    here = f"/trials/{trial_id}/sheets/{sheet_id}"
    return _act(request, trial_id, sheet_id, act, back=back_to(form, trial_id, here))


@router.post("/replace")
def replace_it(request: Request, trial_id: str, sheet_id: str, form: Posted) -> Response:
    """A spare takes its place."""
    here = f"/trials/{trial_id}/sheets/{sheet_id}"
    return _act(
        request,
        trial_id,
        sheet_id,
        lambda records, _, who: replace_with_spare(records, sheet_id, who=who),
        back=back_to(form, trial_id, here),
    )


@router.post("/events/{event_id}/correct")
def correct(request: Request, trial_id: str, sheet_id: str, event_id: str, form: Posted) -> Response:
    """Something was noted wrongly: when, in which room."""

    def act(records: Records, facts: TrialFacts, who: str) -> Acted[SheetEvent]:
        event = _own_event(records, sheet_id, event_id)
        warmth, humidity = room_of(form, facts.studio)
        # A field holds whole minutes; one that was left as it is must not move the event to the full minute.
        left = form.text("when") == moment_field(event.at, time_zone=facts.studio.time_zone)
        return correct_event(
            records,
            event_id,
            why=form.text("why"),
            who=who,
            at=None if left else form.moment("when", "when it was", studio=facts.studio),
            room_c=warmth,
            room_rh=humidity,
            seen=form.whole("seen", "the page's number", low=0, high=10**12),
        )

    return _act(request, trial_id, sheet_id, act)


@router.post("/events/{event_id}/take-back")
def take_back(request: Request, trial_id: str, sheet_id: str, event_id: str, form: Posted) -> Response:
    """Something that was noted did not happen."""

    def act(records: Records, _: TrialFacts, who: str) -> Acted[Sheet]:
        _own_event(records, sheet_id, event_id)
        return take_back_event(records, event_id, why=form.text("why"), who=who)

    return _act(request, trial_id, sheet_id, act)


@router.post("/taken")
def taken(request: Request, trial_id: str, sheet_id: str, form: Posted) -> Response:
    """What it took from its roll or box was another amount."""

    def act(records: Records, facts: TrialFacts, who: str) -> Acted[RollUse]:
        printed = next(iter(facts.events_of(sheet_id, "printed")), None)
        with records.look() as look:
            use = look.get(RollUse, printed.id if printed else "")
        length = form.length("taken", "the length used", studio=facts.studio) if use.sheets is None else None
        sheets = (
            form.whole("taken", "the sheets used", low=0, high=10_000) if use.sheets is not None else None
        )
        changed = replace(use, length_mm=length, sheets=sheets)
        seen = form.whole("seen", "the page's number", low=0, high=10**12)
        corrected = amend(records, changed, who=who, seen=seen)
        return Acted(changed, corrected.entry_id)

    return _act(request, trial_id, sheet_id, act)


@router.get("/drift")
def show_drift(request: Request, trial_id: str, sheet_id: str, condition: str = "") -> HTMLResponse:
    """How it changed after printing, and when it had settled."""
    records = desk_of(request).records
    now = records.now()
    with records.look() as look:
        facts, sheet = _facts_of(look, trial_id, sheet_id)
        try:
            found = drift_of_sheet(look, facts, sheet, condition=condition)
        except NotEnoughData as error:
            return page(request, "drift.html", no_drift_view(facts, sheet, now=now, why=str(error)))
    return page(request, "drift.html", drift_view(facts, sheet, found, now=now))


@router.get("/drift.svg")
def drift_drawn(
    request: Request, trial_id: str, sheet_id: str, condition: str = "", narrow: bool = False
) -> Response:
    """The curve as a drawing, for a wide page or for a telephone."""
    width = NARROW if narrow else WIDTH
    drawn = figure_svg(_figure(request, trial_id, sheet_id, condition, width=width))
    return Response(drawn, media_type="image/svg+xml")


@router.get("/drift.csv")
def drift_numbers(request: Request, trial_id: str, sheet_id: str, condition: str = "") -> Response:
    """The numbers of the curve."""
    numbers = figure_csv(_figure(request, trial_id, sheet_id, condition))
    return Response(
        ("\ufeff" + numbers).encode(),  # the mark lets spreadsheets read accents
        media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="drift.csv"'},
    )


def _figure(request: Request, trial_id: str, sheet_id: str, condition: str, *, width: int = WIDTH) -> Figure:
    with desk_of(request).records.look() as look:
        facts, sheet = _facts_of(look, trial_id, sheet_id)
        found = drift_of_sheet(look, facts, sheet, condition=condition)
    return drift_figure(
        found.curve, sheet=f"Sheet {sheet.code}", condition=found.condition, names=found.names, width=width
    )


def _facts_of(look: Look, trial_id: str, sheet_id: str) -> tuple[TrialFacts, Sheet]:
    sheet = look.get(Sheet, sheet_id)
    if sheet.trial_id != trial_id:
        raise UnknownRecord("there is no such sheet in this trial.", todo="Open the page again.")
    return load_facts(look, trial_id), sheet


def _own_event(records: Records, sheet_id: str, event_id: str) -> SheetEvent:
    with records.look() as look:
        event = look.get(SheetEvent, event_id)
    if event.sheet_id != sheet_id:
        raise UnknownRecord("nothing of the kind happened to this sheet.", todo="Open the page again.")
    return event


def _act(
    request: Request,
    trial_id: str,
    sheet_id: str,
    act: Callable[[Records, TrialFacts, str], Acted[SheetEvent] | Acted[Sheet] | Acted[RollUse]],
    *,
    back: str = "",
) -> Response:
    """Do it and go back to the page; a refusal is shown on the page of the sheet."""
    records = desk_of(request).records
    with records.look() as look:
        facts, _ = _facts_of(look, trial_id, sheet_id)
    try:
        acted = act(records, facts, person_of(request).name)
    except UnknownRecord:
        raise
    except LaydownError as error:
        return _show(request, trial_id, sheet_id, problem=str(error))
    return done(back or f"/trials/{trial_id}/sheets/{sheet_id}", acted.entry_id)


def _show(request: Request, trial_id: str, sheet_id: str, *, problem: str = "") -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        facts, sheet = _facts_of(look, trial_id, sheet_id)
        view = sheet_view(look, facts, sheet, now=records.now(), problem=problem)
    return page(request, "sheet.html", view, status=422 if problem else 200)
