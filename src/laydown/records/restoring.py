"""Takes a backup back: everything in it, or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select, text

from laydown.kernel.errors import AlteredFile, RefusedInput, UnreadableFile
from laydown.records.backup import FORMAT, Backup, write_backup
from laydown.records.chain import is_known, upgrade
from laydown.records.database_errors import plain_database_errors
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.migrating import check_references, drop_everything, holds_something, whole_database
from laydown.records.sealed_zip import SealedZip, open_sealed_zip
from laydown.records.table_lines import tables_there, take_back
from laydown.records.tables import kept_files

_VERSION = 1


@dataclass(frozen=True, slots=True)
class Restored:
    """What was taken back; ``before`` is the backup of what was there, where anything was.

    ``lost`` are kept files that the backup itself had to do without.
    """

    made_at: str
    revision: str
    rows: int
    files: int
    lost: tuple[str, ...]
    before: Backup | None


def restore(records: Records, source: Path, *, replacing: Path | None = None) -> Restored:
    """Put the content of a backup in place of what is there.

    Parameters
    ----------
    records
        Where to; any database, whatever the backup was made from.
    source
        A backup of this program or of an older one.
    replacing
        Where a backup of what is there now is put first; None refuses where anything is there.

    Raises
    ------
    RefusedInput
        There are records already and ``replacing`` is None, or the backup is newer than this program.
    UnreadableFile
        It is no backup.
    AlteredFile
        It is damaged; the part is named and nothing is changed.
    CannotKeep
        The disk is full or the records may not be written; nothing is changed.
    """
    try:
        with source.open("rb") as file, open_sealed_zip(file, file=source.name, wanted=FORMAT) as box:
            _refuse_what_is_newer(box)
            if replacing is None:
                with records.look() as look:
                    _refuse_where_there_is_something(look.connection)
            files = _take_files(records.vault, box)
            with plain_database_errors(), whole_database(records.engine) as connection:
                before = _set_aside(records, connection, replacing)
                rows = _take_tables(connection, records.vault, box)
    except OSError as error:
        raise UnreadableFile(
            f"the backup cannot be opened ({error.strerror or error}).",
            todo="Check its name.",
            file=str(source),
        ) from error
    return Restored(
        made_at=str(box.about["made_at"]),
        revision=str(box.about["revision"]),
        rows=rows,
        files=files,
        lost=tuple(sorted(box.about["lost"])),
        before=before,
    )


def _refuse_what_is_newer(box: SealedZip) -> None:
    if box.about.get("version") != _VERSION or not is_known(str(box.about.get("revision"))):
        raise RefusedInput(
            f"this backup was made by a newer program ({box.about.get('made_by')}).",
            todo="Install that one, then restore again; nothing was changed.",
            file=box.file,
        )


def _refuse_where_there_is_something(connection: Connection) -> None:
    if holds_something(connection):
        raise RefusedInput(
            "there are records here already; nothing was changed.",
            todo='Restore into an empty data folder, or add "--replace": what is here is backed up first.',
        )


def _set_aside(records: Records, connection: Connection, replacing: Path | None) -> Backup | None:
    """Back up what is there, seen by the very transaction that takes its place."""
    if not holds_something(connection):
        return None
    if replacing is None:  # somebody began to work meanwhile
        _refuse_where_there_is_something(connection)
        return None
    return write_backup(connection, records.vault, replacing, now=records.now(), with_files=True)


def _take_files(vault: FileVault, box: SealedZip) -> int:
    """Put every file of the backup into the vault."""
    names = box.names("files/")
    for name in names:
        sha256 = name.removeprefix("files/")
        kept = vault.keep_stream(box.pieces(name))
        if kept.sha256 != sha256:
            vault.discard(kept.sha256)
            raise AlteredFile(
                f"{name} is not the file its name says.", todo="Nothing was changed.", file=box.file
            )
    return len(names)


def _take_tables(connection: Connection, vault: FileVault, box: SealedZip) -> int:
    """Make the tables as they were at the backup's revision, fill them, and bring them up to date."""
    revision = str(box.about["revision"])
    drop_everything(connection)
    upgrade(connection, to=revision)
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET CONSTRAINTS ALL DEFERRED"))
    tables = {f"tables/{table.name}.jsonl": table for table in tables_there(connection)}
    if set(tables) != set(box.names("tables/")):
        odd = min(set(tables) ^ set(box.names("tables/")))
        raise UnreadableFile(
            f"{odd} does not belong to the form {revision} that this backup says it has.",
            todo="Nothing was changed. Restore another backup.",
            file=box.file,
        )
    rows = 0
    for name, table in tables.items():
        rows += take_back(connection, table, _lines(box.pieces(name)), file=box.file)
    if not box.about["holds_files"]:
        _refuse_missing_files(connection, vault, box)
    check_references(connection)
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET CONSTRAINTS ALL IMMEDIATE"))
    upgrade(connection)
    check_references(connection)
    return rows


def _refuse_missing_files(connection: Connection, vault: FileVault, box: SealedZip) -> None:
    """A backup made before an update holds no files: they stayed where they are, and must be there."""
    for row in connection.execute(select(kept_files.c.sha256, kept_files.c.size)):
        if vault.size(row.sha256) != row.size:
            raise UnreadableFile(
                "this backup holds records only, and the files they refer to are not in this file store.",
                todo="Restore it beside the files it was made with; nothing was changed.",
                file=box.file,
            )


def _lines(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Lines out of pieces of any length."""
    rest = b""
    for piece in pieces:
        *whole, rest = (rest + piece).split(b"\n")
        yield from whole
    if rest:
        yield rest
