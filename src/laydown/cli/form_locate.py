"""``laydown form locate``."""

from __future__ import annotations

from pathlib import Path

import click

from laydown.cli.writing import write_json


@click.command(short_help="Where does a page lie in a scan, and how long was it printed?")
@click.argument("scan", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.argument(
    "geometry", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False, exists=True)
)
@click.option("--ppi", type=float, help="Resolution of the scan, where its file does not say.")
@click.option(
    "--json", "json_path", metavar="FILE|-", help="Write the answer as JSON ('-': to the terminal)."
)
def locate(scan: Path, geometry: tuple[Path, ...], ppi: float | None, json_path: str | None) -> None:
    """Find the page of a form in a SCAN by its marks. GEOMETRY are the files drawn with the form.

    The exit code is 0 when the page was found, 1 when it was not.
    """
    from laydown.report.form_scan_words import found_json, found_words
    from laydown.science.forms.geometry import from_json
    from laydown.science.forms.placing import NotPlaced
    from laydown.usecases.forms.locate_scan import locate_scan

    pages = [from_json(path.read_text(encoding="utf-8")) for path in geometry]
    with scan.open("rb") as file:
        found = locate_scan(file, pages, name=scan.name, ppi=ppi)
    if json_path:
        write_json(found_json(found), json_path)
    if json_path != "-":
        if isinstance(found, NotPlaced):
            click.echo(f"Not found: {found.reason} {found.todo}")
        else:
            click.echo("\n".join(found_words(found)))
    if isinstance(found, NotPlaced):
        raise SystemExit(1)
