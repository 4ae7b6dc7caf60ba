"""``laydown backup``."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click


@click.command(short_help="Write all records and files into one file.")
@click.argument("file", required=False, type=click.Path(path_type=Path))
def backup(file: Path | None) -> None:
    """Write everything the studio keeps into one FILE, while others go on working.

    FILE may be a folder; then, and without FILE, the backup is named for the time. Any Laydown takes it
    back, whatever database it uses: laydown restore FILE. The exit code is 1 when a kept file was missing or
    altered and had to be left out.
    """
    from laydown import boot
    from laydown.records.backup import back_up, name_for

    with closing(boot.records()) as records:
        made = back_up(records, file or boot.backups_folder() / name_for(records.now()))
    click.echo(f"Wrote {made.path}")
    click.echo(
        f"Journal entries: {made.entries}. Rows: {made.rows}. "
        f"Files: {made.files} ({made.bytes / 2**20:.1f} MB)."
    )
    click.echo(f"Journal's last link: {made.last_digest}")
    for lost in made.lost:
        click.echo(f"Left out: file {lost.sha256}: {lost.why}", err=True)
    if made.lost:
        raise SystemExit(1)
