"""What the pages of the stock room show: lists, and one thing with all that belongs to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from laydown.records.look import Look
from laydown.records.stock_query import count_by, list_stock
from laydown.records.text_match import words_of
from laydown.report.moments import day_words, moment_words
from laydown.trials.stock import Certificate, Lot, Medium, Roll, Supplier
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.usecases.stock.roll_left import Left, rolls_left
from laydown.web.shelf_fields import Field, text_of
from laydown.web.views.notes import NotesView
from laydown.web.views.roll import left_words, roll_title

PAGE_LENGTH = 50
NOT_STATED = "not stated"


@dataclass(frozen=True, slots=True)
class Tab:
    """One shelf of the stock room."""

    label: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One thing on a list: what it is called, what is said of it, and what counts at a glance."""

    href: str
    title: str
    words: str
    count: str
    tag: str = ""


@dataclass(frozen=True, slots=True)
class StockListView:
    """One page of a shelf, perhaps searched. ``empty`` teaches what it is for."""

    tabs: tuple[Tab, ...]
    title: str
    path: str
    query: str
    rows: tuple[Row, ...]
    number: int
    more: bool
    empty: str
    adds: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact about a thing; ``stated`` is False where nobody stated it."""

    label: str
    value: str
    stated: bool


@dataclass(frozen=True, slots=True)
class FactGroup:
    """Facts under one heading."""

    heading: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """Other things that belong to this one."""

    heading: str
    rows: tuple[Row, ...]
    empty: str
    adds: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class StockThingView:
    """One thing. ``above`` leads to what it belongs to; ``extra`` holds what only its kind has.

    ``typed`` is what was typed into a form on its page that was refused.
    """

    tabs: tuple[Tab, ...]
    above: tuple[tuple[str, str], ...]
    title: str
    path: str
    revision: int
    groups: tuple[FactGroup, ...]
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    notes: NotesView
    typed: Mapping[str, str]
    extra: Any = None
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class FieldView:
    """A field with what stands in it."""

    field: Field
    text: str


@dataclass(frozen=True, slots=True)
class StockFormView:
    """A form of the stock room; ``groups`` are its fields under their headings."""

    title: str
    action: str
    back: str
    intro: str
    groups: tuple[tuple[str, tuple[FieldView, ...]], ...]
    hidden: tuple[tuple[str, str], ...]
    submit: str
    refusal: str = ""


SHELVES = (
    ("Rolls and boxes", "/stock/rolls"),
    ("Media", "/stock/media"),
    ("Lots", "/stock/lots"),
    ("Suppliers", "/stock/suppliers"),
    ("Certificates", "/certificates"),
    ("Printers", "/printers"),
)


def tabs(path: str) -> tuple[Tab, ...]:
    """The shelves, with the one of this path marked."""
    return tuple(Tab(label, href, path == href or path.startswith(f"{href}/")) for label, href in SHELVES)


def form_groups(
    fields: Sequence[Field], texts: Mapping[str, str]
) -> tuple[tuple[str, tuple[FieldView, ...]], ...]:
    """Fields with their texts, under their headings in the order they first come."""
    headings = dict.fromkeys(field.group for field in fields)
    return tuple(
        (
            heading,
            tuple(FieldView(field, texts.get(field.name, "")) for field in fields if field.group == heading),
        )
        for heading in headings
    )


def fact_groups(thing: Any, fields: Sequence[Field], *, studio: Studio) -> tuple[FactGroup, ...]:
    """Everything stated about a thing, and everything that is not, under the headings of its form."""
    headings = dict.fromkeys(field.group for field in fields)
    return tuple(
        FactGroup(
            heading,
            tuple(_fact(thing, field, studio) for field in fields if field.group == heading),
        )
        for heading in headings
    )


def _fact(thing: Any, field: Field, studio: Studio) -> Fact:
    value = getattr(thing, field.name)
    if value is None or value in ("", ()):
        return Fact(field.label, NOT_STATED, False)
    if field.kind == "day":
        words = day_words(value)
    elif field.kind == "moment":
        words = moment_words(value, time_zone=studio.time_zone)
    elif field.kind == "choice":
        words = dict(field.options).get(value, value)
    else:
        words = text_of(value, field, studio=studio)
    return Fact(field.label, words, True)


def list_rows(
    look: Look, noun: type[Any], *, query: str, number: int, studio: Studio
) -> tuple[tuple[Row, ...], bool]:
    """One page of things of a noun as rows, and whether there are more."""
    words = words_of(query)
    found = list_stock(look, noun, words=words, limit=PAGE_LENGTH + 1, offset=(number - 1) * PAGE_LENGTH)
    return _ROWS[noun](look, found[:PAGE_LENGTH], studio), len(found) > PAGE_LENGTH


def rows_of(look: Look, things: Sequence[Any], *, studio: Studio) -> tuple[Row, ...]:
    """Things of one noun as rows."""
    return _ROWS[type(things[0])](look, tuple(things), studio) if things else ()


def _suppliers(look: Look, things: Sequence[Supplier], _: Studio) -> tuple[Row, ...]:
    media = count_by(look, Medium, "supplier_id", [one.id for one in things])
    return tuple(
        Row(
            f"/stock/suppliers/{one.id}",
            one.name,
            one.contact,
            _so_many(media.get(one.id, 0), "medium", "media"),
        )
        for one in things
    )


def _media(look: Look, things: Sequence[Medium], _: Studio) -> tuple[Row, ...]:
    lots = count_by(look, Lot, "medium_id", [one.id for one in things])
    named = {one.supplier_id for one in things if one.supplier_id}
    suppliers = {one.id: one.name for one in look.find_any(Supplier, "id", named)}
    rows = []
    for one in things:
        weight = f"{one.weight_gsm:g} g/m2" if one.weight_gsm is not None else ""
        told = (one.kind, one.surface, one.base, weight, suppliers.get(one.supplier_id or "", ""))
        words = ", ".join(part for part in told if part)
        rows.append(
            Row(f"/stock/media/{one.id}", one.name, words, _so_many(lots.get(one.id, 0), "lot", "lots"))
        )
    return tuple(rows)


def _lots(look: Look, things: Sequence[Lot], _: Studio) -> tuple[Row, ...]:
    media = {one.id: one.name for one in look.find_any(Medium, "id", {one.medium_id for one in things})}
    rolls = count_by(look, Roll, "lot_id", [one.id for one in things])
    return tuple(
        Row(
            f"/stock/lots/{one.id}",
            f"{media[one.medium_id]}, lot {one.code}",
            f"received {day_words(one.received)}" if one.received else "day of receipt not stated",
            _so_many(rolls.get(one.id, 0), "roll or box", "rolls or boxes"),
        )
        for one in things
    )


def _rolls(look: Look, things: Sequence[Roll], studio: Studio) -> tuple[Row, ...]:
    lots = {one.id: one for one in look.find_any(Lot, "id", {one.lot_id for one in things})}
    media = {one.id: one for one in look.find_any(Medium, "id", {one.medium_id for one in lots.values()})}
    left = rolls_left(look, tuple(things))
    rows = []
    for one in things:
        lot = lots[one.lot_id]
        opened = f"opened {day_words(one.opened)}" if one.opened else "not opened"
        received = f"received {day_words(one.received)}" if one.received else ""
        words = ", ".join(part for part in (f"lot {lot.code}", roll_title(one), received, opened) if part)
        tag = _left_tag(left[one.id])
        name = media[lot.medium_id].name
        count = left_words(one, left[one.id], units=studio.units)
        rows.append(Row(f"/stock/rolls/{one.id}", name, words, count, tag))
    return tuple(rows)


def _left_tag(left: Left) -> str:
    if left.amount is None or left.amount > 0:
        return ""
    return "used up" if left.amount == 0 else "count it"


def _certificates(look: Look, things: Sequence[Certificate], _: Studio) -> tuple[Row, ...]:
    named = {one.medium_id for one in things if one.medium_id}
    media = {one.id: one.name for one in look.find_any(Medium, "id", named)}
    rows = []
    for one in things:
        about = media.get(one.medium_id or "", one.medium_as_stated or "medium not stated")
        words = f"{about}; {one.laboratory or 'laboratory not stated'}"
        tested = f"tested {day_words(one.tested)}" if one.tested else "date not stated"
        rows.append(Row(f"/certificates/{one.id}", one.title, words, tested))
    return tuple(rows)


def _printers(look: Look, things: Sequence[Printer], studio: Studio) -> tuple[Row, ...]:
    rows = []
    for one in things:
        last = look.find(PrinterEvent, printer_id=one.id, order=("-at", "id"), limit=1)
        told = ", ".join(part for part in (one.serial, one.ink_set) if part)
        rows.append(Row(f"/printers/{one.id}", one.name, told, _event_words(last, studio)))
    return tuple(rows)


def _event_words(last: Sequence[PrinterEvent], studio: Studio) -> str:
    if not last:
        return "nothing noted yet"
    return f"{last[0].kind}, {moment_words(last[0].at, time_zone=studio.time_zone)}"


def _so_many(count: int, one: str, several: str) -> str:
    return f"no {one} yet" if not count else f"{count} {one if count == 1 else several}"


_ROWS: Mapping[type[Any], Callable[[Look, Any, Studio], tuple[Row, ...]]] = MappingProxyType(
    {
        Supplier: _suppliers,
        Medium: _media,
        Lot: _lots,
        Roll: _rolls,
        Certificate: _certificates,
        Printer: _printers,
    }
)
