"""What any kept thing is called and where its page is, for links from search and notes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from laydown.trials.measured import GlossReading, Reading
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Candidate, Trial

Named = tuple[str, str]


def thing_link(thing: Any) -> Named:
    """What a thing is called, and the address of its page; "" where it has none."""
    known = _LINKS.get(type(thing))
    return known(thing) if known else (type(thing).__name__.lower(), "")


def _roll_words(thing: Roll) -> str:
    return f"{'roll' if thing.form == 'roll' else 'box'} {thing.code}".strip()


_LINKS: Mapping[type[Any], Callable[[Any], Named]] = MappingProxyType(
    {
        Trial: lambda one: (one.name, f"/trials/{one.id}"),
        Candidate: lambda one: (one.name, f"/trials/{one.trial_id}/candidates/{one.id}"),
        Sheet: lambda one: (f"sheet {one.code}", f"/trials/{one.trial_id}/sheets/{one.id}"),
        BenchRun: lambda one: ("a sitting at the printer", f"/bench/{one.id}"),
        Reading: lambda one: (one.file_name, f"/trials/{one.trial_id}/measure"),
        GlossReading: lambda one: (f"gloss of the {one.place}", f"/trials/{one.trial_id}/gloss"),
        TestForm: lambda one: (f"test form {one.code}", f"/trials/{one.trial_id}/form/{one.id}"),
        Retrace: lambda one: (one.title, f"/retraces/{one.id}"),
        Supplier: lambda one: (one.name, f"/stock/suppliers/{one.id}"),
        Medium: lambda one: (one.name, f"/stock/media/{one.id}"),
        Lot: lambda one: (f"lot {one.code}", f"/stock/lots/{one.id}"),
        Roll: lambda one: (_roll_words(one), f"/stock/rolls/{one.id}"),
        Certificate: lambda one: (one.title, f"/certificates/{one.id}"),
        Printer: lambda one: (one.name, f"/printers/{one.id}"),
    }
)
