"""Everything that goes with a form as files: pages, geometry, reference, and what to do with them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import BinaryIO

from laydown.science.forms.compose_form import ComposedPage, picture_sources, with_pixels
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import to_json
from laydown.science.forms.identity import INSTRUCTIONS
from laydown.usecases.forms.composed import composed, geometry_of
from laydown.usecases.forms.draw_page import DrawOptions, draw_page
from laydown.usecases.forms.picture_pixels import pixels_of
from laydown.usecases.forms.write_reference import write_reference

Write = Callable[[BinaryIO], None]


def form_files(
    wish: FormWish, *, options: DrawOptions, read_file: Callable[[str], bytes]
) -> Iterator[tuple[str, Write]]:
    """Each file of a form: its name, and what writes it. Pages are drawn one after the other.

    Raises
    ------
    BadSetting
        No form can be made of the wish.
    """
    form = composed(wish)
    ending = {"tiff": "tif", "pdf": "pdf"}[options.kind]
    for one in form.pages:
        name = f"{wish.code}-{one.page.name}"
        yield f"{name}.{ending}", _drawing(one, wish, options, read_file)
        yield f"{name}-geometry.json", _text(to_json(geometry_of(form, one)))
    patches = [geometry for one in form.pages if (geometry := geometry_of(form, one)).patches]
    if patches:
        yield f"{wish.code}-reference.txt", _bytes(write_reference(patches))
    yield f"{wish.code}-read-me.txt", _text(_read_me(wish))


def _drawing(
    one: ComposedPage, wish: FormWish, options: DrawOptions, read_file: Callable[[str], bytes]
) -> Write:
    def write(into: BinaryIO) -> None:
        page = one.page
        if one.use == "picture":
            page = with_pixels(page, pixels_of(picture_sources(page), read_file=read_file))
        draw_page(ComposedPage(page, one.use), wish, into, options=options)

    return write


def _text(text: str) -> Write:
    return _bytes(text.encode())


def _bytes(content: bytes) -> Write:
    def write(into: BinaryIO) -> None:
        into.write(content)

    return write


def _read_me(wish: FormWish) -> str:
    """How the form is printed and read, on half a page."""
    form = composed(wish)
    lines = [f"Test form {wish.code}", ""]
    for one in form.pages:
        size = f"{one.page.width_mm:.0f} x {one.page.height_mm:.0f} mm"
        lines.append(f"{one.page.name} ({size}, {wish.ppi} ppi). {INSTRUCTIONS[one.use]}")
    lines += [
        "",
        "Print every candidate from these files and no others. Switch scaling and sharpening off.",
        "Switch the cutter off where the medium sheds lint or curls, and cut when the ink is dry.",
        "Measure the length marks with a steel rule before a series is printed.",
        f"{wish.code}-reference.txt lists the patches in reading order (CGATS, ISO 28178).",
        f"{wish.code}-...-geometry.json says where everything lies, in mm from the top left corner.",
        "Keep it: scans and readings are recognised by it.",
        "Blades cut: use a guarded straight edge, cut away from hand and body, follow your workshop's rules.",
    ]
    lines += [f"Not on it: {said}" for said in form.left_out]
    return "\n".join(lines) + "\n"
