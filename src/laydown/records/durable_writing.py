"""Writes files so that they are there whole after a power cut, or not at all."""

from __future__ import annotations

import os
from pathlib import Path


def write_durably(path: Path, content: bytes) -> None:
    """Replace a file in one step: write aside, flush to the disk, rename."""
    aside = path.with_name(path.name + ".part")
    with aside.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Flush a folder's list of names to the disk, where the operating system has such a thing."""
    if os.name != "posix":  # Windows has no handle on folders; its renames are journalled
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
