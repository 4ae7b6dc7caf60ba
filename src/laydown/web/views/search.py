"""What a search found, grouped, each with a link to its own page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from laydown.records.search_kinds import FoundKind
from laydown.records.search_query import Found
from laydown.report.moments import day_words, zone
from laydown.usecases.trial.search import Finds
from laydown.web.views.stock import Row
from laydown.web.views.things import thing_link

HEADINGS: Mapping[FoundKind, str] = MappingProxyType(
    {
        "trial": "Trials",
        "brief": "Briefs",
        "change": "Changes to briefs",
        "plan": "Plans",
        "candidate": "Candidates and their recipes",
        "sheet": "Sheets",
        "event": "What happened to sheets",
        "sitting": "Sittings at a printer",
        "reading": "Readings",
        "gloss": "Gloss",
        "form": "Test forms",
        "medium": "Media",
        "lot": "Lots",
        "roll": "Rolls and boxes",
        "use": "Taken from rolls and boxes",
        "printer": "Printers",
        "upkeep": "What happened to printers",
        "supplier": "Suppliers",
        "certificate": "Certificates",
        "retrace": "Bad prints",
        "note": "Notes",
        "attachment": "Files",
        "entry": "Journal",
    }
)
_LONGEST = 120  # signs shown of a text
_BEFORE = 40  # of them, before the first word that was looked for where that stands further back


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
    has_journal: bool


def search_view(
    finds: Finds, *, query: str, kind: FoundKind | None, number: int, has_journal: bool
) -> SearchView:
    """The page of a search; ``has_journal`` where the journal may be looked through, too."""
    sections = tuple(
        FoundSection(
            group.kind, HEADINGS[group.kind], tuple(_row(one, finds) for one in group.found), group.more
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
        has_journal=has_journal and bool(finds.words) and kind != "entry",
    )


def _row(one: Found, finds: Finds) -> Row:
    """A thing under its own name, or what is found at another thing under the name of that."""
    thing = finds.about.get(one.about)
    place, href = thing_link(thing) if thing is not None else ("", "")
    if one.kind in _AT_A_PLACE:
        title = _AT_A_PLACE[one.kind](one, place)
        href = href or "/journal"
    else:
        title = f"{_CALLED.get(one.kind, '')} {one.title}".strip()
        href = _HREFS[one.kind](one, href)
    words = _joined(
        f"about {place}" if place and one.kind in ("note", "attachment") else "",
        passage(one.text, finds.words),
        one.context,
    )
    day = day_words(one.at.astimezone(zone(finds.time_zone)).date()) if one.at else ""
    return Row(href, passage(title, finds.words) or "without a name", words, day)


def passage(text: str, words: tuple[str, ...]) -> str:
    """The beginning of a text; of a long one, the part where the first word that was looked for stands."""
    line = " ".join(text.split())
    if len(line) <= _LONGEST:
        return line
    folded = line.casefold()
    first = min((at for at in (folded.find(word.casefold()) for word in words) if at >= 0), default=0)
    before = ""
    if first > _LONGEST - _BEFORE:
        before, line = "… ", line[first - _BEFORE :].partition(" ")[2]
    return f"{before}{line}" if len(line) <= _LONGEST else f"{before}{line[:_LONGEST].rstrip()} …"


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# What happened to a thing, or was taken from it, is found at the thing.
_AT_A_PLACE: Mapping[FoundKind, Callable[[Found, str], str]] = MappingProxyType(
    {
        "event": lambda one, place: f"{_capital(place)}: {one.title}",
        "gloss": lambda _, place: f"Gloss of {place}",
        "use": lambda _, place: f"Taken from {place}",
        "upkeep": lambda one, place: f"{place}: {one.title}",
    }
)
_CALLED: Mapping[FoundKind, str] = MappingProxyType(
    {
        "brief": "Brief of",
        "change": "Changed brief of",
        "plan": "Plan of",
        "sheet": "Sheet",
        "sitting": "Sitting with",
        "form": "Test form",
        "lot": "Lot",
        "roll": "Roll or box",
    }
)
_HREFS: Mapping[FoundKind, Callable[[Found, str], str]] = MappingProxyType(
    {
        "trial": lambda one, _: f"/trials/{one.id}",
        "brief": lambda one, _: f"/trials/{one.trial_id}/brief",
        "change": lambda one, _: f"/trials/{one.trial_id}/brief",
        "plan": lambda one, _: f"/trials/{one.trial_id}/plan",
        "candidate": lambda one, _: f"/trials/{one.trial_id}/candidates/{one.id}",
        "sheet": lambda one, _: f"/trials/{one.trial_id}/sheets/{one.id}",
        "sitting": lambda one, _: f"/bench/{one.id}",
        "reading": lambda one, _: f"/trials/{one.trial_id}/readings/{one.id}",
        "form": lambda one, _: f"/trials/{one.trial_id}/form/{one.id}",
        "medium": lambda one, _: f"/stock/media/{one.id}",
        "lot": lambda one, _: f"/stock/lots/{one.id}",
        "roll": lambda one, _: f"/stock/rolls/{one.id}",
        "printer": lambda one, _: f"/printers/{one.id}",
        "supplier": lambda one, _: f"/stock/suppliers/{one.id}",
        "certificate": lambda one, _: f"/certificates/{one.id}",
        "retrace": lambda one, _: f"/retraces/{one.id}",
        "note": lambda _, place: f"{place}#notes" if place else "/journal",
        "attachment": lambda one, place: f"{place}#notes" if place else f"/attachments/{one.id}",
        "entry": lambda one, _: f"/journal/{one.id}",
    }
)
