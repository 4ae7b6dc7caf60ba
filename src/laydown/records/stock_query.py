"""Lists of what is on the shelf: searched, page by page, with what was taken from each roll or box."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import islice
from types import MappingProxyType
from typing import Any

from sqlalchemy import ColumnElement, Select, func, select

from laydown.records.look import Look
from laydown.records.shapes import Thing
from laydown.records.tables import TABLES
from laydown.records.text_match import may_hold, really_holds
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer

_SUPPLIER, _MEDIUM, _LOT, _ROLL = (TABLES[noun].c for noun in (Supplier, Medium, Lot, Roll))
_CERTIFICATE, _PRINTER, _USE = (TABLES[noun].c for noun in (Certificate, Printer, RollUse))

# Which words of a thing, and of what it belongs to, are looked through.
_LOOKED_THROUGH: Mapping[type[Any], tuple[Any, ...]] = MappingProxyType(
    {
        Supplier: (_SUPPLIER.name, _SUPPLIER.contact, _SUPPLIER.words),
        Medium: (_MEDIUM.name, _MEDIUM.base, _MEDIUM.surface, _MEDIUM.kind, _MEDIUM.words, _SUPPLIER.name),
        Lot: (_LOT.code, _LOT.words, _MEDIUM.name),
        Roll: (_ROLL.code, _ROLL.words, _LOT.code, _MEDIUM.name),
        Certificate: (
            _CERTIFICATE.title,
            _CERTIFICATE.laboratory,
            _CERTIFICATE.method,
            _CERTIFICATE.medium_as_stated,
            _CERTIFICATE.words,
            _MEDIUM.name,
        ),
        Printer: (_PRINTER.name, _PRINTER.serial, _PRINTER.ink_set, _PRINTER.words),
    }
)
_NEWEST_FIRST = frozenset({Lot, Roll})


def list_stock(
    look: Look, noun: type[Thing], *, words: Sequence[str] = (), limit: int, offset: int = 0
) -> tuple[Thing, ...]:
    """Things of one noun that hold every word, by name; lots and rolls that came last come first."""
    ids = _page_of(look, _wanted(noun, words), words, limit=limit, offset=offset)
    place = {one: number for number, one in enumerate(ids)}
    return tuple(sorted(look.find_any(noun, "id", ids), key=lambda thing: place[thing.id]))


def taken_from(look: Look, roll_ids: Collection[str]) -> dict[str, tuple[float, int]]:
    """For each roll or box something was taken from: how many mm, and how many sheets."""
    length, sheets = func.coalesce(func.sum(_USE.length_mm), 0.0), func.coalesce(func.sum(_USE.sheets), 0)
    wanted = select(_USE.roll_id, length, sheets).where(_USE.roll_id.in_(roll_ids)).group_by(_USE.roll_id)
    return {one: (float(mm), int(count)) for one, mm, count in look.connection.execute(wanted)}


def count_by(look: Look, noun: type[Any], field: str, ids: Collection[str]) -> dict[str, int]:
    """For each id, how many things of a noun hold it in a field; ids that nothing holds are left out."""
    column = TABLES[noun].c[field]
    wanted = select(column, func.count()).where(column.in_(ids)).group_by(column)
    return {one: int(count) for one, count in look.connection.execute(wanted)}


def named_alike(look: Look, noun: type[Thing], field: str, text: str, **equal: str) -> tuple[Thing, ...]:
    """Things whose field says the same as a text but for the case of its letters, among equals."""
    columns = TABLES[noun].c
    wanted = select(columns.id, columns[field]).where(may_hold([columns[field]], text))
    for name, value in equal.items():
        wanted = wanted.where(columns[name] == value)
    ids = [
        one
        for one, said in look.connection.execute(wanted)
        if len(said) == len(text) and really_holds([said], [text])
    ]
    return look.find_any(noun, "id", ids)


def _page_of(look: Look, wanted: Select[Any], words: Sequence[str], *, limit: int, offset: int) -> list[str]:
    """The ids of one page of rows that hold every word."""
    if all(word.isascii() for word in words):  # the database has found exactly those
        return list(look.connection.execute(wanted.limit(limit).offset(offset)).scalars())
    rows = look.connection.execute(wanted)
    holding = (row[0] for row in rows if really_holds(row[1:], words))
    return list(islice(holding, offset, offset + limit))


def _wanted(noun: type[Any], words: Sequence[str]) -> Select[Any]:
    columns = TABLES[noun].c
    texts: tuple[ColumnElement[str], ...] = _LOOKED_THROUGH[noun]
    wanted = select(columns.id, *texts).select_from(_joined(noun))
    for word in words:
        wanted = wanted.where(may_hold(texts, word))
    if noun in _NEWEST_FIRST:
        unknown_last = columns.received.is_(None)
        return wanted.order_by(unknown_last, columns.received.desc(), columns.id)
    name = columns.title if noun is Certificate else columns.name
    return wanted.order_by(func.lower(name), columns.id)


def _joined(noun: type[Any]) -> Any:
    own = TABLES[noun]
    if noun is Medium:
        return own.outerjoin(TABLES[Supplier], _SUPPLIER.id == _MEDIUM.supplier_id)
    if noun is Lot:
        return own.join(TABLES[Medium], _MEDIUM.id == _LOT.medium_id)
    if noun is Roll:
        return own.join(TABLES[Lot], _LOT.id == _ROLL.lot_id).join(
            TABLES[Medium], _MEDIUM.id == _LOT.medium_id
        )
    if noun is Certificate:
        return own.outerjoin(TABLES[Medium], _MEDIUM.id == _CERTIFICATE.medium_id)
    return own
