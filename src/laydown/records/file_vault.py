"""Keeps files by the hash of their content, in a folder or wherever else fsspec reaches."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import fsspec

from laydown.kernel.errors import AlteredFile, CannotKeep, UnknownRecord
from laydown.records.durable_writing import flush_folder


class FileVault:
    """A store of files that never change; the same content is kept once.

    ``url`` is a folder or any address fsspec knows. A file is written aside, flushed to the disk and then
    renamed, so that it is there whole or not at all; every reading is checked against the hash.
    """

    def __init__(self, url: str) -> None:
        self._fs, root = fsspec.core.url_to_fs(url)
        self._root = str(root).rstrip("/")

    def keep(self, content: bytes) -> str:
        """Put content away; its SHA-256 in hexadecimal.

        Raises
        ------
        CannotKeep
            The disk is full or may not be written; nothing is left half-written.
        """
        sha256 = hashlib.sha256(content).hexdigest()
        place = self._place(sha256)
        if self._intact(sha256, place):
            return sha256
        aside = f"{self._root}/incoming/{secrets.token_hex(12)}"
        try:
            self._fs.makedirs(f"{self._root}/incoming", exist_ok=True)
            self._fs.makedirs(place.rpartition("/")[0], exist_ok=True)
            with self._fs.open(aside, "wb") as file:
                file.write(content)
                self._flush(file)
            self._move(aside, place)
        except OSError as error:
            with contextlib.suppress(OSError):
                self._fs.rm_file(aside)
            raise CannotKeep(
                f"a file could not be put away ({error.strerror or error}); nothing was changed.",
                todo="Free some space or check the folder's permissions, then try again.",
                file=self._root,
            ) from error
        return sha256

    def read(self, sha256: str) -> bytes:
        """A kept file.

        Raises
        ------
        UnknownRecord
            No such file is kept.
        AlteredFile
            Its bytes are not the ones that were put away.
        """
        try:
            content: bytes = self._fs.cat_file(self._place(sha256))
        except FileNotFoundError as error:
            raise UnknownRecord(
                "a kept file is missing.", todo="Restore it from a backup: laydown restore.", file=sha256
            ) from error
        if hashlib.sha256(content).hexdigest() != sha256:
            raise AlteredFile(
                "this kept file is not what was put away; its bytes have changed.",
                todo="Restore it from a backup: laydown restore.",
                file=sha256,
            )
        return content

    def all(self) -> Iterator[str]:
        """The hash of every file that lies here."""
        with contextlib.suppress(FileNotFoundError):
            for path in sorted(self._fs.find(self._root)):
                name = str(path).rpartition("/")[2]
                if "/incoming/" not in str(path):
                    yield name

    def discard(self, sha256: str) -> None:
        """Delete a file for good; for files nothing refers to."""
        self._fs.rm_file(self._place(sha256))

    def _place(self, sha256: str) -> str:
        return f"{self._root}/{sha256[:2]}/{sha256}"

    def _intact(self, sha256: str, place: str) -> bool:
        if not self._fs.exists(place):
            return False
        return hashlib.sha256(self._fs.cat_file(place)).hexdigest() == sha256

    def _flush(self, file: Any) -> None:
        file.flush()
        with contextlib.suppress(AttributeError, OSError, ValueError):  # not every store has files to flush
            os.fsync(file.fileno())

    def _move(self, aside: str, place: str) -> None:
        if "file" in (self._fs.protocol if isinstance(self._fs.protocol, tuple) else (self._fs.protocol,)):
            Path(aside).replace(place)
            flush_folder(Path(place).parent)
        else:
            self._fs.mv(aside, place)
