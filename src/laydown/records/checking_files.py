"""Holds the file store against the records: what is missing, what was altered, what nothing refers to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, select

from laydown.kernel.constants import Constant
from laydown.kernel.errors import AlteredFile, UnknownRecord
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.replaying import Replay, Trouble
from laydown.records.tables import kept_files

STRAY_HOURS = Constant(
    24.0, "h", "chosen here: nobody takes a day to hand in a file; younger ones are left alone", "computed"
)


@dataclass(frozen=True, slots=True)
class LeftOver:
    """Files that nothing refers to, as a work leaves them that was broken off.

    ``old`` may be deleted; ``young`` may belong to a work that goes on. ``strangers`` were not put there by
    this program, and it never touches them.
    """

    old: tuple[str, ...]
    old_bytes: int
    young: int
    strangers: tuple[str, ...]


class KeptFiles:
    """The kept files, each read whole once."""

    def __init__(self, connection: Connection, vault: FileVault, replay: Replay) -> None:
        self.count = 0
        self.bytes = 0
        self._stated_only = 0
        self._connection = connection
        self._vault = vault
        self._replay = replay

    def troubles(self) -> Iterator[Trouble]:
        """Files that are missing, altered, of another size, or referred to and never kept."""
        for row in self._connection.execute(select(kept_files).order_by(kept_files.c.sha256)):
            self.count += 1
            where = f"file {row.sha256}"
            try:
                size = sum(len(piece) for piece in self._vault.pieces(row.sha256))
            except (UnknownRecord, AlteredFile) as error:
                yield Trouble(where, f"{error.what} {error.todo}")
                continue
            self.bytes += size
            if size != row.size:
                yield Trouble(where, f"it has {size} bytes, and had {row.size} when it was put away.")
        for sha256, noun, record_id, always in self._replay.files():
            if _is_kept(self._connection, sha256):
                continue
            if always:
                yield Trouble(f"file {sha256}", f"{noun} {record_id} refers to it, and it is not kept.")
            else:
                self._stated_only += 1

    def left_over(self, now: datetime) -> LeftOver:
        """Files that nothing refers to, or ever did."""
        old, size, young = [], 0, 0
        names = (name for name in self._vault.all() if not self._is_wanted(name))
        for name in (*names, *self._vault.half_received()):
            if _is_old(self._vault, name, now):
                old.append(name)
                size += self._vault.size(name) or 0
            else:
                young += 1
        return LeftOver(tuple(old), size, young, tuple(self._vault.strangers()))

    def notes(self, left_over: LeftOver, *, tidied: int) -> Iterator[str]:
        """What was found that is no trouble, as sentences."""
        rest = len(left_over.old) - tidied
        if rest:
            size = left_over.old_bytes / 2**20
            yield f"files that nothing refers to: {rest} ({size:.1f} MB); laydown verify --tidy deletes them."
        if left_over.young:
            yield f"files younger than a day that nothing refers to yet: {left_over.young}; left alone."
        if self._stated_only:
            yield f"checksums stated without the file being handed in: {self._stated_only}."
        for name in left_over.strangers[:5]:
            yield f"{name} lies among the kept files and was not put there by Laydown: left alone."
        if len(left_over.strangers) > 5:
            yield f"more of these: {len(left_over.strangers) - 5}."

    def _is_wanted(self, sha256: str) -> bool:
        return _is_kept(self._connection, sha256) or self._replay.refers_to(sha256)


def discard(records: Records, names: Iterable[str], *, now: datetime) -> int:
    """Delete left-over files for good; how many.

    Nobody can begin to refer to one meanwhile: it is done in the turn of a writer.
    """
    count = 0
    with records.writing() as connection:
        for name in names:
            if not _is_kept(connection, name) and _is_old(records.vault, name, now):
                records.vault.discard(name)
                count += 1
    return count


def _is_old(vault: FileVault, name: str, now: datetime) -> bool:
    return vault.age(name, now=now) > timedelta(hours=STRAY_HOURS.value)


def _is_kept(connection: Connection, sha256: str) -> bool:
    found = select(kept_files.c.sha256).where(kept_files.c.sha256 == sha256)
    return connection.execute(found).first() is not None
