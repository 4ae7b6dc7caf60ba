"""Run by Alembic, and by nobody else: the connection is handed over, and its transaction is the caller's."""

from __future__ import annotations

from alembic import context

from laydown.records.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite alters most things only by making a table anew
    compare_type=True,
)
context.run_migrations()
