"""Printers, and what happened to them: heads, cleanings, firmware, ink lots."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.stock.take_away import take_away
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.shelf_fields import values_of
from laydown.web.shelves import Shelf, shelf_router, show_thing, studio_of
from laydown.web.views.printer import printer_part
from laydown.web.views.stock_fields import event_fields, printer_fields

Posted = Annotated[Form, Depends(posted)]

PRINTERS = Shelf(
    Printer, "/printers", "Printers", "printer",
    "No printer yet. Its head gaps, margins and inks are what the bench lists and the count of what is left "
    "are made from; its history tells which prints belong to which head.",
    fields=lambda _look, studio, _thing, _told: printer_fields(studio.units), name=lambda thing: thing.name,
    extra=lambda look, thing, studio, now: printer_part(look, thing, studio=studio, now=now),
    cautions=lambda _look, _thing, _now: (
        "Moving parts: stop and unplug before reaching in; its manual comes first.",
    ),
)  # fmt: skip
router = APIRouter()
router.include_router(shelf_router(PRINTERS))


@router.post("/printers/{printer_id}/events", dependencies=[Depends(allow())], response_model=None)
def note(request: Request, printer_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Something happened to it."""
    records = desk_of(request).records
    with records.look() as look:
        studio = studio_of(look)
    try:
        told = values_of(form, event_fields(), studio=studio)
        event = PrinterEvent(id="", printer_id=printer_id, **told)
        acted = book_in(records, event, who=person_of(request).name)
    except LaydownError as refused:
        return show_thing(request, PRINTERS, printer_id, refusal=str(refused), typed=form)
    return done(f"/printers/{printer_id}", acted.entry_id, at="history")


@router.post(
    "/printers/{printer_id}/events/{event_id}/remove", dependencies=[Depends(allow()), Depends(posted)]
)
def strike(request: Request, printer_id: str, event_id: str) -> RedirectResponse:
    """It did not happen after all."""
    acted = take_away(desk_of(request).records, PrinterEvent, event_id, who=person_of(request).name)
    return done(f"/printers/{printer_id}", acted.entry_id, at="history")
