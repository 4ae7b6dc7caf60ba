"""A key of random bytes that lasts: made once, kept where only its owner may read it."""

from __future__ import annotations

import contextlib
import os
import secrets
import time
from pathlib import Path

from laydown.kernel.errors import BadSetting, CannotKeep
from laydown.records.durable_writing import flush_folder
from laydown.records.private_folder import make_private_folder

LENGTH = 32
_PATIENCE_S = 2.0  # for another program that is writing it at this moment


def kept_secret(path: Path) -> bytes:
    """The key in a file, made on first need; programs that start at once agree on one.

    Raises
    ------
    CannotKeep
        It can be neither read nor written.
    BadSetting
        The file holds something else.
    """
    try:
        if not path.exists():
            make_private_folder(path.parent)
            _make(path)
        _close_to_others(path)
        return _read(path)
    except OSError as error:
        raise CannotKeep(
            f"the key that signs pages cannot be kept ({error.strerror or error}).",
            todo="Check the data folder's permissions.",
            file=str(path),
        ) from error


def _make(path: Path) -> None:
    """Give the file its name only when it is whole; whoever comes second finds the first one's."""
    aside = path.with_name(f".{path.name}.{secrets.token_hex(8)}")
    try:
        _write(aside)
        try:
            os.link(aside, path)
        except FileExistsError:
            return
        except OSError:  # a file system without links
            with contextlib.suppress(FileExistsError):
                _write(path)
        flush_folder(path.parent)
    finally:
        aside.unlink(missing_ok=True)


def _write(path: Path) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(secrets.token_bytes(LENGTH))
        file.flush()
        os.fsync(file.fileno())


def _close_to_others(path: Path) -> None:
    if os.name == "posix" and path.stat().st_mode & 0o077:
        path.chmod(0o600)


def _read(path: Path) -> bytes:
    until = time.monotonic() + _PATIENCE_S
    while len(key := path.read_bytes()) < LENGTH and time.monotonic() < until:
        time.sleep(0.02)
    if len(key) != LENGTH:
        raise BadSetting(
            "this is not a key that Laydown made.",
            todo="Take it away; a new one is made, and everybody has to sign in again.",
            file=str(path),
        )
    return key
