"""What things of the stock room are called in the journal and in refusals."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, TypeVar

from laydown.records.look import Look
from laydown.trials.remarks import Attachment, Note
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent
from laydown.trials.trial import Candidate

StockThing = TypeVar("StockThing", Supplier, Medium, Lot, Roll, RollUse, Certificate, Printer, PrinterEvent)

# One and several, for counting what refers to a thing.
COUNTED: Mapping[type[Any], tuple[str, str]] = MappingProxyType(
    {
        Medium: ("medium", "media"),
        Lot: ("lot", "lots"),
        Roll: ("roll or box", "rolls or boxes"),
        RollUse: ("use", "uses"),
        Certificate: ("certificate", "certificates"),
        PrinterEvent: ("event", "events"),
        Candidate: ("candidate of a trial", "candidates of trials"),
        BenchRun: ("bench run", "bench runs"),
        Sheet: ("sheet", "sheets"),
        Note: ("note", "notes"),
        Attachment: ("attached file", "attached files"),
    }
)


def counted(noun: type[Any], count: int) -> str:
    """Such as "2 lots"."""
    one, several = COUNTED.get(noun, (noun.__name__.lower(), f"{noun.__name__.lower()}s"))
    return f"{count} {one if count == 1 else several}"


def called(look: Look, thing: Any) -> str:
    """What a thing is called, such as "roll 2 of lot 2417 of Fenland Rag"."""
    return _CALLED[type(thing)](look, thing)


def roll_word(roll: Roll) -> str:
    """A roll or a box, with the number on its label."""
    return f"{'roll' if roll.form == 'roll' else 'box'} {roll.code}".strip()


def _lot(look: Look, lot: Lot) -> str:
    medium = look.seek(Medium, lot.medium_id)
    return f"lot {lot.code} of {medium.name}" if medium else f"lot {lot.code}"


def _roll(look: Look, roll: Roll) -> str:
    lot = look.seek(Lot, roll.lot_id)
    return f"{roll_word(roll)} of {_lot(look, lot)}" if lot else roll_word(roll)


def _use(look: Look, use: RollUse) -> str:
    roll = look.seek(Roll, use.roll_id)
    return f"what was taken from {_roll(look, roll)}" if roll else "what was taken from a roll"


def _event(look: Look, event: PrinterEvent) -> str:
    printer = look.seek(Printer, event.printer_id)
    return f"“{event.kind}” of {printer.name}" if printer else f"“{event.kind}”"


_CALLED: Mapping[type[Any], Callable[[Look, Any], str]] = MappingProxyType(
    {
        Supplier: lambda _, thing: f"the supplier {thing.name}",
        Medium: lambda _, thing: f"the medium {thing.name}",
        Lot: _lot,
        Roll: _roll,
        RollUse: _use,
        Certificate: lambda _, thing: f"the certificate “{thing.title}”",
        Printer: lambda _, thing: f"the printer {thing.name}",
        PrinterEvent: _event,
    }
)
