"""Writes the first revision anew from the tables: python tests/records/write_first_revision.py

As long as nothing has been released, a new field or noun goes into the first revision. After that this script
goes, and every change of a table is a revision of its own.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from sqlalchemy import JSON, BigInteger, Boolean, Column, Date, Float, Index, Table, Text

from laydown.records.columns import Moment
from laydown.records.schema import metadata

TARGET = Path(__file__).parents[2] / "src/laydown/records/migrations/versions/r0001_first.py"
ROOM = 84  # characters for the names of columns that share a line
HELPERS = {
    Moment: "moment",
    Text: "text",
    BigInteger: "whole",
    Float: "number",
    Boolean: "yes_no",
    Date: "day",
    JSON: "json",
}
HEAD = '''"""Everything there is at the first release: nouns, journal, kept files, accounts."""

from __future__ import annotations

from alembic import op

from laydown.records.migrations.append_only import protect
from laydown.records.migrations.column_kinds import IMPORTED

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, parents before children, and protect the journal."""
CALLS
    protect("journal", "journal_subjects")

'''


def text() -> str:
    """The whole file."""
    tables = metadata.sorted_tables
    calls = "\n".join(f"    _make_{table.name}()" for table in tables)
    made = "\n\n".join(_made(table) for table in tables)
    used = sorted(set(re.findall(r"\*(\w+)\(", made)))
    whole = HEAD.replace("CALLS", calls).replace("IMPORTED", ", ".join(used)) + made
    formatted = subprocess.run(
        [sys.executable, "-m", "ruff", "format", "--stdin-filename", str(TARGET), "-"],
        input=whole,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return formatted.stdout


def _made(table: Table) -> str:
    own = {f"ix_{table.name}_{column.name}" for column in table.columns if column.index}
    others = (one for one in table.indexes if one.name not in own)
    columns = "".join(f"        {line},\n" for line in _column_lines(table))
    indexes = "".join(f"    {_index(table, one)}\n" for one in sorted(others, key=lambda one: str(one.name)))
    made = f'    op.create_table(\n        "{table.name}",\n{columns}    )\n'
    return f"def _make_{table.name}() -> None:\n{made}{indexes}"


def _column_lines(table: Table) -> Iterator[str]:
    """Columns that stand together and are of one kind share a line, where they have room."""
    for (helper, more), group in groupby(table.columns, key=_kind):
        names = [f'"{column.name}"' for column in group]
        while names:
            line = [names.pop(0)]
            while names and len(", ".join([*line, names[0]])) <= ROOM:
                line.append(names.pop(0))
            yield f"*{helper}({', '.join([*line, *more])})"


def _kind(column: Column[object]) -> tuple[str, tuple[str, ...]]:
    helper = next(name for kind, name in HELPERS.items() if isinstance(column.type, kind))
    if column.table.autoincrement_column is column:
        return "counted", ()
    references = [f'to="{key.target_fullname}"' for key in column.foreign_keys]
    wanted = {"key=True": column.primary_key, "null=True": column.nullable, "index=True": column.index}
    wanted["unique=True"] = bool(column.unique)
    flags = [flag for flag, is_so in wanted.items() if is_so]
    return helper, (*references, *flags)


def _index(table: Table, index: Index) -> str:
    names = [column.name for column in index.columns]
    unique = ", unique=True" if index.unique else ""
    return f"op.create_index({str(index.name)!r}, {table.name!r}, {names!r}{unique})"


if __name__ == "__main__":
    TARGET.write_text(text(), encoding="utf-8")
