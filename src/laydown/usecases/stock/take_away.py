"""Take something off the stock lists, unless something else still refers to it."""

from __future__ import annotations

from typing import Any

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.references_query import referrers_of
from laydown.records.work import Work
from laydown.trials.remarks import Attachment, Note
from laydown.trials.stock import Roll, RollUse
from laydown.trials.studio import Printer, PrinterEvent
from laydown.usecases.acted import Acted
from laydown.usecases.stock.stock_words import StockThing, called, counted


def take_away(records: Records, noun: type[StockThing], id: str, *, who: str) -> Acted[StockThing]:  # noqa: A002
    """Take a thing off the lists, with what is only about it: its notes and files, a printer's events, uses
    of a roll outside trials. Undoing brings all of it back.

    Raises
    ------
    RefusedInput
        Something else still refers to it; the sentence says what.
    UnknownRecord
        It is not kept.
    """
    with records.work("took away", who=who) as work:
        thing = work.get(noun, id)
        words = called(work, thing)
        own = _own_parts(work, thing)
        _refuse_in_use(work, noun, id, words, own)
        work.say(words)
        kinds = [type(part) for part in own]
        told = [counted(kind, kinds.count(kind)) for kind in dict.fromkeys(kinds)]
        if told:
            work.say(f"with {' and '.join(told)}")
        for part in own:
            work.remove(type(part), part.id)
        work.remove(noun, id)
        return Acted(thing, work.entry_id)


def _own_parts(work: Work, thing: Any) -> list[Any]:
    own: list[Any] = [*work.find(Attachment, about=thing.id), *work.find(Note, about=thing.id)]
    if isinstance(thing, Printer):
        own += work.find(PrinterEvent, printer_id=thing.id)
    if isinstance(thing, Roll):
        own += work.find(RollUse, roll_id=thing.id, trial_id=None)
    return own


def _refuse_in_use(work: Work, noun: type[Any], id: str, words: str, own: list[Any]) -> None:  # noqa: A002
    owned = [type(part) for part in own]
    left = [(one.noun, one.count - owned.count(one.noun)) for one in referrers_of(work, noun, id)]
    told = [counted(kind, count) for kind, count in left if count > 0]
    if told:
        raise RefusedInput(
            f"{words} is still named by {' and '.join(told)}.",
            todo="Take that away first, or leave this in place.",
        )
