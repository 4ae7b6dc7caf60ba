"""Keeps files by the hash of their content, in a folder or wherever else fsspec reaches."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import time
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import fsspec
from fsspec.implementations.local import LocalFileSystem

from laydown.kernel.errors import AlteredFile, BadSetting, CannotKeep, UnknownRecord
from laydown.records.arriving_file import ArrivingFile, KeptFile
from laydown.records.durable_writing import flush_folder

PIECE = 2**20
_INCOMING = "incoming"
_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)
_ASIDE = re.compile(r"[0-9a-f]{24}", re.ASCII)  # a name ArrivingFile gives


class FileVault:
    """A store of files that never change; the same content is kept once.

    ``url`` is a folder or any address fsspec knows. A file is written aside, flushed to the disk and then
    renamed, so that it is there whole or not at all; every reading is checked against the hash.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        self._fs, root = _opened(url)
        self._root = str(root).rstrip("/")
        self._local = isinstance(self._fs, LocalFileSystem)

    @property
    def folder(self) -> Path | None:
        """The folder it lies in; None where it is no folder of this computer."""
        return Path(self._root) if self._local else None

    def keep(self, content: bytes) -> str:
        """Put content away; its SHA-256 in hexadecimal.

        Raises
        ------
        CannotKeep
            The disk is full or may not be written; nothing is left half-written.
        """
        sha256 = hashlib.sha256(content).hexdigest()
        if self._here_already(sha256):
            return sha256
        return self.keep_stream((content,)).sha256

    def keep_stream(
        self, pieces: Iterable[bytes], *, limit: int | None = None, name: str | None = None
    ) -> KeptFile:
        """Put a file away that comes in pieces and is never whole in memory.

        Raises
        ------
        TooLarge
            It is larger than ``limit`` bytes; ``name`` is what the message calls it.
        CannotKeep
            The disk is full or may not be written; nothing is left half-written.
        """
        with self.receive(limit=limit, name=name) as arriving:
            for piece in pieces:
                arriving.write(piece)
            return arriving.finish()

    def receive(self, *, limit: int | None = None, name: str | None = None) -> ArrivingFile:
        """Begin to receive a file piece by piece; leaving its ``with`` block unfinished leaves nothing.

        Raises
        ------
        CannotKeep
            The folder may not be written.
        """
        with self._plain_errors():
            self._make_folder(f"{self._root}/{_INCOMING}")
            return ArrivingFile(
                self._fs,
                f"{self._root}/{_INCOMING}",
                limit=limit,
                name=name,
                local=self._local,
                finished=self._settle,
                plain_errors=self._plain_errors,
            )

    def read(self, sha256: str) -> bytes:
        """A kept file.

        Raises
        ------
        UnknownRecord
            No such file is kept.
        AlteredFile
            Its bytes are not the ones that were put away.
        """
        return b"".join(self.pieces(sha256))

    def pieces(self, sha256: str) -> Iterator[bytes]:
        """A kept file in pieces; the last piece is held back until the whole has been found to be unaltered.

        Raises
        ------
        UnknownRecord
            No such file is kept.
        AlteredFile
            Its bytes are not the ones that were put away.
        """
        found = hashlib.sha256()
        try:
            with self._fs.open(self._place(sha256), "rb") as file:
                held = b""
                while piece := file.read(PIECE):
                    found.update(piece)
                    if held:
                        yield held
                    held = piece
        except (FileNotFoundError, NotADirectoryError) as error:
            raise UnknownRecord(
                "a kept file is missing.", todo="Restore it from a backup: laydown restore.", file=sha256
            ) from error
        except OSError as error:
            raise AlteredFile(
                f"a kept file cannot be read ({error.strerror or error}).",
                todo="Check the disk; restore it from a backup: laydown restore.",
                file=sha256,
            ) from error
        if found.hexdigest() != sha256:
            raise AlteredFile(
                "this kept file is not what was put away; its bytes have changed.",
                todo="Restore it from a backup: laydown restore.",
                file=sha256,
            )
        if held:
            yield held

    def size(self, sha256: str) -> int | None:
        """How many bytes a kept file, or a half-received one, has; None where there is none."""
        try:
            return int(self._fs.size(self._path(sha256)))
        except OSError:
            return None

    def all(self) -> Iterator[str]:
        """The hash of every file that lies here."""
        for path in self._found(self._root):
            folder, _, name = path.rpartition("/")
            if folder.rpartition("/")[2] == name[:2] and _SHA256.fullmatch(name):
                yield name

    def strangers(self) -> Iterator[str]:
        """Files that lie here and were not put away by this program, by their path below the root."""
        for path in self._found(self._root):
            folder, _, name = path.rpartition("/")
            above = folder.rpartition("/")[2]
            ours = _ASIDE.fullmatch(name) if above == _INCOMING else _SHA256.fullmatch(name)
            if not ours or above not in (_INCOMING, name[:2]):
                yield path.removeprefix(self._root).lstrip("/")

    def half_received(self) -> tuple[str, ...]:
        """The names of files whose receiving was broken off, or goes on just now."""
        names = (path.rpartition("/")[2] for path in self._found(f"{self._root}/{_INCOMING}"))
        return tuple(name for name in names if _ASIDE.fullmatch(name))

    def age(self, name: str, *, now: datetime) -> timedelta:
        """How long ago a kept or half-received file was last written; no time where the store cannot say."""
        try:
            written: datetime = self._fs.modified(self._path(name))
        except (OSError, NotImplementedError):
            return timedelta(0)
        return now - (written if written.tzinfo else written.replace(tzinfo=UTC))

    def discard(self, name: str) -> None:
        """Delete a file for good, kept or half received; for files nothing refers to."""
        with contextlib.suppress(FileNotFoundError):
            self._fs.rm_file(self._path(name))

    def _path(self, name: str) -> str:
        return f"{self._root}/{_INCOMING}/{name}" if _ASIDE.fullmatch(name) else self._place(name)

    def _place(self, sha256: str) -> str:
        if not _SHA256.fullmatch(sha256):  # whatever it is, it must not lead out of here
            raise FileNotFoundError(f"{sha256!r} is no SHA-256")
        return f"{self._root}/{sha256[:2]}/{sha256}"

    def _found(self, below: str) -> list[str]:
        try:
            return sorted(str(path) for path in self._fs.find(below))
        except FileNotFoundError:
            return []

    def _here_already(self, sha256: str) -> bool:
        """Whether it is here, unaltered; its date is renewed, so that nobody tidies it away just now."""
        try:
            for _ in self.pieces(sha256):
                pass
        except (UnknownRecord, AlteredFile):
            return False
        if self._local:
            with contextlib.suppress(OSError):
                os.utime(self._place(sha256))
        return True

    def _settle(self, aside: str, sha256: str) -> None:
        """Give a received file its place, in one step."""
        if self._here_already(sha256):
            self._fs.rm_file(aside)
            return
        place = self._place(sha256)
        self._make_folder(place.rpartition("/")[0])
        if not self._local:
            self._fs.mv(aside, place)
            return
        _renamed(Path(aside), Path(place))
        flush_folder(Path(place).parent)

    def _make_folder(self, path: str) -> None:
        if self._local and not Path(path).is_dir():
            Path(path).mkdir(parents=True, exist_ok=True)
            flush_folder(Path(path).parent)
        elif not self._local:
            self._fs.makedirs(path, exist_ok=True)

    @contextlib.contextmanager
    def _plain_errors(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise CannotKeep(
                f"a file could not be put away ({error.strerror or error}); nothing was changed.",
                todo="Free some space or check the folder's permissions, then try again.",
                file=self._root,
            ) from error


def _opened(url: str) -> tuple[Any, str]:
    if "://" not in url:  # a folder, whatever characters it is named with
        return LocalFileSystem(), LocalFileSystem._strip_protocol(str(Path(url).expanduser().absolute()))
    try:
        store, root = fsspec.core.url_to_fs(url)
    except (ImportError, ValueError) as error:
        raise BadSetting(
            f"files cannot be kept there ({error}).", todo="See the guide, LAYDOWN_FILES.", file=url
        ) from error
    return store, root


def _renamed(aside: Path, place: Path) -> None:
    """Rename; on Windows somebody who reads the altered file that is replaced may hold it for a moment."""
    for pause in (0.05, 0.2, 0.5):
        try:
            aside.replace(place)
            return
        except PermissionError:
            if os.name != "nt":
                raise
            time.sleep(pause)
    aside.replace(place)
