"""Receives one file piece by piece onto the disk, never holding it in memory."""

from __future__ import annotations

import hashlib
import os
import secrets
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

from laydown.kernel.errors import TooLarge
from laydown.records.upload_record import Limits, StoredFile


class Incoming:
    """A file on its way in; leaving the ``with`` block without ``finish`` leaves no trace of it.

    >>> with store.receive(draft.id, "Baryta/sheet 1.txt") as incoming:  # doctest: +SKIP
    ...     incoming.write(b"...")
    ...     incoming.finish()
    """

    def __init__(
        self,
        folder: Path,
        path: str,
        *,
        limits: Limits,
        room: int,
        finished: Callable[[Incoming], StoredFile],
    ) -> None:
        self.path = path
        self.size = 0
        self.part = folder / f"{secrets.token_hex(8)}.part"
        self._limits = limits
        self._room = room
        self._finished = finished
        self._hash = hashlib.sha256()
        self._file = self.part.open("wb")

    @property
    def digest(self) -> str:
        """SHA-256 of what was received so far."""
        return self._hash.hexdigest()

    def write(self, piece: bytes) -> None:
        """Add a piece.

        Raises
        ------
        TooLarge
            The file, or all files of the draft together, pass the limit.
        """
        self.size += len(piece)
        if self.size > self._limits.file_bytes:
            raise TooLarge(
                f"the file is larger than {self._limits.file_bytes // 2**20} MB, "
                "far more than a measurement file needs.",
                todo="Check that it is a measurement file.",
                file=self.path,
            )
        self.refuse_beyond(self._room)
        self._hash.update(piece)
        self._file.write(piece)

    def refuse_beyond(self, room: int) -> None:
        """Refuse a file that is larger than the room there is left for it.

        Raises
        ------
        TooLarge
            It is.
        """
        if self.size > room:
            raise TooLarge(
                f"all files together are larger than {self._limits.total_bytes // 2**20} MB.",
                todo="Split the trial into smaller comparisons.",
                file=self.path,
            )

    def finish(self) -> StoredFile:
        """Flush the file to the disk and make it part of the draft."""
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()
        return self._finished(self)

    def __enter__(self) -> Incoming:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._file.close()
        self.part.unlink(missing_ok=True)
