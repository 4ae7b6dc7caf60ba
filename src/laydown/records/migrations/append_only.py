"""Triggers under which nobody changes or deletes a row; never altered, since revisions of today use it."""

from __future__ import annotations

from alembic import op


def protect(*tables: str) -> None:
    """Nobody, not even this program, changes or deletes what stands in these tables."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION laydown_append_only() RETURNS trigger LANGUAGE plpgsql AS "
            "$$BEGIN RAISE EXCEPTION 'the journal is only ever added to'; END$$"
        )
        for table in tables:
            op.execute(
                f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION laydown_append_only()"
            )
        return
    for table in tables:
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
                "BEGIN SELECT RAISE(ABORT, 'the journal is only ever added to'); END"
            )
