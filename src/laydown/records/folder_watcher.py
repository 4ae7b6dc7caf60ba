"""Watches a folder for files an instrument's software exports there, and hands each over once it is complete.

The folder is only ever read: nothing in it is changed, moved or deleted.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from laydown.kernel.constants import Constant

STILL_SECONDS = Constant(
    3.0,
    "s",
    "our own choice: a file whose size and time have not changed for so long is complete",
    "computed",
)
LOOK_SECONDS = Constant(
    5.0, "s", "our own choice: how often to look where a drive sends no word of changes", "computed"
)
LARGEST = Constant(64.0 * 2**20, "bytes", "far more than a measurement file needs", "computed")
DEEPEST = 4
NOT_WANTED = frozenset(
    {
        ".tmp", ".part", ".partial", ".crdownload", ".download", ".swp", ".lock", ".lck",
        ".db", ".ini", ".lnk", ".ics", ".log", ".bak", ".json",
        ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".gif", ".heic", ".pdf", ".doc", ".docx", ".html", ".md",
        ".zip", ".rar", ".7z", ".gz",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SeenFile:
    """A complete file: its path below the folder with ``/`` between folders, its hash, and how to read it.

    ``too_large`` files are not read; their hash stands for name and size.
    """

    name: str
    path: Path
    sha256: str
    too_large: bool = False


class FolderWatcher:
    """Hands over the files of a folder, each state of a file once; ``clock`` is a steady clock in seconds."""

    def __init__(
        self,
        folder: Path,
        *,
        clock: Callable[[], float] = time.monotonic,
        still_seconds: float = STILL_SECONDS.value,
    ) -> None:
        self.folder = folder
        self.clock = clock
        self.still_seconds = still_seconds
        self.trouble = ""
        self._waiting: dict[Path, tuple[tuple[int, int], float]] = {}
        self._done: dict[Path, tuple[int, int]] = {}

    def complete_files(self) -> tuple[SeenFile, ...]:
        """Files that are complete and were not handed over yet, by name.

        ``trouble`` says what stands in the way. A file is complete once it holds something and its size and
        time of change have stood still; one that another program still holds shut waits.
        """
        found = []
        now = self.clock()
        there = self._files()
        for path, state in there.items():
            if self._done.get(path) == state:
                continue
            known = self._waiting.get(path)
            if known is None or known[0] != state:
                self._waiting[path] = (state, now)
                known = self._waiting[path]
            if now - known[1] < self.still_seconds:
                continue
            seen = self._read(path, state)
            if seen is not None:
                self._done[path] = state
                found.append(seen)
                del self._waiting[path]
        for gone in self._waiting.keys() - there.keys():
            del self._waiting[gone]
        if not self.trouble:  # else it may only be out of reach
            for gone in self._done.keys() - there.keys():
                del self._done[gone]
        return tuple(sorted(found, key=lambda one: one.name))

    @property
    def is_waiting(self) -> bool:
        """Whether a file is there that is not complete yet."""
        return bool(self._waiting)

    def hand_back(self, seen: SeenFile) -> None:
        """Hand a file over again the next time, because nothing could be done with it now."""
        self._done.pop(seen.path, None)

    def _files(self) -> dict[Path, tuple[int, int]]:
        """Every file that may hold readings, with its size and time of change."""
        found: dict[Path, tuple[int, int]] = {}
        self.trouble = ""
        self._collect(self.folder, 0, found)
        return found

    def _collect(self, folder: Path, depth: int, found: dict[Path, tuple[int, int]]) -> None:
        """What one folder holds; one that cannot be read does not keep the others from being looked at."""
        try:
            with os.scandir(folder) as entries:
                for entry in entries:
                    with contextlib.suppress(FileNotFoundError):  # it went while the folder was looked at
                        self._look_at(entry, depth, found)
        except OSError as error:
            if depth == 0 or not isinstance(error, FileNotFoundError):
                self.trouble = f"The folder {folder} cannot be read ({error.strerror or error})."

    def _look_at(self, entry: os.DirEntry[str], depth: int, found: dict[Path, tuple[int, int]]) -> None:
        if entry.name.startswith((".", "~")):
            return
        if entry.is_dir(follow_symlinks=False):
            if depth < DEEPEST:
                self._collect(Path(entry.path), depth + 1, found)
        elif entry.is_file() and Path(entry.name).suffix.lower() not in NOT_WANTED:
            told = entry.stat()
            if told.st_size:
                found[Path(entry.path)] = (told.st_size, told.st_mtime_ns)

    def _read(self, path: Path, state: tuple[int, int]) -> SeenFile | None:
        """The file with its hash; None where it cannot be opened yet or has just changed."""
        name = path.relative_to(self.folder).as_posix()
        if state[0] > LARGEST.value:
            return SeenFile(name, path, hashlib.sha256(f"{name} {state[0]}".encode()).hexdigest(), True)
        try:
            content = path.read_bytes()
            told = path.stat()
        except OSError:
            return None
        if len(content) != state[0] or (told.st_size, told.st_mtime_ns) != state:
            return None
        return SeenFile(name, path, hashlib.sha256(content).hexdigest())


def wait_for_change(folder: Path, stop: threading.Event, *, seconds: float = LOOK_SECONDS.value) -> None:
    """Wait until something happens in a folder, ``seconds`` have passed, or ``stop`` is set.

    A network drive may never say that something happened, nor may a folder that is not there: the wait then
    simply ends in time.
    """
    if stop.is_set():
        return
    try:
        from watchfiles import watch

        changes: Iterator[object] = watch(
            folder,
            stop_event=stop,
            debounce=200,
            step=100,
            rust_timeout=int(seconds * 1000),
            yield_on_timeout=True,
            ignore_permission_denied=True,
        )
        next(iter(changes), None)
    except (OSError, RuntimeError):  # not there, not to be watched, or too many are watched already
        stop.wait(seconds)
