"""What a search found, grouped, each with a link to its own page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from laydown.records.search_query import Found, FoundKind
from laydown.usecases.trial.keep_note import beginning
from laydown.usecases.trial.search import Finds
from laydown.web.views.stock import Row
from laydown.web.views.things import thing_link

HEADINGS: Mapping[FoundKind, str] = MappingProxyType(
    {
        "trial": "Trials",
        "candidate": "Candidates",
        "sheet": "Sheets",
        "medium": "Media",
        "lot": "Lots",
        "roll": "Rolls and boxes",
        "printer": "Printers",
        "supplier": "Suppliers",
        "certificate": "Certificates",
        "retrace": "Bad prints",
        "note": "Notes",
        "attachment": "Files",
    }
)
# Where the bench has no business, it is shown nothing of it.
OF_THE_BENCH = frozenset({"trial", "candidate", "sheet", "retrace", "note", "attachment"})


@dataclass(frozen=True, slots=True)
class FoundSection:
    """Everything of one kind, as far as it is shown."""

    kind: str
    heading: str
    rows: tuple[Row, ...]
    more: bool


@dataclass(frozen=True, slots=True)
class SearchView:
    """The page of a search; ``kind`` is the one it was narrowed to, else ""."""

    query: str
    kind: str
    heading: str
    searched: bool
    sections: tuple[FoundSection, ...]
    number: int
    more: bool


def search_view(finds: Finds, *, query: str, kind: FoundKind | None, number: int) -> SearchView:
    """The page of a search."""
    sections = tuple(
        FoundSection(
            group.kind, HEADINGS[group.kind], tuple(_row(one, finds.about) for one in group.found), group.more
        )
        for group in finds.groups
    )
    return SearchView(
        query=query,
        kind=kind or "",
        heading=HEADINGS[kind] if kind else "",
        searched=bool(finds.words),
        sections=sections,
        number=number,
        more=kind is not None and any(section.more for section in sections),
    )


def _row(one: Found, about: Mapping[str, Any]) -> Row:
    if one.kind in ("note", "attachment"):
        return _remark(one, about.get(one.about))
    words = _joined(one.context, beginning(one.text))
    title = {"lot": f"Lot {one.title}", "roll": f"Roll or box {one.title}"}.get(one.kind, one.title)
    return Row(_HREFS[one.kind](one), title, words, "")


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def _remark(one: Found, thing: Any) -> Row:
    """A note or a file: it is found where the thing is that it is about."""
    name, href = thing_link(thing) if thing is not None else ("", "")
    context = _joined(f"about {name}" if name else "", one.context)
    if one.kind == "attachment":
        href = f"{href}#notes" if href else f"/attachments/{one.id}"
        return Row(href, one.title, _joined(one.text, context), "")
    return Row(f"{href}#notes" if href else "/journal", beginning(one.title), context, "")


_HREFS: Mapping[FoundKind, Callable[[Found], str]] = MappingProxyType(
    {
        "trial": lambda one: f"/trials/{one.id}",
        "candidate": lambda one: f"/trials/{one.trial_id}/candidates/{one.id}",
        "sheet": lambda one: f"/trials/{one.trial_id}/sheets/{one.id}",
        "medium": lambda one: f"/stock/media/{one.id}",
        "lot": lambda one: f"/stock/lots/{one.id}",
        "roll": lambda one: f"/stock/rolls/{one.id}",
        "printer": lambda one: f"/printers/{one.id}",
        "supplier": lambda one: f"/stock/suppliers/{one.id}",
        "certificate": lambda one: f"/certificates/{one.id}",
        "retrace": lambda one: f"/retraces/{one.id}",
    }
)
