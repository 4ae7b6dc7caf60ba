"""Booking a delivery in: medium, lot and every roll or box of it on one page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, cast, get_args

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.trials.stock import Medium, MediumKind, Roll
from laydown.trials.studio import Studio
from laydown.usecases.stock.book_in_delivery import MOST_PIECES, book_in_delivery
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.shelf_fields import values_of
from laydown.web.shelves import studio_of
from laydown.web.views.delivery import delivery_view
from laydown.web.views.stock_fields import delivery_fields

router = APIRouter(prefix="/stock/book-in", dependencies=[Depends(allow())])
KEPT_TEXTS = ("medium_id", "medium_name", "kind", "supplier", "lot", "received", "form", "pieces", "code")


@router.get("")
def book_in(request: Request, medium_id: str = "") -> HTMLResponse:
    """The form of a delivery."""
    return _show(request, {"medium_id": medium_id, "form": "roll", "pieces": "1"})


@router.post("", response_model=None)
def booked_in(request: Request, form: Annotated[Form, Depends(posted)]) -> HTMLResponse | RedirectResponse:
    """Keep all of it, or say what is wrong."""
    records = desk_of(request).records
    with records.look() as look:
        studio = studio_of(look)
    try:
        acted = book_in_delivery(
            records,
            _medium(form),
            lot_code=form.must("lot", "the lot"),
            piece=_piece(form, studio),
            pieces=form.whole("pieces", "how many", low=1, high=int(MOST_PIECES.value)) or 1,
            supplier_name=form.text("supplier"),
            received=form.day("received", "received"),
            who=person_of(request).name,
        )
    except LaydownError as refused:
        names = [*KEPT_TEXTS, *(field.name for field in delivery_fields(studio.units))]
        return _show(request, {name: form.text(name) for name in names}, refusal=str(refused))
    only = acted.thing[0]
    return done(
        f"/stock/rolls/{only.id}" if len(acted.thing) == 1 else f"/stock/lots/{only.lot_id}", acted.entry_id
    )


def _medium(form: Form) -> Medium:
    """The medium that was chosen, or a new one of the name that was typed."""
    chosen, name = form.text("medium_id"), form.text("medium_name")
    if chosen and name:
        raise BadSetting(
            "a medium was chosen and a new one named.", todo="Clear the name, or choose “a new medium”."
        )
    if not chosen and not name:
        raise BadSetting("the medium is missing.", todo="Choose one, or write the name of a new one.")
    kind = cast(MediumKind, form.choice("kind", get_args(MediumKind), "kind") if name else "paper")
    return Medium(id=chosen, name=name, kind=kind)


def _piece(form: Form, studio: Studio) -> Roll:
    told = values_of(form, delivery_fields(studio.units), studio=studio)
    is_roll = form.choice("form", ("roll", "sheets"), "roll or box") == "roll"
    length, sheet_length = told.pop("length_mm"), told.pop("sheet_length_mm")
    core, sheets = told.pop("core_mm"), told.pop("sheets")
    if (sheets or sheet_length) if is_roll else (length or core):
        other, own = ("boxes", "rolls") if is_roll else ("rolls", "boxes")
        raise BadSetting(
            f"this says {own}, but something is filled in for {other}.", todo="Clear it, or say what came."
        )
    return Roll(
        id="",
        lot_id="",
        form="roll" if is_roll else "sheets",
        code=form.text("code"),
        length_mm=length if is_roll else sheet_length,
        core_mm=core,
        sheets=sheets,
        **told,
    )


def _show(request: Request, texts: Mapping[str, str], *, refusal: str = "") -> HTMLResponse:
    with desk_of(request).records.look() as look:
        view = delivery_view(look, dict.fromkeys(KEPT_TEXTS, "") | dict(texts), studio=studio_of(look),
                             refusal=refusal)  # fmt: skip
    return page(request, "delivery.html", view, status=422 if refusal else 200)
