"""Put something new on the stock lists: a supplier, a medium, a lot, a roll, a printer, a certificate."""

from __future__ import annotations

from dataclasses import replace

from laydown.records.ledger import Records
from laydown.usecases.acted import Acted
from laydown.usecases.stock.sound import sound
from laydown.usecases.stock.stock_words import StockThing, called


def book_in(records: Records, thing: StockThing, *, who: str) -> Acted[StockThing]:
    """Keep a new thing of the stock room; one without an ``id`` is given one.

    Raises
    ------
    BadSetting
        It has no name, another one has the same, a size or a day is not possible.
    UnknownRecord
        What it belongs to is not kept.
    """
    with records.work("booked in", who=who) as work:
        new = sound(work, thing if thing.id else replace(thing, id=records.new_id()))
        work.add(new)
        work.say(called(work, new))
        return Acted(new, work.entry_id)
