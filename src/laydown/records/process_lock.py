"""Locks that one process of a computer holds at a time, and that end with the process however it ends."""

from __future__ import annotations

import errno
import os
import threading
import time
from pathlib import Path
from types import TracebackType

_PAUSE_S = 0.005
_NO_LOCKS = frozenset({errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP})


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


class Turn:
    """A turn that one thread of one process has at a time, and that others wait for.

    Taken again by whoever has it, it stays the same turn.

    >>> turn = Turn(folder / "uploads.lock")  # doctest: +SKIP
    ... with turn:
    ...     ...
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._threads = threading.RLock()
        self._depth = 0
        self._handle = -1

    def __enter__(self) -> None:
        self._threads.acquire()
        try:
            if self._depth == 0:
                self._handle = _waited_for(self.path)
        except BaseException:
            self._threads.release()
            raise
        self._depth += 1

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._depth -= 1
        if self._depth == 0:
            os.close(self._handle)  # which lets go of the lock
        self._threads.release()


def _waited_for(path: Path) -> int:
    """A handle on the file with the operating system's lock on it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        while True:
            try:
                _lock(handle)
                return handle
            except (BlockingIOError, PermissionError):  # another process has it
                time.sleep(_PAUSE_S)
            except OSError as error:
                if error.errno not in _NO_LOCKS:
                    raise
                return handle  # a drive that knows no locks; the threads of this process still take turns
    except BaseException:
        os.close(handle)
        raise


def _lock(handle: int) -> None:
    """Take the lock at once, or raise OSError."""
    if os.name == "posix":
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    else:
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
