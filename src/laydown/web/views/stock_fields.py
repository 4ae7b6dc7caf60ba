"""Which fields the forms of the stock room have, noun by noun."""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from laydown.records.look import Look
from laydown.trials.stock import BlackInk, Lot, Medium, MediumKind, StockForm, Supplier, Surface
from laydown.trials.studio import PrinterEventKind, Units
from laydown.web.shelf_fields import Field

NOT_STATED = ("", "not stated")
MOST_CHOICES = 2000


def supplier_fields() -> tuple[Field, ...]:
    """Fields of a supplier."""
    return (
        Field("name", "Name", needed=True),
        Field("contact", "Contact", hint="Telephone, address, whom to ask for"),
        Field("words", "Remarks", "area"),
    )


def medium_fields(look: Look) -> tuple[Field, ...]:
    """Fields of a medium; what others claim of it stands apart."""
    claims = "What its maker or supplier claims"
    suppliers = look.find(Supplier, order=("name",), limit=MOST_CHOICES)
    return (
        Field("name", "Name", needed=True, hint="As the label has it"),
        Field("supplier_id", "Supplier", "choice", options=_choices(suppliers), or_none=True),
        Field("kind", "Kind", "choice", options=_words(get_args(MediumKind))),
        Field("surface", "Surface", "choice", options=_words(get_args(Surface))),
        Field("base", "Base", hint="Cotton, alpha-cellulose, poly-cotton ..."),
        Field("weight_gsm", "Weight, g/m2", "number", low=1, high=5000),
        Field("caliper_um", "Thickness", "caliper", hint="Such as 310 µm or 12 mil"),
        Field("barrier", "Barrier layer", "yes or no", hint="Resin-coated or baryta: cures slowly"),
        Field("black_ink", "Black ink it is made for", "choice", options=_words(get_args(BlackInk))),
        Field("words", "Remarks", "area"),
        Field(
            "brightener_claim",
            "Brighteners",
            hint="In their words; never mixed with what you measure",
            group=claims,
        ),
        Field("other_claims", "Other claims", "area", group=claims),
    )


def lot_fields(look: Look | None) -> tuple[Field, ...]:
    """Fields of a lot; the medium is asked for only while it is new."""
    parent: tuple[Field, ...] = ()
    if look is not None:
        media = look.find(Medium, order=("name",), limit=MOST_CHOICES)
        parent = (Field("medium_id", "Medium", "choice", options=_choices(media), needed=True),)
    return (
        *parent,
        Field(
            "code", "Lot or batch", needed=True, hint="Copy it from the label before the box is thrown away"
        ),
        Field("received", "Received", "day"),
        Field("words", "Remarks", "area"),
    )


def roll_fields(look: Look | None, form: StockForm, units: Units) -> tuple[Field, ...]:
    """Fields of a roll or of a box of sheets; the lot is asked for only while it is new."""
    parent: tuple[Field, ...] = ()
    if look is not None:
        parent = (Field("lot_id", "Lot", "choice", options=_lot_choices(look), needed=True),)
    short = "Such as 17 in or 432 mm" if units == "inch" else "Such as 432 mm or 17 in"
    size = (
        (
            Field("width_mm", "Width", "length", hint=short),
            Field("length_mm", "Length when new", "run", hint="Such as 20 ft or 6.1 m"),
            Field("core_mm", "Core", "length", hint="Such as 3 in or 76 mm"),
        )
        if form == "roll"
        else (
            Field("sheets", "Sheets when new", "whole", low=1, high=100_000),
            Field("width_mm", "Width of a sheet", "length", hint=short),
            Field("length_mm", "Length of a sheet", "length", hint="Such as 19 in or 483 mm"),
        )
    )
    return (
        *parent,
        Field("code", "Roll number" if form == "roll" else "Box number", hint="From the label, or your own"),
        *size,
        Field("received", "Received", "day"),
        Field("opened", "Opened", "day", hint="The day it came out of its wrapping"),
        Field("price", "Price", "number", low=0, high=1e7),
        Field("currency", "Currency", hint="EUR, GBP, USD ..."),
        Field("words", "Remarks", "area"),
    )


def delivery_fields(units: Units) -> tuple[Field, ...]:
    """Fields of what came in a delivery; either the length of a roll or the sheets of a box are filled in."""
    short = "Such as 17 in or 432 mm" if units == "inch" else "Such as 432 mm or 17 in"
    roll, box, money = "If it is rolls", "If it is boxes of sheets", "Price of one"
    return (
        Field("width_mm", "Width", "length", hint=short),
        Field("length_mm", "Length of a roll", "run", hint="Such as 20 ft or 6.1 m", group=roll),
        Field("core_mm", "Core", "length", hint="Such as 3 in or 76 mm", group=roll),
        Field("sheets", "Sheets in a box", "whole", low=1, high=100_000, group=box),
        Field("sheet_length_mm", "Length of a sheet", "length", hint="Such as 19 in or 483 mm", group=box),
        Field("price", "Price", "number", low=0, high=1e7, group=money),
        Field("currency", "Currency", hint="EUR, GBP, USD ...", group=money),
    )


def certificate_fields(look: Look) -> tuple[Field, ...]:
    """Fields of a test by others; each may stay empty, and is then shown as not stated."""
    media = look.find(Medium, order=("name",), limit=MOST_CHOICES)
    tested, how, result = "What was tested", "How", "What was found"
    return (
        Field("title", "Title", needed=True, hint="What it calls itself"),
        Field("medium_id", "Medium of yours it is about", "choice", options=_choices(media), or_none=True),
        Field("laboratory", "Laboratory"),
        Field("accreditation", "Accreditation"),
        Field("tested", "Date of the test", "day"),
        Field(
            "medium_as_stated",
            "Medium, as stated there",
            hint="With weight and lot, if they say",
            group=tested,
        ),
        Field("ink", "Ink set", group=tested),
        Field("coating", "Coating", group=tested),
        Field("glazing", "Glazing or filter", hint="Bare, glass, UV glass", group=tested),
        Field("method", "Method or standard", group=how),
        Field("light_source", "Light source", group=how),
        Field("light_level", "Light level and dose", group=how),
        Field("climate", "Temperature and humidity", group=how),
        Field("end_point", "End point", hint="Which change ended the test", group=how),
        Field("result", "Result, in their words", "area", group=result),
        Field("words", "Remarks of yours", "area", group=result),
    )


def printer_fields(units: Units) -> tuple[Field, ...]:
    """Fields of a printer."""
    margins = "What a load of a roll loses"
    short = "Such as 4 in" if units == "inch" else "Such as 100 mm"
    return (
        Field("name", "Name", needed=True, hint="What you call it in the studio"),
        Field("serial", "Serial number"),
        Field("ink_set", "Ink set"),
        Field("black_inks", "Black inks loaded", hint="Matte, photo, or both"),
        Field("firmware", "Firmware"),
        Field("widest_mm", "Widest medium", "length"),
        Field(
            "head_gaps",
            "Head gaps, narrow to wide",
            "list",
            hint="In its own words, with commas; empty if it has none",
        ),
        Field("has_cutter", "Has a cutter", "yes or no"),
        Field("words", "Remarks", "area"),
        Field("side_margin_mm", "At each side", "length", group=margins),
        Field("lead_mm", "At the start", "length", hint=short, group=margins),
        Field("tail_mm", "At the end", "length", group=margins),
    )


def event_fields() -> tuple[Field, ...]:
    """Fields of something that happened to a printer."""
    return (
        Field("kind", "What happened", "choice", options=_words(get_args(PrinterEventKind))),
        Field("at", "When", "moment", needed=True),
        Field("words", "In a few words", hint="Ink lot, firmware from and to, why"),
    )


def _choices(things: Iterable[Supplier | Medium]) -> tuple[tuple[str, str], ...]:
    return (NOT_STATED, *((thing.id, thing.name) for thing in things))


def _words(values: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((value, value or "not stated") for value in values)


def _lot_choices(look: Look) -> tuple[tuple[str, str], ...]:
    lots = look.find(Lot, order=("-received", "code"), limit=MOST_CHOICES)
    media = {
        medium.id: medium.name for medium in look.find_any(Medium, "id", {lot.medium_id for lot in lots})
    }
    return (NOT_STATED, *((lot.id, f"{media[lot.medium_id]}, lot {lot.code}") for lot in lots))
