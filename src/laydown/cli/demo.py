"""``laydown demo``."""

from __future__ import annotations

import shlex
from pathlib import Path

import click


@click.command(short_help="Write the invented demo trial's files.")
@click.argument("folder", type=click.Path(path_type=Path))
def demo(folder: Path) -> None:
    """Write the demo trial's measurement files into FOLDER: an invented studio, invented media.

    Then: laydown compare FOLDER
    """
    from laydown.usecases.demo_trial import write_demo_trial

    write_demo_trial(folder)
    count = sum(path.is_file() for path in folder.rglob("*"))
    again = shlex.quote(str(folder))
    click.echo(f"Wrote {count} files of an invented trial to {folder}. Next: laydown compare {again}")
