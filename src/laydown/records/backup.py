"""Writes everything a studio keeps into one file that any Laydown on any database takes back."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from laydown.kernel.errors import AlteredFile, CannotKeep, RefusedInput, UnknownRecord
from laydown.kernel.version import __version__
from laydown.records import journal
from laydown.records.durable_writing import flush_folder
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.migrating import revision_of
from laydown.records.sealed_zip import open_sealed_zip, write_sealed_zip
from laydown.records.table_lines import lines_of, tables_there
from laydown.records.tables import kept_files

FORMAT = "laydown backup"
_VERSION = 1


@dataclass(frozen=True, slots=True)
class LostFile:
    """A kept file that could not be put into a backup, and why."""

    sha256: str
    why: str


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds. ``lost`` are kept files that are missing or altered: they are not in it.

    ``last_digest`` is the newest link of the journal's chain: written down elsewhere, it proves later that
    nothing before it was altered.
    """

    path: Path
    made_at: datetime
    revision: str
    rows: int
    entries: int
    last_digest: str
    files: int
    bytes: int
    lost: tuple[LostFile, ...]


def back_up(records: Records, target: Path) -> Backup:
    """Write a backup of one moment; others may go on working meanwhile.

    Parameters
    ----------
    records
        What to back up.
    target
        The file to write; where it is a folder, a file named for the time is written into it.

    Raises
    ------
    RefusedInput
        There is a file of that name already.
    CannotKeep
        It cannot be written; nothing is left half-written.
    """
    with records.look() as look:
        return write_backup(look.connection, records.vault, target, now=records.now(), with_files=True)


def write_backup(
    connection: Connection, vault: FileVault, target: Path, *, now: datetime, with_files: bool
) -> Backup:
    """Write a backup of what a connection sees; without files where these stay where they are.

    Raises
    ------
    RefusedInput
        There is a file of that name already.
    CannotKeep
        It cannot be written; nothing is left half-written.
    """
    path = target / name_for(now) if target.is_dir() else target
    _make_folder(path.parent)
    if path.exists():
        raise RefusedInput(
            "there is a file of that name already.", todo="Choose another name.", file=str(path)
        )
    writing = _Writing(connection, vault, now, with_files=with_files)
    aside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        with open(aside, "xb+", opener=_for_its_owner) as file:
            write_sealed_zip(file, writing.members(), about=writing.about)
            os.fsync(file.fileno())
            with open_sealed_zip(file, file=str(path), wanted=FORMAT):
                pass  # what cannot be read back is no backup
        aside.replace(path)
        flush_folder(path.parent)
    except OSError as error:
        raise CannotKeep(
            f"the backup cannot be written ({error.strerror or error}).",
            todo="Name a file in a folder with enough space that you may write to.",
            file=str(path),
        ) from error
    finally:
        aside.unlink(missing_ok=True)
    return writing.told(path)


def _for_its_owner(path: str, flags: int) -> int:
    """There is everything in a backup, accounts included; whoever writes it says who else may read it."""
    return os.open(path, flags, 0o600)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotKeep(
            f"no backup can be put there ({error.strerror}).",
            todo="Name a folder you may write to.",
            file=str(folder),
        ) from error


def name_for(now: datetime) -> str:
    """A file name for a backup made at ``now``, by this computer's clock and zone; names sort by time."""
    return f"laydown-{now.astimezone():%Y-%m-%d-%H%M%S}.zip"


class _Writing:
    """Hands over the members one by one, and counts; ``about`` is complete once all were handed over."""

    def __init__(self, connection: Connection, vault: FileVault, now: datetime, *, with_files: bool) -> None:
        self._connection = connection
        self._vault = vault
        self._with_files = with_files
        self._now = now.astimezone(UTC)
        self._rows: dict[str, int] = {}
        self._lost: list[LostFile] = []
        self._files = 0
        self._bytes = 0
        seq, digest = journal.last_link(connection)
        self.about: dict[str, Any] = {
            "format": FORMAT,
            "version": _VERSION,
            "made_by": f"Laydown {__version__}",
            "made_at": self._now.isoformat(),
            "revision": revision_of(connection),
            "holds_files": with_files,
            "entries": seq,
            "last_digest": digest,
            "rows": self._rows,
            "lost": {},
        }

    def members(self) -> Iterator[tuple[str, Iterable[bytes]]]:
        for table in tables_there(self._connection):
            yield f"tables/{table.name}.jsonl", self._counted(table.name, lines_of(self._connection, table))
        if self._with_files:
            for row in self._connection.execute(select(kept_files.c.sha256).order_by(kept_files.c.sha256)):
                if self._is_sound(row.sha256):
                    yield f"files/{row.sha256}", self._weighed(self._vault.pieces(row.sha256))

    def told(self, path: Path) -> Backup:
        return Backup(
            path=path,
            made_at=self._now,
            revision=self.about["revision"],
            rows=sum(self._rows.values()),
            entries=self.about["entries"],
            last_digest=self.about["last_digest"],
            files=self._files,
            bytes=self._bytes,
            lost=tuple(self._lost),
        )

    def _counted(self, name: str, lines: Iterable[bytes]) -> Iterator[bytes]:
        self._rows[name] = 0
        for line in lines:
            self._rows[name] += 1
            yield line

    def _weighed(self, pieces: Iterable[bytes]) -> Iterator[bytes]:
        self._files += 1
        for piece in pieces:
            self._bytes += len(piece)
            yield piece

    def _is_sound(self, sha256: str) -> bool:
        """Whether a file can be put in; one that cannot must not keep the rest from being saved."""
        try:
            for _ in self._vault.pieces(sha256):
                pass
        except (AlteredFile, UnknownRecord) as error:
            self._lost.append(LostFile(sha256, error.what))
            self.about["lost"][sha256] = error.what
            return False
        return True
