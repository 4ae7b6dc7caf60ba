"""A lock that one process of a computer holds at a time, and that ends with the process however it ends."""

from __future__ import annotations

import os
from pathlib import Path
from types import TracebackType


class ProcessLock:
    """Held by taking the operating system's lock on a file; the file itself means nothing and stays.

    >>> with ProcessLock(folder / "watching.lock") as lock:  # doctest: +SKIP
    ...     if lock.held: ...
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.held = False
        self._handle: int | None = None

    def __enter__(self) -> ProcessLock:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self._handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            _lock(self._handle)
            self.held = True
        except OSError:  # another process holds it
            self.held = False
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._handle is not None:
            os.close(self._handle)  # which lets go of the lock
            self._handle = None
        self.held = False


def _lock(handle: int) -> None:
    """Take the lock at once, or raise OSError."""
    if os.name == "posix":
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    else:
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
