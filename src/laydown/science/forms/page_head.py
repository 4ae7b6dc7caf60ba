"""What every page of a form has: edges, marks, its name, how it is printed and which way it runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from laydown.kernel.errors import BadSetting
from laydown.science.forms.direction_arrows import direction_arrow
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.identity import Identity, identity_elements, instruction
from laydown.science.forms.mark_grid import MARK_MM, whole_mark_mm
from laydown.science.forms.packing import FreeSpace
from laydown.science.forms.page import Box, Element
from laydown.science.forms.patch_set import RGB

GAP_MM = 3.0  # bare between what lies side by side
ANY_SHEET = "0"  # in a code: the number of the sheet is not printed, but written or stuck on
LENGTH_STEP_MM = 10.0  # pages are as long as they need to be, in such steps
PageUse = Literal["device", "picture"]


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """What lies on a page beside its marks, which come once all pages are known."""

    use: PageUse
    length_mm: float
    channels: tuple[str, ...]
    elements: tuple[Element, ...]
    marks: tuple[Box, ...]


def inner_box(wish: FormWish, length_mm: float) -> Box:
    """The page without its edges and the band in which marks stand.

    Parameters
    ----------
    wish : FormWish
    length_mm : of the page

    Returns
    -------
    Box

    Checked against
    ---------------
    Composed pages: nothing but marks lies outside.
    """
    band = wish.edge_mm + whole_mark_mm(MARK_MM.value) + GAP_MM
    return Box(0.0, 0.0, wish.width_mm, length_mm).inset(band)


def replace_top(box: Box, top_mm: float) -> Box:
    """The part of a box that lies below a line.

    Parameters
    ----------
    box : Box
    top_mm : of the line

    Returns
    -------
    Box

    Checked against
    ---------------
    Boxes by hand.
    """
    return Box(box.left_mm, top_mm, box.right_mm, box.bottom_mm)


def page_head(wish: FormWish, use: PageUse, inner: Box) -> tuple[tuple[Element, ...], float]:
    """Code, words, instruction and arrows, and where the next thing may begin.

    Parameters
    ----------
    wish : FormWish
    use : how the page is printed
    inner : the page without its edges

    Returns
    -------
    elements (the page's own name comes later) and the height below them in mm

    Raises
    ------
    BadSetting
        if the page is too narrow for its own name.

    Checked against
    ---------------
    Codes read back from drawn pages.
    """
    channels = wish.channels if use == "device" else RGB
    space = FreeSpace(inner, gap_mm=GAP_MM)
    at = {"left_mm": 0.0, "top_mm": 0.0}
    longest = identity_elements(Identity(wish.code, "D9", "W" * 8), channels=channels, **at)
    wide, high = longest[1].box.right_mm, max(one.box.bottom_mm for one in longest)
    made: list[Element] = []
    box = space.place(wide, high)
    if box is None:
        raise BadSetting("the page has no room for its own name.", todo="Choose a wider page.")
    made += identity_elements(
        Identity(wish.code, "D1", ANY_SHEET), left_mm=box.left_mm, top_mm=box.top_mm, channels=channels
    )
    for says, points in (("top", "up"), ("feed", "down")):
        arrow = direction_arrow(says, points, channels=channels, **at)
        where = space.place(arrow.box.width_mm, arrow.box.height_mm)
        if where is not None:
            made.append(
                direction_arrow(says, points, left_mm=where.left_mm, top_mm=where.top_mm, channels=channels)
            )
    words = instruction(use, channels=channels, width_mm=min(120.0, inner.width_mm), **at)
    where = space.place(words.box.width_mm, words.box.height_mm)
    if where is not None:
        made.append(
            instruction(
                use,
                left_mm=where.left_mm,
                top_mm=where.top_mm,
                channels=channels,
                width_mm=min(120.0, inner.width_mm),
            )
        )
    return tuple(made), max(*(one.box.bottom_mm for one in made), box.bottom_mm) + GAP_MM


def told_apart(made: Sequence[Element], there: Sequence[Element]) -> list[Element]:
    """Elements under names that no other of their kind has on the page.

    Parameters
    ----------
    made : new elements
    there : elements of the page

    Returns
    -------
    list of Element, as they were but for names

    Checked against
    ---------------
    Pages with two of a kind.
    """
    known = {(one.kind, one.name) for one in there}
    named = []
    for one in made:
        name, number = one.name, 2
        while (one.kind, name) in known:
            name, number = f"{one.name}, {number}", number + 1
        known.add((one.kind, name))
        named.append(one if name == one.name else replace(one, name=name))
    return named


def around(elements: Sequence[Element]) -> Box:
    """The smallest box that holds some elements.

    Parameters
    ----------
    elements : one or more

    Returns
    -------
    Box

    Checked against
    ---------------
    Boxes by hand.
    """
    every = boxes(elements)
    return Box(
        min(one.left_mm for one in every),
        min(one.top_mm for one in every),
        max(one.right_mm for one in every),
        max(one.bottom_mm for one in every),
    )


def boxes(elements: Sequence[Element]) -> list[Box]:
    """Where elements lie.

    Parameters
    ----------
    elements : any

    Returns
    -------
    list of Box

    Checked against
    ---------------
    Nothing outside; it reads one field.
    """
    return [one.box for one in elements]
