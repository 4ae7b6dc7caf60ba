"""Fills the pages that are printed through a profile: pictures at actual size, and nothing between them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.forms.form_wish import LONGEST_MM, FormWish
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.mark_grid import mark_places
from laydown.science.forms.packing import FreeSpace
from laydown.science.forms.page import Box, Element, Fact, Picture, Shape, extent
from laydown.science.forms.page_head import (
    GAP_MM,
    LENGTH_STEP_MM,
    Filled,
    boxes,
    inner_box,
    page_head,
    replace_top,
    told_apart,
)
from laydown.science.forms.patch_set import RGB
from laydown.science.forms.scenes.every_scene import SIZE_MM

_CAPTION_PT = 5.0
_HALF_GREY = np.full((1, 1, 3), 0.5)


def picture_pages(wish: FormWish) -> tuple[tuple[Filled, ...], tuple[str, ...]]:
    """Pages of pictures, as few and as short as they can be.

    Parameters
    ----------
    wish : FormWish

    Returns
    -------
    pages, and sentences about pictures that are larger than a page

    Checked against
    ---------------
    Pictures of given sizes lie at actual size, beside each other.
    """
    wanted: list[tuple[str, str, float, float]] = [(name, name, *SIZE_MM) for name in wish.scenes]
    wanted += [(one.name, one.sha256, one.width_mm, one.height_mm) for one in wish.pictures]
    if not wanted:
        return (), ()
    longest = wish.length_mm or LONGEST_MM.value
    pages, told = _filled_pictures(wish, wanted, longest)
    if wish.length_mm is None and len(pages) == 1:
        low, high = 1, int(longest / LENGTH_STEP_MM)
        while low < high:
            middle = (low + high) // 2
            try:
                tried, lacking = _filled_pictures(wish, wanted, middle * LENGTH_STEP_MM)
            except BadSetting:
                low = middle + 1  # too short even for its marks
                continue
            if len(tried) == 1 and len(lacking) <= len(told):
                pages, high = tried, middle
            else:
                low = middle + 1
    return pages, told


def _filled_pictures(
    wish: FormWish, wanted: Sequence[tuple[str, str, float, float]], length_mm: float
) -> tuple[tuple[Filled, ...], tuple[str, ...]]:
    inner = inner_box(wish, length_mm)
    head, _ = page_head(wish, "picture", inner)
    caption = line_height_mm(_CAPTION_PT)
    rest = sorted(wanted, key=lambda one: -one[3])
    pages: list[Filled] = []
    told: list[str] = []
    while rest:
        # Pictures come first and marks in between give way: a mark in a picture spoils it.
        body = replace_top(inner, max(one.box.bottom_mm for one in head) + GAP_MM)
        space = FreeSpace(body, gap_mm=GAP_MM)
        elements, left = list(head), []
        for name, source, wide, high in rest:
            box = space.place(wide, high + caption)
            if box is None:
                left.append((name, source, wide, high))
            else:
                elements += told_apart(_picture(name, source, box, caption), elements)
        if len(left) == len(rest):
            told = [f"{name}: larger ({wide:g} x {high:g} mm) than the page." for name, _, wide, high in rest]
            break
        marks = mark_places(wish.width_mm, length_mm, edge_mm=wish.edge_mm, around=boxes(elements))
        pages.append(Filled("picture", length_mm, RGB, tuple(elements), marks))
        rest = left
    return tuple(pages), tuple(told)


def _picture(name: str, source: str, box: Box, caption_mm: float) -> tuple[Element, Element]:
    picture = Box(box.left_mm, box.top_mm, box.right_mm, box.bottom_mm - caption_mm)
    facts: dict[str, Fact] = {"source": source, "width_mm": picture.width_mm, "height_mm": picture.height_mm}
    said, words = _caption(name, Box(box.left_mm, picture.bottom_mm, box.right_mm, box.bottom_mm))
    below = Box(box.left_mm, picture.bottom_mm, box.right_mm, box.bottom_mm)
    return (
        Element("picture", name, picture, (Picture(picture, _HALF_GREY),), facts),
        Element("words", f"caption of {name}", below, (words,), {"text": said}),
    )


def _caption(name: str, room: Box) -> tuple[str, Shape]:
    """As much of a name as has room, in signs that the lettering has; the first may lean out to the left."""
    said = "".join(sign if sign.isascii() and sign.isprintable() else "_" for sign in name).strip() or "_"
    while True:
        shape = label(said, left_mm=room.left_mm, top_mm=room.top_mm, channels=RGB, size_pt=_CAPTION_PT)
        inked = extent(shape)
        out = max(room.left_mm - inked.left_mm, 0.0)
        if len(said) == 1 or (inked.right_mm + out <= room.right_mm and inked.bottom_mm <= room.bottom_mm):
            break
        said = said[:-1].rstrip()
    if out:
        shape = label(said, left_mm=room.left_mm + out, top_mm=room.top_mm, channels=RGB, size_pt=_CAPTION_PT)
    return said, shape
