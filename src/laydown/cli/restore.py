"""``laydown restore``."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click


@click.command(short_help="Take a backup back.")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--replace",
    is_flag=True,
    help="Take the place of the records that are here; they are backed up first.",
)
def restore(file: Path, replace: bool) -> None:
    """Put the content of a backup into these records: all of it, or nothing.

    Where there are records already this is refused, unless --replace is given. Everybody else should have
    left the workbench. Afterwards everything is looked at, as by laydown verify.
    """
    from laydown import boot
    from laydown.cli.verify import show
    from laydown.records.backup import name_for
    from laydown.records.restoring import restore as take_back
    from laydown.records.verifying import verify

    with closing(boot.records()) as records:
        done = take_back(
            records, file, replacing=boot.backups_folder() / name_for(records.now()) if replace else None
        )
        if done.before is not None:
            click.echo(f"What was here is in {done.before.path}")
        click.echo(f"Took back the backup made at {done.made_at}. Rows: {done.rows}. Files: {done.files}.")
        for sha256 in done.lost:
            click.echo(f"Already missing when the backup was made: file {sha256}", err=True)
        found = verify(records)
    show(found)
    if not found.sound:
        raise SystemExit(1)
