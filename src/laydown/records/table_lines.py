"""Tables as lines of JSON that any database takes back, whatever revision they are of."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from itertools import islice
from typing import Any

from sqlalchemy import JSON, Column, Connection, Date, DateTime, LargeBinary, MetaData, Table, select
from sqlalchemy.types import TypeEngine

from laydown.kernel.errors import UnreadableFile
from laydown.records.migrating import VERSION_TABLE
from laydown.records.schema import TRANSIENT

_AT_ONCE = 100


def tables_there(connection: Connection) -> tuple[Table, ...]:
    """Every table that lasts, as the database itself describes it, parents before children."""
    found = MetaData()
    found.reflect(connection, only=lambda name, _: name not in {VERSION_TABLE, *TRANSIENT})
    return tuple(found.sorted_tables)


def lines_of(connection: Connection, table: Table) -> Iterator[bytes]:
    """The rows of a table in the order of its key, one JSON object a line; memory stays flat."""
    options = {"stream_results": True, "yield_per": _AT_ONCE}
    rows = connection.execute(select(table).order_by(*table.primary_key), execution_options=options)
    for row in rows.mappings():
        plain = {name: _out(value) for name, value in row.items()}
        yield json.dumps(plain, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def take_back(connection: Connection, table: Table, lines: Iterable[bytes], *, file: str) -> int:
    """Write lines into a table; how many there were.

    Raises
    ------
    UnreadableFile
        A line is no row of this table.
    """
    kinds = {column.name: column.type for column in table.columns}
    target = Table(table.name, MetaData(), *(Column(name, _plain_type(kind)) for name, kind in kinds.items()))
    count = 0
    numbered = iter(enumerate(lines, 1))
    while part := list(islice(numbered, _AT_ONCE)):
        rows = [_row(line, kinds, f"{file}, {table.name}", number) for number, line in part]
        connection.execute(target.insert(), rows)
        count += len(rows)
    return count


def _row(line: bytes, kinds: dict[str, TypeEngine[Any]], file: str, number: int) -> dict[str, Any]:
    try:
        plain = json.loads(line)
        if set(plain) != set(kinds):
            raise ValueError("other columns than the table has")
        return {name: _in(kinds[name], value) for name, value in plain.items()}
    except (ValueError, TypeError) as error:
        raise UnreadableFile(
            f"this is no row of that table ({error}).",
            todo="Nothing was changed. Restore another backup.",
            file=file,
            line=number,
        ) from error


def _out(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bytes):
        return base64.b64encode(value).decode()
    return value


def _in(kind: TypeEngine[Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(kind, DateTime):
        return datetime.fromisoformat(value)
    if isinstance(kind, Date):
        return date.fromisoformat(value)
    if isinstance(kind, LargeBinary):
        return base64.b64decode(value, validate=True)
    return value


def _plain_type(kind: TypeEngine[Any]) -> TypeEngine[Any]:
    return JSON(none_as_null=True) if isinstance(kind, JSON) else kind
