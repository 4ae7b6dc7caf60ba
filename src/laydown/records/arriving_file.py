"""A file on its way into the vault, piece by piece."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from types import TracebackType
from typing import Any

from laydown.kernel.errors import TooLarge


@dataclass(frozen=True, slots=True)
class KeptFile:
    """What a file is known by, and its size in bytes."""

    sha256: str
    size: int


class ArrivingFile:
    """A file on its way in; leaving the ``with`` block without ``finish`` leaves nothing of it.

    >>> with vault.receive(limit=2**26, name="sheet 1.txt") as arriving:  # doctest: +SKIP
    ...     arriving.write(b"...")
    ...     kept = arriving.finish()
    """

    def __init__(
        self,
        store: Any,
        folder: str,
        *,
        limit: int | None,
        name: str | None,
        local: bool,
        finished: Callable[[str, str], None],
        plain_errors: Callable[[], AbstractContextManager[None]],
    ) -> None:
        self.size = 0
        self._store = store
        self._aside = f"{folder}/{secrets.token_hex(12)}"
        self._limit = limit
        self._name = name
        self._local = local
        self._finished = finished
        self._plain_errors = plain_errors
        self._hash = hashlib.sha256()
        self._file = store.open(self._aside, "wb")

    def write(self, piece: bytes) -> None:
        """Add a piece.

        Raises
        ------
        TooLarge
            The file passes the limit.
        CannotKeep
            The disk is full.
        """
        self.size += len(piece)
        if self._limit is not None and self.size > self._limit:
            raise TooLarge(
                f"the file is larger than the {_told(self._limit)} that are allowed.",
                todo="Check that it is the file you mean.",
                file=self._name,
            )
        self._hash.update(piece)
        with self._plain_errors():
            self._file.write(piece)

    def finish(self) -> KeptFile:
        """Flush it to the disk and give it its place.

        Raises
        ------
        CannotKeep
            The disk is full or may not be written; nothing is left half-written.
        """
        sha256 = self._hash.hexdigest()
        with self._plain_errors():
            self._file.flush()
            if self._local:
                os.fsync(self._file.fileno())
            self._file.close()
            self._finished(self._aside, sha256)
        return KeptFile(sha256, self.size)

    def __enter__(self) -> ArrivingFile:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        with contextlib.suppress(OSError):
            self._file.close()
        with contextlib.suppress(OSError):  # gone already where it was finished
            self._store.rm_file(self._aside)


def _told(limit: int) -> str:
    return f"{limit // 2**20} MB" if limit >= 2**20 else f"{limit} bytes"
