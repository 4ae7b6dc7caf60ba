"""``laydown form foretell``."""

from __future__ import annotations

from typing import get_args

import click

from laydown.cli.form_options import LENGTH, channels_of
from laydown.science.forms.choose_patches import Question
from laydown.science.forms.reader import ReaderKind


@click.command(short_help="What would an area of patches tell?")
@click.option("--width", type=LENGTH, required=True, help="Width of the area for patches.")
@click.option("--height", type=LENGTH, required=True, help="Height of it.")
@click.option("--reader", type=click.Choice(get_args(ReaderKind)), default="strip", show_default=True)
@click.option("--patch-size", type=LENGTH, help="Width and height of a patch.")
@click.option("--question", type=click.Choice(get_args(Question)), default="everything", show_default=True)
@click.option("--inks", default="RGB", show_default=True, help="RGB, CMYK, or inks such as C,M,Y,K,O,V.")
@click.option("--ink-limit", type=float, metavar="PERCENT", help="The most ink a patch may have.")
@click.option("--pages", type=click.IntRange(1, 20), default=1, show_default=True, help="Areas alike.")
@click.option("--sheets", type=click.IntRange(1, 100), default=3, show_default=True, help="Of each medium.")
def foretell(
    width: float,
    height: float,
    reader: ReaderKind,
    patch_size: float | None,
    question: Question,
    inks: str,
    ink_limit: float | None,
    pages: int,
    sheets: int,
) -> None:
    """Fill an area with the patches that tell most, and say what they are foretold to tell."""
    import numpy as np

    from laydown.report.form_draft_words import precision_words, role_words
    from laydown.science.findings.form_design import design_patches
    from laydown.science.forms.page import Box
    from laydown.science.forms.reader import usual_reader

    design = design_patches(
        Box(0.0, 0.0, width, height),
        usual_reader(reader, patch_mm=patch_size),
        rng=np.random.default_rng(1),
        channels=channels_of(inks),
        question=question,
        ink_limit=None if ink_limit is None else ink_limit / 100.0,
        pages=pages,
        sheets=sheets,
    )
    click.echo(role_words(design.layout.patches.counts()))
    for said in (*(precision_words(design.precision) if design.precision else ()), *design.doubts):
        click.echo(said)
