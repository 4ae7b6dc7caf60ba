"""Draw a page of a form as a file that a printer takes, or as a picture for the screen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import BinaryIO, Literal

from laydown.kernel.errors import AlteredFile, BadSetting
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.science.forms.compose_form import (
    ComposedPage,
    for_sheet,
    picture_sources,
    with_pixels,
)
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import to_json
from laydown.science.forms.identity import INSTRUCTIONS
from laydown.science.forms.page import Page
from laydown.science.forms.page_head import ANY_SHEET
from laydown.science.forms.pdf import write_pdf
from laydown.science.forms.tiff import Packing, write_tiff
from laydown.trials.test_form import TestForm
from laydown.usecases.forms.composed import composed, geometry_of, page_of
from laydown.usecases.forms.picture_pixels import pixels_of, srgb_profile

FileKind = Literal["tiff", "pdf"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawOptions:
    """How a page is drawn. ``sheet`` is printed in its code; "0" leaves it to be written or stuck on.

    ``profile`` embeds sRGB in a picture page; device pages never carry one.
    """

    kind: FileKind = "tiff"
    bits: Literal[8, 16] = 8
    packing: Packing = "deflate"
    profile: bool = True
    sheet: str = ANY_SHEET


def draw_form_page(
    records: Records, form_id: str, name: str, into: BinaryIO, *, options: DrawOptions
) -> None:
    """Draw a page of a form that is kept; what is drawn is held against its kept geometry first.

    Raises
    ------
    UnknownRecord
        There is no such form or page.
    AlteredFile
        This version would not draw what the form was made as.
    BadSetting
        The options make no sense together.
    """
    with records.look() as look:
        form = look.get(TestForm, form_id)
        one = page_of(composed(form.wish), name)
        refuse_if_changed(look, form, one)
        page = _with_pictures(look, one.page) if one.use == "picture" else one.page
    draw_page(ComposedPage(page, one.use), form.wish, into, options=options)


def draw_page(one: ComposedPage, wish: FormWish, into: BinaryIO, *, options: DrawOptions) -> None:
    """Write a page as TIFF or PDF at the printer's own resolution.

    Raises
    ------
    BadSetting
        The options make no sense together.
    TooLarge
        It is too large for a PDF.
    """
    page = one.page if options.sheet == ANY_SHEET else for_sheet(one.page, options.sheet)
    words = f"Form {wish.code}, page {page.name}. {INSTRUCTIONS[one.use]}"
    if options.kind == "tiff":
        profile = srgb_profile() if options.profile and one.use == "picture" else b""
        write_tiff(
            page,
            into,
            ppi=wish.ppi,
            bits=options.bits,
            packing=options.packing,
            profile=profile,
            words=words,
        )
    elif options.kind == "pdf":
        write_pdf(
            [page],
            into,
            ppi=wish.ppi,
            bits=options.bits,
            title=f"Form {wish.code}, page {page.name}",
            words=words,
        )
    else:
        raise BadSetting(f'a page cannot be drawn as "{options.kind}".', todo="Choose TIFF or PDF.")


def _with_pictures(look: Look, page: Page) -> Page:
    return with_pixels(page, pixels_of(picture_sources(page), read_file=look.read_file))


def refuse_if_changed(look: Look, form: TestForm, one: ComposedPage) -> None:
    """Refuse to show or draw a page otherwise than it was made.

    Raises
    ------
    AlteredFile
        This version would not draw what the form was made as.
    """
    kept = next((page for page in form.pages if page.name == one.page.name), None)
    now = to_json(geometry_of(composed(form.wish), one))
    if kept is None or look.read_file(kept.geometry_sha256).decode() != now:
        raise AlteredFile(
            f"page {one.page.name} of form {form.code} would not be drawn as it was made.",
            todo=f"It was made with version {form.made_with}: draw it with that, or make a new form.",
        )
