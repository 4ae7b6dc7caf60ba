"""What should not be on the stock lists: nameless or twice named things, impossible sizes, days to come."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from datetime import date, timedelta
from types import MappingProxyType
from typing import Any

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.records.stock_query import named_alike
from laydown.records.work import Work
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.stock.stock_words import StockThing, roll_word

LONGEST_NAME = 200
LIGHTEST_GSM = Constant(10.0, "g/m2", "chosen here: thinner than tissue is a slip", "computed")
HEAVIEST_GSM = Constant(3000.0, "g/m2", "chosen here: heavier than board is a slip", "computed")
THINNEST_UM = Constant(10.0, "um", "chosen here: thinner than film is a slip", "computed")
THICKEST_UM = Constant(10_000.0, "um", "chosen here: thicker than board is a slip", "computed")
_SEVERAL_LINES = frozenset({"words", "other_claims", "result"})
_A_DAY = timedelta(days=1)  # it may be tomorrow already where the label was written


def sound(work: Work, thing: StockThing) -> StockThing:
    """The thing with its words tidied, once nothing about it is what should not be.

    Raises
    ------
    BadSetting
        It has no name, another one has the same, a size or a day is not possible.
    UnknownRecord
        What it belongs to is not kept.
    """
    tidy = _tidied(thing)
    _CHECKS[type(tidy)](work, tidy)
    return tidy


def _tidied(thing: StockThing) -> StockThing:
    """Words trimmed, and on one line but for remarks and the like."""
    told: dict[str, Any] = {}
    for item in fields(thing):
        value = getattr(thing, item.name)
        if isinstance(value, str) and item.name != "id":
            told[item.name] = value.strip() if item.name in _SEVERAL_LINES else " ".join(value.split())
    return replace(thing, **told)


def _named(work: Work, thing: Any, *, what: str, field: str = "name", todo: str, **equal: str) -> None:
    text = getattr(thing, field)
    if not text:
        raise BadSetting(f"{what} has no {field}.", todo=todo)
    if len(text) > LONGEST_NAME:
        raise BadSetting(f"the {field} is longer than {LONGEST_NAME} characters.", todo="Shorten it.")
    if any(other.id != thing.id for other in named_alike(work, type(thing), field, text, **equal)):
        raise BadSetting(
            f'there is {what} "{text}" already.', todo="Use that one, or give this one another name."
        )


def _supplier(work: Work, thing: Supplier) -> None:
    _named(work, thing, what="a supplier", todo="Write who sells it.")


def _medium(work: Work, thing: Medium) -> None:
    _named(work, thing, what="a medium", todo="Write its name as its label has it.")
    if thing.supplier_id is not None:
        work.get(Supplier, thing.supplier_id)
    _within(thing.weight_gsm, LIGHTEST_GSM, HEAVIEST_GSM, "a weight")
    _within(thing.caliper_um, THINNEST_UM, THICKEST_UM, "a thickness")


def _lot(work: Work, thing: Lot) -> None:
    work.get(Medium, thing.medium_id)
    todo = "Copy it from the label; if the label has none, write the day it came."
    _named(work, thing, what="a lot", field="code", todo=todo, medium_id=thing.medium_id)
    _not_to_come(work, thing.received, "it was received")


def _roll(work: Work, thing: Roll) -> None:
    work.get(Lot, thing.lot_id)
    if thing.code:
        what = f"{'a roll' if thing.form == 'roll' else 'a box'} of this lot called"
        _named(work, thing, what=what, field="code", todo="", lot_id=thing.lot_id)
    _not_to_come(work, thing.received, "it was received")
    _not_to_come(work, thing.opened, "it was opened")
    if thing.received and thing.opened and thing.opened < thing.received:
        raise BadSetting(
            f"{roll_word(thing)} was opened on {thing.opened}, before it was received on {thing.received}.",
            todo="Correct one of the two days.",
        )
    for value, what in ((thing.width_mm, "width"), (thing.length_mm, "length"), (thing.core_mm, "core")):
        if value is not None and value <= 0:
            raise BadSetting(
                f"a {what} of {value:.10g} mm is not possible.", todo="Correct it or leave it empty."
            )
    if thing.sheets is not None and (thing.form == "roll" or thing.sheets < 1):
        raise BadSetting(
            "only a box counts sheets, and at least one.", todo="Say that it is a box, or leave it."
        )
    if thing.price is not None and thing.price < 0:
        raise BadSetting("a price below nothing is not possible.", todo="Correct it or leave it empty.")
    if thing.price is not None and not thing.currency:
        raise BadSetting(
            "the price has no currency.", todo="Write it as three letters, such as EUR, GBP or USD."
        )


def _roll_use(work: Work, thing: RollUse) -> None:
    roll = work.get(Roll, thing.roll_id)
    if (thing.length_mm is None) == (thing.sheets is None) or (thing.sheets is None) != (roll.form == "roll"):
        raise BadSetting(
            "from a roll a length is taken, from a box a number of sheets.", todo="Write one of the two."
        )


def _certificate(work: Work, thing: Certificate) -> None:
    if not thing.title:
        raise BadSetting("the certificate has no title.", todo="Write what it calls itself.")
    if thing.medium_id is not None:
        work.get(Medium, thing.medium_id)
    _not_to_come(work, thing.tested, "it was tested")


def _printer(work: Work, thing: Printer) -> None:
    _named(work, thing, what="a printer", todo="Write what you call it in the studio.")
    gaps = [gap.casefold() for gap in thing.head_gaps]
    if len(set(gaps)) < len(gaps):
        raise BadSetting("two head gaps have the same name.", todo="Write each setting once, narrow to wide.")


def _printer_event(work: Work, thing: PrinterEvent) -> None:
    work.get(Printer, thing.printer_id)
    if thing.at > work.now + _A_DAY:
        raise BadSetting(f"“{thing.kind}” cannot be in the future.", todo="Correct the day.")


def _within(value: float | None, low: Constant, high: Constant, what: str) -> None:
    if value is not None and not low.value <= value <= high.value:
        raise BadSetting(
            f"{what} of {value:.10g} {low.unit} is not possible.",
            todo=f"Write {low.value:.10g} to {high.value:.10g}.",
        )


def _not_to_come(work: Work, day: date | None, what: str) -> None:
    if day is not None and day > (work.now + _A_DAY).date():
        raise BadSetting(f"{what} on {day}, which is still to come.", todo="Correct the day.")


_CHECKS: Mapping[type[Any], Callable[[Work, Any], None]] = MappingProxyType(
    {
        Supplier: _supplier,
        Medium: _medium,
        Lot: _lot,
        Roll: _roll,
        RollUse: _roll_use,
        Certificate: _certificate,
        Printer: _printer,
        PrinterEvent: _printer_event,
    }
)
