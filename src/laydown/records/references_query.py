"""What still refers to a kept thing, so that it is not taken away from under it; and what a bare id names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, literal, or_, select, union_all

from laydown.records.look import Look
from laydown.records.tables import TABLES


@dataclass(frozen=True, slots=True)
class Referrers:
    """How many things of one noun refer to something."""

    noun: type[Any]
    count: int


def referrers_of(look: Look, noun: type[Any], id: str) -> tuple[Referrers, ...]:  # noqa: A002 - it is the id
    """Everything that names a thing in one of its fields, by noun; notes about it are not counted."""
    target = TABLES[noun]
    found = []
    for other, table in TABLES.items():
        naming = [
            column
            for column in table.columns
            if any(key.column.table is target for key in column.foreign_keys)
        ]
        if naming:
            matches = or_(*(column == id for column in naming))
            count = look.connection.execute(
                select(func.count()).select_from(table).where(matches)
            ).scalar_one()
            if count:
                found.append(Referrers(other, count))
    return tuple(found)


def things_with_ids(look: Look, ids: Iterable[str]) -> dict[str, Any]:
    """The things of these ids, whatever they are: notes name what they are about by its id alone."""
    wanted = sorted(set(ids))
    if not wanted:
        return {}
    # One question finds out what they are, and one more for each noun that is among them.
    where = union_all(
        *(
            select(literal(noun.__name__).label("noun"), table.c.id).where(table.c.id.in_(wanted))
            for noun, table in TABLES.items()
        )
    )
    ids_of: dict[str, list[str]] = {}
    for name, id_ in look.connection.execute(where).all():
        ids_of.setdefault(name, []).append(id_)
    return {
        thing.id: thing
        for noun in TABLES
        for thing in look.find_any(noun, "id", ids_of.get(noun.__name__, ()))
    }
