"""The history of a printer: what happened to it, newest first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import moment_field, moment_words
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.web.shelf_fields import Field
from laydown.web.views.stock_fields import event_fields

MOST_EVENTS = 200


@dataclass(frozen=True, slots=True)
class EventLine:
    """One thing that happened."""

    id: str
    when: str
    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class PrinterPart:
    """What the page of a printer shows besides its facts; ``more`` says that older events are not shown."""

    events: tuple[EventLine, ...]
    more: bool
    fields: tuple[Field, ...]
    now: str


def printer_part(look: Look, printer: Printer, *, studio: Studio, now: datetime) -> PrinterPart:
    """The part of its page that only a printer has."""
    events = look.find(PrinterEvent, printer_id=printer.id, order=("-at", "id"), limit=MOST_EVENTS + 1)
    return PrinterPart(
        events=tuple(
            EventLine(one.id, moment_words(one.at, time_zone=studio.time_zone), one.kind, one.words)
            for one in events[:MOST_EVENTS]
        ),
        more=len(events) > MOST_EVENTS,
        fields=event_fields(),
        now=moment_field(now, time_zone=studio.time_zone),
    )
