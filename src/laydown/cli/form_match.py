"""``laydown form match``."""

from __future__ import annotations

from pathlib import Path

import click

from laydown.cli.writing import write_file


@click.command(short_help="Which page is a measurement file of, and in which order was it read?")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.argument(
    "geometry", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, exists=True)
)
@click.option(
    "--mended",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the readings there, each beside the patch it is of (CGATS).",
)
def match(file: Path, geometry: tuple[Path, ...], mended: Path | None) -> None:
    """Find the page of a form in a measurement FILE. GEOMETRY are the files drawn with the form.

    Turned sheets, rows read backwards, there and back, missing and double rows are found and said; FILE is
    never changed. The exit code is 0 when a page was found, 1 when none was.
    """
    from laydown.science.forms.geometry import from_json
    from laydown.science.forms.matched import NotMatched
    from laydown.usecases.forms.recognise_file import file_in_page_order, recognise_file

    pages = [from_json(path.read_text(encoding="utf-8")) for path in geometry]
    recognised = recognise_file(file.read_bytes(), pages, name=file.name)
    found = recognised.match.found
    click.echo(recognised.match.sentence)
    if isinstance(found, NotMatched):
        raise SystemExit(1)
    if mended is not None:
        words = f"{file.name}: {found.words} {found.changes}"
        write_file(mended, file_in_page_order(recognised.tables, found, words=words))
