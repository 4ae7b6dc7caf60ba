"""``laydown form draw``."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, get_args

import click

from laydown.cli.form_options import LENGTH, channels_of
from laydown.cli.writing import write_whole
from laydown.kernel.errors import UnreadableFile
from laydown.science.forms.choose_patches import Question
from laydown.science.forms.form_wish import PARTS, RESOLUTIONS, SCENE_NAMES, FormWish
from laydown.science.forms.reader import ReaderKind, usual_reader


@click.command(short_help="Design a form and write the files that printer and reader need.")
@click.argument("code")
@click.option("--out", type=click.Path(path_type=Path), default=Path(), help="Folder to write to.")
@click.option("--width", type=LENGTH, default=432.0, help="Width of the pages.  [default: 17in]")
@click.option("--length", type=LENGTH, help="Length of the pages.  [default: what they need]")
@click.option("--ppi", type=click.Choice([str(one) for one in RESOLUTIONS]), default="360", show_default=True)
@click.option("--patches", type=int, default=400, show_default=True, help="How many patches.")
@click.option("--question", type=click.Choice(get_args(Question)), default="everything", show_default=True)
@click.option("--reader", type=click.Choice(get_args(ReaderKind)), default="strip", show_default=True)
@click.option("--patch-size", type=LENGTH, help="Width and height of a patch.")
@click.option("--inks", default="RGB", show_default=True, help="RGB, CMYK, or inks such as C,M,Y,K,O,V.")
@click.option("--ink-limit", type=float, metavar="PERCENT", help="The most ink a patch may have.")
@click.option("--part", "parts", type=click.Choice(PARTS), multiple=True, help="Only these parts.")
@click.option(
    "--picture", "scenes", type=click.Choice(SCENE_NAMES), multiple=True, help="Only these pictures."
)
@click.option("--no-pictures", is_flag=True, help="Device pages only.")
@click.option("--as", "kind", type=click.Choice(["tiff", "pdf"]), default="tiff", show_default=True)
@click.option("--bits", type=click.Choice(["8", "16"]), default="8", show_default=True)
@click.option("--sheet", default="0", help="Sheet named in the code on the page.")
@click.option("--seed", type=int, default=1, show_default=True, help="Places the patches.")
def draw(
    code: str,
    out: Path,
    width: float,
    length: float | None,
    ppi: str,
    patches: int,
    question: Question,
    reader: ReaderKind,
    patch_size: float | None,
    inks: str,
    ink_limit: float | None,
    parts: tuple[str, ...],
    scenes: tuple[str, ...],
    no_pictures: bool,
    kind: Literal["tiff", "pdf"],
    bits: str,
    sheet: str,
    seed: int,
) -> None:
    """Design form CODE and write its pages, geometry and reference.

    The same options make the same form, to the pixel. Device pages are printed without colour management,
    picture pages through the profile of the medium.
    """
    from laydown.report.form_draft_words import draft_words
    from laydown.usecases.forms.draft_form import draft_form
    from laydown.usecases.forms.draw_page import DrawOptions
    from laydown.usecases.forms.write_form import form_files

    wish = FormWish(
        code=code.upper(),
        channels=channels_of(inks),
        question=question,
        patches=patches,
        ink_limit=None if ink_limit is None else ink_limit / 100.0,
        reader=usual_reader(reader, patch_mm=patch_size),
        width_mm=width,
        length_mm=length,
        ppi=int(ppi),
        parts=tuple(one for one in PARTS if one in parts) or PARTS,
        scenes=() if no_pictures else tuple(one for one in SCENE_NAMES if one in scenes) or SCENE_NAMES,
        seed=seed,
    )
    for said in draft_words(draft_form(wish, sheets=3)):
        click.echo(said)
    out.mkdir(parents=True, exist_ok=True)
    options = DrawOptions(kind=kind, bits=16 if bits == "16" else 8, sheet=sheet)
    for name, write in form_files(wish, options=options, read_file=_no_files):
        write_whole(out / name, write)


def _no_files(sha256: str) -> bytes:
    raise UnreadableFile(
        f"no file {sha256[:8]} is kept here.", todo="Use the workbench for pictures of your own."
    )
