"""Writes what a command was asked to write: whole, or not at all."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, BinaryIO

import click

from laydown.kernel.errors import RefusedInput


def write_file(path: Path, data: bytes) -> None:
    """Write a file that is at hand; see ``write_whole``."""

    def write(into: BinaryIO) -> None:
        into.write(data)

    write_whole(path, write)


def write_whole(path: Path, write: Callable[[BinaryIO], None]) -> None:
    """Write beside the target first, then move into place, so that no half a file is ever there."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        with beside.open("xb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise RefusedInput(
            f"the file cannot be written ({error.strerror}).",
            todo="Choose a folder you may write to.",
            file=str(path),
        ) from error
    click.echo(f"Wrote {path}", err=True)


def write_json(told: Mapping[str, Any], target: str) -> None:
    """Write JSON to a file, or to the terminal where the target is ``-``."""
    text = json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    if target == "-":
        click.echo(text, nl=False)
    else:
        write_file(Path(target), text.encode())
