"""Correct something on the stock lists."""

from __future__ import annotations

from typing import Any

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.trials.stock import Lot, Roll, RollUse
from laydown.trials.studio import PrinterEvent
from laydown.usecases.acted import Acted
from laydown.usecases.stock.sound import sound
from laydown.usecases.stock.stock_words import StockThing, called

_BELONGS_BY: dict[type[Any], str] = {
    Lot: "medium_id",
    Roll: "lot_id",
    RollUse: "roll_id",
    PrinterEvent: "printer_id",
}


def amend(records: Records, thing: StockThing, *, who: str, seen: int | None = None) -> Acted[StockThing]:
    """Keep a thing of the stock room as it is given now.

    Raises
    ------
    BadSetting
        As in ``book_in``; or a lot, roll, use or event would belong to something else than before.
    UnknownRecord
        It is not kept.
    ChangedMeanwhile
        ``seen`` is given and somebody changed it after that revision.
    """
    with records.work("corrected", who=who) as work:
        before = work.get(type(thing), thing.id)
        owner = _BELONGS_BY.get(type(thing))
        if owner is not None and getattr(before, owner) != getattr(thing, owner):
            raise BadSetting(
                f"{called(work, before)} stays with what it belongs to.",
                todo="Take it away and book it in where it belongs.",
            )
        work.say(called(work, before))
        return Acted(work.change(sound(work, thing), seen=seen), work.entry_id)
