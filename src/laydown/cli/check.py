"""``laydown check``."""

from __future__ import annotations

from pathlib import Path

import click

from laydown.cli.writing import write_json


@click.command(short_help="What is in this file, and what is wrong with it?")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--json", "json_path", metavar="FILE|-", help="Write the answer as JSON ('-': to the terminal)."
)
def check(paths: tuple[Path, ...], json_path: str | None) -> None:
    """Say what is in measurement files, how they were measured, and what is wrong with them.

    The exit code is 0 when every file can be used, 1 when one was refused.
    """
    from laydown.records.measurement_files import find_measurement_files
    from laydown.report.checked_file import checked_json, checked_text
    from laydown.usecases.check_file import check_file

    checked = [check_file(file) for file in find_measurement_files(paths).files]
    if json_path:
        write_json(checked_json(checked), json_path)
    if json_path != "-":
        click.echo(checked_text(checked, width=80))
    if any(file.refused for file in checked):
        raise SystemExit(1)
