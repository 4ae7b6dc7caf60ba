"""``laydown gamut``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from laydown.cli.progress import shown_progress
from laydown.cli.writing import write_json


@click.command(short_help="How large is the colour range, and what is shared?")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--condition", type=click.Choice(["M0", "M1", "M2", "M3"]), help="Condition to use.")
@click.option(
    "--slice",
    "slices",
    type=float,
    multiple=True,
    metavar="L*",
    help="Cut there; the outlines go into the JSON.",
)
@click.option(
    "--json", "json_path", metavar="FILE|-", help="Write the answer as JSON ('-': to the terminal)."
)
def gamut(
    paths: tuple[Path, ...], condition: str | None, slices: tuple[float, ...], json_path: str | None
) -> None:
    """Say how large each medium's colour range is, by hue, and what it shares with others.

    PATHS as for compare: a folder of media, or files that are each a medium. Every gamut is also set against
    sRGB, Adobe RGB (1998) and standard print conditions.
    """
    from laydown import boot
    from laydown.records.measurement_files import find_measurement_files
    from laydown.report.gamut_text import gamut_json, gamut_text
    from laydown.usecases.compare_media import CompareOptions, compare_media

    found = find_measurement_files(paths)
    options = CompareOptions(condition=condition or "")
    if slices:
        options = replace(options, slice_levels=slices)
    with shown_progress(plain=False) as progress:
        comparison = compare_media(found.files, options=options, runner=boot.runner(), progress=progress)
    if json_path:
        write_json(gamut_json(comparison), json_path)
    if json_path != "-":
        click.echo(gamut_text(comparison, width=80))
