"""The stock room: suppliers, media, lots, rolls and boxes; deliveries booked in, uses noted, what is left."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.look import Look
from laydown.report.lengths import parse_length
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, StockForm, Supplier
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.stock.take_away import take_away
from laydown.usecases.stock.use_roll import count_roll, use_roll
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.shelf_fields import Field
from laydown.web.shelves import Shelf, Told, shelf_router, show_list, show_thing, studio_of
from laydown.web.views.roll import roll_cautions, roll_part, roll_title
from laydown.web.views.stock import Row, Section, rows_of
from laydown.web.views.stock_fields import lot_fields, medium_fields, roll_fields, supplier_fields

MOST_SHOWN = 100
DELIVERY = ("Book in a delivery", "/stock/book-in")
_NOTHING = re.compile(r"0+(?:[.,]0*)?\s*[a-z]*", re.IGNORECASE)
Posted = Annotated[Form, Depends(posted)]


def _of_supplier(look: Look, thing: Supplier, studio: Studio) -> tuple[Section, ...]:
    media = look.find(Medium, supplier_id=thing.id, order=("name",), limit=MOST_SHOWN)
    add = (("Add a medium", f"/stock/media/new?supplier_id={thing.id}"),)
    return (Section("Media", rows_of(look, media, studio=studio), "No medium of theirs yet.", add),)


def _of_medium(look: Look, thing: Medium, studio: Studio) -> tuple[Section, ...]:
    lots = look.find(Lot, medium_id=thing.id, order=("-received", "code"), limit=MOST_SHOWN)
    rolls = look.find_any(Roll, "lot_id", [lot.id for lot in lots], order=("opened", "received", "id"))
    papers = look.find(Certificate, medium_id=thing.id, order=("title",), limit=MOST_SHOWN)
    arms = look.find(Candidate, medium_id=thing.id, limit=MOST_SHOWN)
    trials = look.find_any(Trial, "id", {one.trial_id for one in arms}, order=("begun",))
    return (
        Section(
            "Lots", rows_of(look, lots, studio=studio),
            "No lot yet. One lot stands for no other: what is measured holds for the lot it was measured on.",
            (("Add a lot", f"/stock/lots/new?medium_id={thing.id}"),
             (DELIVERY[0], f"{DELIVERY[1]}?medium_id={thing.id}")),
        ),
        Section("Rolls and boxes", rows_of(look, rolls[:MOST_SHOWN], studio=studio), "Nothing on the shelf."),
        Section("Certificates", rows_of(look, papers, studio=studio), "None kept.",
                (("Add a certificate", f"/certificates/new?medium_id={thing.id}"),)),
        Section(
            "Trials it is in",
            tuple(Row(f"/trials/{one.id}", one.name, "", "") for one in trials),
            "None yet.",
        ),
    )  # fmt: skip


def _of_lot(look: Look, thing: Lot, studio: Studio) -> tuple[Section, ...]:
    rolls = look.find(Roll, lot_id=thing.id, order=("code", "id"), limit=MOST_SHOWN)
    adds = tuple((f"Add a {word}", f"/stock/rolls/new?lot_id={thing.id}&form={form}")
                 for word, form in (("roll", "roll"), ("box", "sheets")))  # fmt: skip
    return (Section("Rolls and boxes", rows_of(look, rolls, studio=studio), "None of this lot yet.", adds),)


def _above_lot(look: Look, thing: Lot) -> tuple[tuple[str, str], ...]:
    medium = look.get(Medium, thing.medium_id)
    return ((medium.name, f"/stock/media/{medium.id}"),)


def _above_roll(look: Look, thing: Roll) -> tuple[tuple[str, str], ...]:
    lot = look.get(Lot, thing.lot_id)
    return (*_above_lot(look, lot), (f"lot {lot.code}", f"/stock/lots/{lot.id}"))


def _form_of(thing: Roll | None, told: Told) -> StockForm:
    return thing.form if thing else "sheets" if told.get("form") == "sheets" else "roll"


def _fields_of_roll(look: Look, studio: Studio, thing: Roll | None, told: Told) -> tuple[Field, ...]:
    return roll_fields(None if thing else look, _form_of(thing, told), studio.units)


def _medium_of(look: Look, roll: Roll) -> Medium:
    return look.get(Medium, look.get(Lot, roll.lot_id).medium_id)


SUPPLIERS = Shelf(
    Supplier, "/stock/suppliers", "Suppliers", "supplier",
    "Nobody yet. Note who sells a medium, and whom to ask when a lot is not what it was.",
    fields=lambda _look, _studio, _thing, _told: supplier_fields(), name=lambda thing: thing.name,
    sections=_of_supplier,
)  # fmt: skip
MEDIA = Shelf(
    Medium, "/stock/media", "Media", "medium",
    "No medium yet. A medium is a paper or canvas by its name; its lots and rolls hang below it. What its "
    "maker claims is kept as a claim, apart from what you measure.",
    fields=lambda look, _studio, _thing, _told: medium_fields(look), name=lambda thing: thing.name,
    sections=_of_medium,
)  # fmt: skip
LOTS = Shelf(
    Lot, "/stock/lots", "Lots", "lot",
    "No lot yet. Copy the lot from the label before the box is thrown away: grades change without notice, "
    "and only the lot tells which one you hold.",
    fields=lambda look, _studio, thing, _told: lot_fields(None if thing else look),
    name=lambda thing: f"Lot {thing.code}", above=_above_lot, sections=_of_lot,
)  # fmt: skip
ROLLS = Shelf(
    Roll, "/stock/rolls", "Rolls and boxes", "roll or box",
    "The shelf is empty. Book in a delivery as its label says: medium, lot, roll or box number, length, the "
    "day it came. What each print takes is then counted down by itself.",
    fields=_fields_of_roll, name=lambda thing: roll_title(thing)[:1].upper() + roll_title(thing)[1:],
    fixed={"form": ("roll", "sheets")}, above=_above_roll,
    cautions=lambda look, thing, now: roll_cautions(thing, _medium_of(look, thing), today=now.date()),
    extra=lambda look, thing, studio, _now: roll_part(look, thing, studio=studio),
    adds=(
        ("Add a roll", "/stock/rolls/new?form=roll"),
        ("Add a box", "/stock/rolls/new?form=sheets"),
    ),
)  # fmt: skip

router = APIRouter(dependencies=[Depends(allow())])


@router.get("/stock")
def stock(
    request: Request, q: str = "", number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1
) -> HTMLResponse:
    """What is on the shelf: every roll and box with what is left of it."""
    return show_list(request, ROLLS, query=q, number=number)


@router.post("/stock/rolls/{roll_id}/uses", response_model=None)
def take(request: Request, roll_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Something was taken from a roll or a box."""
    try:
        length, sheets = _amount(request, roll_id, form, "amount")
        acted = use_roll(
            desk_of(request).records,
            roll_id,
            who=person_of(request).name,
            length_mm=length,
            sheets=sheets,
            words=form.text("words"),
        )
    except LaydownError as refused:
        return show_thing(request, ROLLS, roll_id, refusal=str(refused), typed=form)
    return done(f"/stock/rolls/{roll_id}", acted.entry_id)


@router.post("/stock/rolls/{roll_id}/count", response_model=None)
def count(request: Request, roll_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
    """Somebody looked what is really left."""
    try:
        length, sheets = _amount(request, roll_id, form, "left")
        acted = count_roll(
            desk_of(request).records,
            roll_id,
            who=person_of(request).name,
            length_mm=length,
            sheets=sheets,
            words=form.text("why"),
        )
    except LaydownError as refused:
        return show_thing(request, ROLLS, roll_id, refusal=str(refused), typed=form)
    return done(f"/stock/rolls/{roll_id}", acted.entry_id)


@router.post("/stock/rolls/{roll_id}/uses/{use_id}/remove", dependencies=[Depends(posted)])
def give_back(request: Request, roll_id: str, use_id: str) -> RedirectResponse:
    """A use was noted by mistake."""
    acted = take_away(desk_of(request).records, RollUse, use_id, who=person_of(request).name)
    return done(f"/stock/rolls/{roll_id}", acted.entry_id)


def _amount(request: Request, roll_id: str, form: Form, field: str) -> tuple[float | None, int | None]:
    """The length or the number of sheets that was typed; nothing left is written as 0."""
    with desk_of(request).records.look() as look:
        roll, studio = look.get(Roll, roll_id), studio_of(look)
    if roll.form == "sheets":
        return None, form.whole(field, "sheets", low=0, high=1_000_000)
    text = form.must(field, "how much")
    if _NOTHING.fullmatch(text):
        return 0.0, None
    return parse_length(text, units=studio.units, long=True), None


for shelf in (SUPPLIERS, MEDIA, LOTS, ROLLS):
    router.include_router(shelf_router(shelf))
