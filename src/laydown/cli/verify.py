"""``laydown verify``."""

from __future__ import annotations

import sys
from contextlib import closing
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from laydown.cli.writing import write_json

if TYPE_CHECKING:
    from laydown.records.verifying import Verification


@click.command(short_help="See that everything kept is sound.")
@click.option("--tidy", is_flag=True, help="Delete files that nothing has referred to for a day.")
@click.option(
    "--json", "json_path", metavar="FILE|-", help="Write the answer as JSON ('-': to the terminal)."
)
def verify(tidy: bool, json_path: str | None) -> None:
    """Look at everything that is kept: database, journal, tables, trials, files.

    The journal is played again from its first entry, and every table must be what comes out. Every kept file
    is read and compared with its checksum. The exit code is 1 when something is not as it must be.
    """
    from laydown import boot
    from laydown.records.verifying import verify as look_at_all

    def progress(what: str) -> None:
        if sys.stderr.isatty():
            click.echo(f"Looking at {what} ...", err=True)

    with closing(boot.records()) as records:
        found = look_at_all(records, tidy=tidy, progress=progress)
    if json_path:
        write_json(as_json(found), json_path)
    if json_path != "-":
        show(found)
    if not found.sound:
        raise SystemExit(1)


def as_json(found: Verification) -> dict[str, Any]:
    """What was found, as plain JSON values."""
    plain = asdict(found) | {"sound": found.sound, "checked_at": found.checked_at.isoformat()}
    return {name: list(value) if isinstance(value, tuple) else value for name, value in plain.items()}


def show(found: Verification) -> None:
    """What was found, on the terminal."""
    click.echo(
        f"Journal entries: {found.entries}. Rows: {found.rows}. Trials: {found.trials}. "
        f"Files: {found.files} ({found.bytes / 2**20:.1f} MB)."
    )
    click.echo(f"Journal's last link: {found.last_digest}")
    for trouble in found.troubles:
        click.echo(f"TROUBLE  {trouble.where}: {trouble.what}")
    for note in found.notes:
        click.echo(f"Note: {note}")
    if found.tidied:
        click.echo(f"Deleted files that nothing referred to: {found.tidied}.")
    click.echo("Everything is sound." if found.sound else "Not everything is sound; see above.")
