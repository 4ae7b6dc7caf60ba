"""``laydown compare``."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from laydown.cli.progress import shown_progress
from laydown.cli.writing import write_file, write_json

if TYPE_CHECKING:
    from laydown.usecases.compare_media import CompareOptions
    from laydown.usecases.comparison import Comparison


@click.command(short_help="Which medium is better, and is the difference real?")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--house", default="", metavar="NAME", help="The medium used now; all others are called against it."
)
@click.option("--margins", type=click.Path(path_type=Path), metavar="FILE", help="Your own margins (JSON).")
@click.option(
    "--trial", type=click.Path(path_type=Path), metavar="FILE", help="Trial file, if not in the folder."
)
@click.option("--condition", type=click.Choice(["M0", "M1", "M2", "M3"]), help="Condition to judge under.")
@click.option(
    "--json", "json_path", metavar="FILE|-", help="Write the answer as JSON ('-': to the terminal)."
)
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE", help="Write the dossier.")
@click.option(
    "--paper", type=click.Choice(["a4", "us-letter"]), default="a4", help="Page size of the dossier."
)
@click.option("--all", "everything", is_flag=True, help="Show findings under every condition that was read.")
@click.option("--plain", is_flag=True, help="Plain text: ASCII, no styles, no progress.")
def compare(
    paths: tuple[Path, ...],
    house: str,
    margins: Path | None,
    trial: Path | None,
    condition: str | None,
    json_path: str | None,
    pdf: Path | None,
    paper: Literal["a4", "us-letter"],
    everything: bool,
    plain: bool,
) -> None:
    """Compare media from their measurement files.

    PATHS is one folder, where each sub-folder is a medium and each file in it a sheet; or several files, each
    a medium (a folder among them is a medium with its sheets). Files of one sheet that differ in measuring
    condition belong together: name them alike, such as sheet1-M1 and sheet1-M2.
    """
    from laydown import boot
    from laydown.records.measurement_files import find_measurement_files
    from laydown.usecases.compare_media import compare_media

    found = find_measurement_files(paths)
    told = trial.read_bytes() if trial else found.trial
    options = _options(house, margins, condition or "", told, str(trial or found.trial_name))
    with shown_progress(plain=plain) as progress:
        comparison = compare_media(found.files, options=options, runner=boot.runner(), progress=progress)
    if json_path:
        from laydown.report import to_json

        write_json(to_json(comparison), json_path)
    if pdf:
        from laydown.report import dossier_pdf

        made_at = datetime.now(tz=UTC).astimezone().strftime("%d %B %Y, %H:%M %Z")
        write_file(pdf, dossier_pdf(comparison, paper=paper, made_at=made_at))
    if json_path != "-":
        _show(comparison, plain=plain, everything=everything)


def _options(
    house: str, margins: Path | None, condition: str, trial: bytes | None, trial_name: str
) -> CompareOptions:
    from laydown.kernel.errors import RefusedInput
    from laydown.usecases.compare_media import CompareOptions
    from laydown.usecases.trial_file import Trial, parse_margins, parse_trial

    try:
        own = parse_margins(margins.read_bytes(), file=margins.name) if margins else {}
    except OSError as error:
        raise RefusedInput(
            f"the margins file cannot be opened ({error.strerror}).", file=str(margins)
        ) from None
    stated = parse_trial(trial, file=trial_name) if trial is not None else Trial()
    return CompareOptions(house=house, condition=condition, margins=own, trial=stated)


def _show(comparison: Comparison, *, plain: bool, everything: bool) -> None:
    from laydown.report import render_plain, render_rich

    if plain:
        click.echo(render_plain(comparison, width=80, everything=everything))
        return
    from rich.console import Console

    # A pipe has no width of its own; names keep their letters wherever the encoding has them.
    console = Console() if sys.stdout.isatty() else Console(width=80, color_system=None)
    render_rich(comparison, console, everything=everything)
