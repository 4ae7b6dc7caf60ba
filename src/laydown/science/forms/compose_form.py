"""Puts a form together: its patches, parts and pictures on pages, with marks, a code and instructions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.device_colours import grey
from laydown.science.forms.device_pages import device_pages, patches_on_top
from laydown.science.forms.form_parts import Group, part_groups
from laydown.science.forms.form_wish import LONGEST_MM, FormWish, check_wish, own_codes
from laydown.science.forms.identity import Identity, identity_elements
from laydown.science.forms.length_marks import MARK_MM as CROSS_MM
from laydown.science.forms.mark_grid import MARK_MM, mark_numbers
from laydown.science.forms.markers import mark_element
from laydown.science.forms.page import Page, Picture, check_page, colours_of
from laydown.science.forms.page_head import ANY_SHEET, Filled, PageUse, inner_box, page_head, replace_top
from laydown.science.forms.patch_layout import PatchLayout
from laydown.science.forms.patch_set import PatchSet
from laydown.science.forms.picture_pages import picture_pages

_HAIR_OF_INK = 1e-6  # what adding up shares of inks may round to


@dataclass(frozen=True, slots=True, eq=False)
class ComposedPage:
    """A page, and whether it is printed as device values or through a profile."""

    page: Page
    use: PageUse


@dataclass(frozen=True, slots=True, eq=False)
class ComposedForm:
    """A form ready to be drawn. ``left_out`` says in sentences what was asked for and found no room."""

    wish: FormWish
    patches: PatchSet
    layout: PatchLayout
    pages: tuple[ComposedPage, ...]
    left_out: tuple[str, ...]


def compose_form(wish: FormWish, *, rng: np.random.Generator) -> ComposedForm:
    """Put a form together.

    Device pages hold patches and what is measured of the printing itself; picture pages hold pictures, which
    are printed through the profile of each medium. Pictures are grey here: ``with_pixels`` puts them in.

    Parameters
    ----------
    wish : FormWish
    rng : says which patch lies where; begun from the wish's own seed, the form is the same each time

    Returns
    -------
    ComposedForm, the same for the same wish and state of ``rng``

    Raises
    ------
    BadSetting
        if it cannot be made at all: too few patches, no room for a row or for marks.

    Notes
    -----
    Patches lie highest on the page, in a block as wide as it is; parts are put below, the highest first, each
    at the highest free place. Marks within the page give way to patches, everything else gives way to marks.

    Checked against
    ---------------
    ``check_page`` for every page of many wishes; drawn pages located and read back.
    """
    check_wish(wish)
    patches = choose_patches(
        wish.patches,
        channels=wish.channels,
        question=wish.question,
        own=own_codes(wish),
        ink_limit=wish.ink_limit,
    )
    inner = inner_box(wish, wish.length_mm or LONGEST_MM.value)
    if inner.width_mm < CROSS_MM or inner.height_mm < CROSS_MM:
        raise BadSetting(
            f"a page {wish.width_mm:g} mm wide has no room between its marks.", todo="Choose a wider page."
        )
    groups, too_wide = part_groups(wish.parts, channels=wish.channels, room_mm=inner.width_mm, ppi=wish.ppi)
    groups, too_heavy = _within_ink_limit(groups, wish)
    head, below = page_head(wish, "device", inner)
    layout = patches_on_top(patches, replace_top(inner, below), wish, rng=rng)
    device = device_pages(wish, head, layout, groups)
    pictures, no_room = picture_pages(wish)
    filled = [*device.pages, *pictures]
    numbers = mark_numbers(wish.code, [len(one.marks) for one in filled])
    pages = []
    for one, name, own in zip(filled, _names(filled), numbers, strict=True):
        page = _page(wish, one, name, own)
        check_page(page)
        pages.append(ComposedPage(page, one.use))
    return ComposedForm(
        wish, patches, layout, tuple(pages), (*too_wide, *too_heavy, *device.left_out, *no_room)
    )


def for_sheet(page: Page, sheet: str) -> Page:
    """The page with the number of a sheet in its code and its words.

    Parameters
    ----------
    page : of a composed form
    sheet : capital letters, digits, dots and hyphens

    Returns
    -------
    Page; everything but code and words lies where it lay

    Raises
    ------
    BadSetting
        if the sheet's name does not fit in a code.

    Checked against
    ---------------
    Codes read back from drawn pages.
    """
    (code,) = page.of_kind("code")
    form, name, _ = str(code.facts["text"]).split("/")
    made = {
        one.kind: one
        for one in identity_elements(
            Identity(form, name, sheet),
            left_mm=code.box.left_mm,
            top_mm=code.box.top_mm,
            channels=page.channels,
        )
    }
    elements = tuple(
        made[one.kind] if one.kind == "code" or one.name == "identity" else one for one in page.elements
    )
    changed = replace(page, elements=elements)
    check_page(changed)
    return changed


def with_pixels(page: Page, pixels: Mapping[str, Floats | NDArray[np.uint8]]) -> Page:
    """The page with its pictures in it.

    Parameters
    ----------
    page : of a composed form
    pixels : for each picture, by the fact ``source`` of its element (the name of a scene, or the sha256 of a
        file), its (rows, columns, 3) values, 0 to 1 or 8 bits

    Returns
    -------
    Page; pictures that are not given stay grey

    Checked against
    ---------------
    Drawn pages that show the pixels given.
    """
    elements = []
    for one in page.elements:
        source = one.facts.get("source")
        if one.kind == "picture" and isinstance(source, str) and source in pixels:
            (paint,) = one.paints
            assert isinstance(paint, Picture)
            elements.append(replace(one, paints=(replace(paint, pixels=pixels[source]),)))
        else:
            elements.append(one)
    return replace(page, elements=tuple(elements))


def picture_sources(page: Page) -> tuple[str, ...]:
    """What the pictures of a page are made of: names of scenes, and sha256 of the studio's own files.

    Parameters
    ----------
    page : Page

    Returns
    -------
    tuple of str, each once

    Checked against
    ---------------
    Pages of composed forms.
    """
    return tuple(dict.fromkeys(str(one.facts["source"]) for one in page.of_kind("picture")))


def _page(wish: FormWish, filled: Filled, name: str, numbers: Sequence[int]) -> Page:
    """The page with its marks and its own name."""
    dark = grey(0.0, filled.channels)
    marks = tuple(
        mark_element(number, left_mm=box.left_mm, top_mm=box.top_mm, size_mm=MARK_MM.value, dark=dark)
        for box, number in zip(filled.marks, numbers, strict=True)
    )
    (code,) = (one for one in filled.elements if one.kind == "code")
    own = {
        one.kind: one
        for one in identity_elements(
            Identity(wish.code, name, ANY_SHEET),
            left_mm=code.box.left_mm,
            top_mm=code.box.top_mm,
            channels=filled.channels,
        )
    }
    elements = tuple(
        own[one.kind] if one.kind == "code" or one.name == "identity" else one for one in filled.elements
    )
    return Page(name, wish.width_mm, filled.length_mm, filled.channels, (*marks, *elements))


def _names(filled: Sequence[Filled]) -> list[str]:
    """D1, D2 ... for device pages, P1 ... for pictures."""
    count = {"device": 0, "picture": 0}
    names = []
    for one in filled:
        count[one.use] += 1
        names.append(f"{one.use[0].upper()}{count[one.use]}")
    return names


def _within_ink_limit(groups: Sequence[Group], wish: FormWish) -> tuple[tuple[Group, ...], tuple[str, ...]]:
    """Groups without those that ask for more ink than the medium takes, and sentences about these."""
    if wish.ink_limit is None:
        return tuple(groups), ()
    kept, told = [], []
    for group in groups:
        paints = [paint for element in group.make(0.0, 0.0) for paint in element.paints]
        most = max(sum(colour) for paint in paints for colour in colours_of(paint))
        if most > wish.ink_limit + _HAIR_OF_INK:
            told.append(
                f"{group.name}: it takes {100.0 * most:.0f} % ink, above {100.0 * wish.ink_limit:g} %."
            )
        else:
            kept.append(group)
    return tuple(kept), tuple(told)
