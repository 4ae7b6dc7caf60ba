"""Database columns made from the fields of a noun: each noun is described once, in ``trials``."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from sqlalchemy import JSON, BigInteger, Boolean, Column, Date, DateTime, Float, ForeignKey, String, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine


class Moment(TypeDecorator[datetime]):
    """A moment in UTC: timestamp with time zone where there is one, sortable ISO 8601 text elsewhere."""

    impl = String(32)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """The database's own type for a moment."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(DateTime(timezone=True))
        return dialect.type_descriptor(String(32))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """Into the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment must know its time zone")
        value = value.astimezone(UTC)
        if dialect.name == "postgresql":
            return value
        return value.isoformat(timespec="microseconds").replace("+00:00", "Z")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Out of the database."""
        if value is None:
            return None
        return value.astimezone(UTC) if isinstance(value, datetime) else datetime.fromisoformat(value)


# Text is sorted by its characters' numbers in every database, whatever country the server was set up for.
TEXT = Text().with_variant(Text(collation="C"), "postgresql")

_PLAIN: Mapping[Any, TypeEngine[Any]] = types.MappingProxyType(
    {
        str: TEXT,
        int: BigInteger(),
        float: Float(53),
        bool: Boolean(),
        datetime: Moment(),
        date: Date(),
    }
)


def columns_of(noun: type[Any], *, foreign: Mapping[str, str]) -> list[Column[Any]]:
    """One column for each field; ``foreign`` maps a field to the table whose id it holds.

    A field of a compound type (a tuple, another dataclass) becomes a JSON column.
    """
    hints = get_type_hints(noun)
    columns = []
    for item in dataclasses.fields(noun):
        kind, optional = _without_none(hints[item.name])
        reference = [reference_to(foreign[item.name])] if item.name in foreign else []
        columns.append(
            Column(
                item.name,
                _column_type(kind),
                *reference,
                primary_key=item.name == "id",
                nullable=optional,
                index=bool(reference),
            )
        )
    return columns


def reference_to(table: str, column: str = "id") -> ForeignKey:
    """A foreign key; a restore has it checked only at its end, when every row is there."""
    return ForeignKey(f"{table}.{column}", deferrable=True, initially="IMMEDIATE")


def is_timed(noun: type[Any], name: str) -> bool:
    """Whether a field is kept as a moment or a day of the database's own."""
    return _without_none(get_type_hints(noun)[name])[0] in (datetime, date)


def _column_type(kind: Any) -> TypeEngine[Any]:
    if get_origin(kind) is Literal:
        return TEXT
    return _PLAIN.get(kind) or JSON(none_as_null=True)


def _without_none(hint: Any) -> tuple[Any, bool]:
    if get_origin(hint) in (Union, types.UnionType):
        rest = [part for part in get_args(hint) if part is not type(None)]
        return rest[0], len(rest) < len(get_args(hint))
    return hint, False
