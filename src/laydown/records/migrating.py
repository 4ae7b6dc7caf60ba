"""Brings a database of any age up to date: one transaction, after a backup of what was there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, MetaData, inspect, text
from sqlalchemy.engine.interfaces import DBAPIConnection

from laydown.kernel.errors import CannotKeep, LaydownError, RefusedInput
from laydown.records.engine import WRITERS
from laydown.records.schema import NEWEST, TRANSIENT, metadata

VERSION_TABLE = "alembic_version"
_PATIENCE_MS = 600_000  # another program may be making a backup before it migrates


def revision_of(connection: Connection) -> str | None:
    """The revision a database is at; None where it holds nothing of ours."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return None
    found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar()
    return None if found is None else str(found)


def bring_up_to_date(engine: Engine, *, back_up: Callable[[Connection], Path]) -> None:
    """Make the tables of an empty database, or migrate an older one; safe where several programs start.

    Parameters
    ----------
    engine
        The database.
    back_up
        Asked to write a backup of what is there, on the connection it is given, before anything is altered.

    Raises
    ------
    RefusedInput
        The database is newer than this program, or holds something else.
    CannotKeep
        The backup could not be written, or a step failed; the records are as they were.
    """
    with engine.connect() as connection:
        if revision_of(connection) == NEWEST:
            return
    from laydown.records.chain import upgrade

    with whole_database(engine) as connection:
        found = revision_of(connection)
        if found == NEWEST:  # another program was quicker
            return
        _refuse_what_is_not_ours(connection, found)
        kept = back_up(connection) if holds_something(connection) else None
        try:
            upgrade(connection)
            if kept:
                check_references(connection)
        except Exception as error:
            raise _failed(error, kept) from error


@contextmanager
def whole_database(engine: Engine) -> Iterator[Connection]:
    """One transaction in which tables may be made, altered and dropped; nobody else writes meanwhile.

    SQLite alters a table by making it anew, so foreign keys are not enforced in it: see ``check_references``.
    """
    with engine.connect() as connection:
        connection.execution_options(writing=True)
        own = connection.connection.driver_connection
        assert own is not None
        sqlite = connection.dialect.name == "sqlite"
        if sqlite:
            _pragmas(own, "foreign_keys = OFF", f"busy_timeout = {_PATIENCE_MS}")
        try:
            with connection.begin():
                if not sqlite:
                    connection.execute(text(f"SET LOCAL lock_timeout = {_PATIENCE_MS}"))
                    connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": WRITERS})
                yield connection
        finally:
            connection.detach()  # what was set on it must not reach others through the pool


def check_references(connection: Connection) -> None:
    """See that nothing refers to what is not there.

    Raises
    ------
    RefusedInput
        A row does; its table is named.
    """
    for sentence in broken_references(connection):
        raise RefusedInput(sentence)


def broken_references(connection: Connection) -> Iterator[str]:
    """A sentence for each foreign key that rows break."""
    quoted = connection.dialect.identifier_preparer.quote
    for (_, table), keys in sorted(inspect(connection).get_multi_foreign_keys().items()):
        for key in keys:
            own, parent = key["constrained_columns"][0], key["referred_table"]
            of_own, of_parent = f"child.{quoted(own)}", f"parent.{quoted(key['referred_columns'][0])}"
            lost = (
                f"SELECT count(*) FROM {quoted(table)} child "
                f"LEFT JOIN {quoted(parent)} parent ON {of_own} = {of_parent} "
                f"WHERE {of_own} IS NOT NULL AND {of_parent} IS NULL"
            )
            count = connection.execute(text(lost)).scalar_one()
            if count:
                yield f"rows of {table} that refer by {own} to {parent} that are not there: {count}."


def holds_something(connection: Connection) -> bool:
    """Whether any table that lasts holds a row."""
    quoted = connection.dialect.identifier_preparer.quote
    lasting = set(inspect(connection).get_table_names()) - {VERSION_TABLE, *TRANSIENT}
    first = (f"SELECT 1 FROM {quoted(name)} LIMIT 1" for name in sorted(lasting))
    return any(connection.execute(text(one)).first() for one in first)


def drop_everything(connection: Connection) -> None:
    """Drop every table of ours, and what guards the journal."""
    tables = MetaData()
    names = {VERSION_TABLE, *metadata.tables}
    tables.reflect(connection, only=lambda name, _: name in names)
    tables.drop_all(connection)
    if connection.dialect.name == "postgresql":
        connection.execute(text("DROP FUNCTION IF EXISTS laydown_append_only()"))


def _refuse_what_is_not_ours(connection: Connection, found: str | None) -> None:
    from laydown.records.chain import is_known

    if found is None and inspect(connection).get_table_names():
        raise RefusedInput(
            "this database holds tables that are not Laydown's.",
            todo="Give Laydown a database of its own in LAYDOWN_DATABASE; nothing was changed.",
        )
    if found is not None and not is_known(found):
        raise RefusedInput(
            f"these records were written by a newer Laydown (their form is {found}, this one knows forms up "
            f"to {NEWEST}).",
            todo="Start the newer Laydown; nothing was changed.",
        )


def _failed(error: Exception, kept: Path | None) -> CannotKeep:
    why = error.what if isinstance(error, LaydownError) else f"{type(error).__name__}: {error}"
    where = f" A backup of them is {kept}." if kept else ""
    return CannotKeep(
        f"the records could not be brought into the form this version needs ({why}); "
        f"they are as they were.{where}",
        todo="Go on with the version you had before, and report this.",
    )


def _pragmas(connection: DBAPIConnection, *pragmas: str) -> None:
    cursor = connection.cursor()
    for pragma in pragmas:
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()
