"""Fills the pages that are printed without colour management: patches on top, parts below."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil

import numpy as np

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.form_parts import Group
from laydown.science.forms.form_wish import LONGEST_MM, FormWish, Part
from laydown.science.forms.length_marks import MARK_MM as CROSS_MM
from laydown.science.forms.length_marks import ROUND_MM, length_marks
from laydown.science.forms.mark_grid import mark_places
from laydown.science.forms.packing import FreeSpace
from laydown.science.forms.page import Box, Element
from laydown.science.forms.page_head import (
    GAP_MM,
    LENGTH_STEP_MM,
    Filled,
    around,
    boxes,
    inner_box,
    replace_top,
    told_apart,
)
from laydown.science.forms.patch_layout import PatchLayout, fit_patches, lay_out_patches
from laydown.science.forms.patch_set import PatchSet
from laydown.science.forms.reader import Reader

SMALL_PAGE_MM = Constant(
    300.0, "mm", "our own judgement: up to here marks round the page are near enough to all of it", "computed"
)
# Parts in the order in which they find their places: large ones first, and what is alike side by side.
_ORDER: tuple[Part, ...] = (
    "bleed",
    "tints",
    "bare window",
    "edges",
    "rings",
    "lines",
    "type",
    "waves",
    "wear bar",
    "tone steps",
    "gradients",
    "length marks",
)


@dataclass(frozen=True, slots=True, eq=False)
class DevicePages:
    """Pages, and sentences about what found no room."""

    pages: tuple[Filled, ...]
    left_out: tuple[str, ...]


def patches_on_top(patches: PatchSet, area: Box, wish: FormWish, *, rng: np.random.Generator) -> PatchLayout:
    """Patches over the whole width, in as few rows as it takes; each page has room for the same rows.

    Parameters
    ----------
    patches : PatchSet
    area : what lies below the head of a page
    wish : FormWish
    rng : places patches

    Returns
    -------
    PatchLayout

    Raises
    ------
    BadSetting
        if no row fits.

    Checked against
    ---------------
    Pages of many wishes: every patch is on one of them, once.
    """
    if "length marks" in wish.parts:
        area = replace_top(area, area.top_mm + CROSS_MM + GAP_MM)
    fit = fit_patches(area, wish.reader)
    rows = min(ceil(len(patches) / (fit.grids * fit.columns)), fit.rows)
    used = Box(area.left_mm, area.top_mm, area.right_mm, area.top_mm + _high(rows, area, wish.reader))
    return lay_out_patches(patches, used, wish.reader, rng=rng)


def device_pages(
    wish: FormWish, head: tuple[Element, ...], layout: PatchLayout, groups: Sequence[Group]
) -> DevicePages:
    """Device pages as short as they can be, or as long as was asked for.

    Parameters
    ----------
    wish : FormWish
    head : elements every page begins with
    layout : PatchLayout
    groups : what else is wanted

    Returns
    -------
    DevicePages

    Checked against
    ---------------
    A page one step shorter does not hold everything.
    """
    if wish.length_mm is not None:
        return _filled_device(wish, head, layout, groups, wish.length_mm)
    band = wish.width_mm - inner_box(wish, wish.width_mm).right_mm
    deepest = max(one.box.bottom_mm for page in layout.pages for one in page)
    least = ceil((deepest + band) / LENGTH_STEP_MM)
    # More never takes less room: the shortest page that holds everything is found by halving.
    low, high = least, int(LONGEST_MM.value / LENGTH_STEP_MM)
    best = _filled_device(wish, head, layout, groups, high * LENGTH_STEP_MM)
    wanted = len(best.pages)
    while low < high:
        middle = (low + high) // 2
        tried = _filled_device(wish, head, layout, groups, middle * LENGTH_STEP_MM)
        if len(tried.pages) <= wanted and len(tried.left_out) <= len(best.left_out):
            best, high = tried, middle
        else:
            low = middle + 1
    return best


def _filled_device(
    wish: FormWish, head: tuple[Element, ...], layout: PatchLayout, groups: Sequence[Group], length_mm: float
) -> DevicePages:
    inner = inner_box(wish, length_mm)
    rest: list[Group] = sorted(
        groups, key=lambda one: (_ORDER.index(one.part), -one.height_mm, -one.width_mm)
    )
    body = replace_top(inner, max(one.box.bottom_mm for one in head) + GAP_MM)
    crosses_wanted = "length marks" in wish.parts
    told: list[str] = []
    pages: list[Filled] = []
    while len(pages) < len(layout.pages) or rest:
        patches = layout.pages[len(pages)] if len(pages) < len(layout.pages) else ()
        block = [around(patches)] if patches else []
        crosses = _crosses(wish, body, block) if crosses_wanted else ()
        crosses_wanted = crosses_wanted and not crosses
        elements, before = [*head, *crosses, *patches], len(rest)
        firm = [*block, *boxes(elements)]
        if min(wish.width_mm, length_mm) > SMALL_PAGE_MM.value:
            marks = mark_places(wish.width_mm, length_mm, edge_mm=wish.edge_mm, around=firm)
            rest = _put(rest, FreeSpace(body, gap_mm=GAP_MM, taken=[*marks, *firm]), elements)
        else:
            rest = _put(rest, FreeSpace(body, gap_mm=GAP_MM, taken=firm), elements)
            marks = mark_places(
                wish.width_mm, length_mm, edge_mm=wish.edge_mm, around=[*block, *boxes(elements)]
            )
        if not patches and len(rest) == before:
            told += [f"{one.name}: higher than the page has room for." for one in rest]
            break
        pages.append(Filled("device", length_mm, wish.channels, tuple(elements), marks))
    if crosses_wanted:
        told.append(f"length marks: no room for two crosses {ROUND_MM[-1]:g} mm apart each way.")
    return DevicePages(tuple(pages), tuple(told))


def _put(groups: Sequence[Group], space: FreeSpace, elements: list[Element]) -> list[Group]:
    """Puts each group where there is room; those without come back."""
    rest = []
    for group in groups:
        box = space.place(group.width_mm, group.height_mm)
        if box is None:
            rest.append(group)
        else:
            elements += told_apart(group.make(box.left_mm, box.top_mm), elements)
    return rest


def _crosses(wish: FormWish, inner: Box, block: Sequence[Box]) -> tuple[Element, ...]:
    """Crosses as far apart as there is room and none among the patches: above them or below."""
    for top in (inner.top_mm, *(one.bottom_mm + GAP_MM for one in block)):
        across = _farthest(
            inner.width_mm,
            partial(_cross_beside, inner.left_mm, top),
            block,
        )
        along = _farthest(
            inner.bottom_mm - top,
            partial(_cross_below, inner.left_mm, top),
            block,
        )
        if across is not None and along is not None:
            return length_marks(
                left_mm=inner.left_mm, top_mm=top, channels=wish.channels, across_mm=across, along_mm=along
            )
    return ()


def _cross_beside(left_mm: float, top_mm: float, far_mm: float) -> Box:
    return Box(left_mm + far_mm, top_mm, left_mm + far_mm + CROSS_MM, top_mm + CROSS_MM)


def _cross_below(left_mm: float, top_mm: float, far_mm: float) -> Box:
    return Box(left_mm, top_mm + far_mm, left_mm + CROSS_MM, top_mm + far_mm + CROSS_MM)


def _farthest(room_mm: float, where: Callable[[float], Box], block: Sequence[Box]) -> float | None:
    """The largest round distance whose cross is within the room and touches no block."""
    for far in ROUND_MM:
        if far + CROSS_MM <= room_mm and not any(where(far).touches(one) for one in block):
            return far
    return None


def _high(rows: int, area: Box, reader: Reader) -> float:
    """How high so many rows are, with what stands above them."""
    high = reader.patch_height_mm + (rows - 1) * reader.pitch_mm
    while high < area.height_mm:
        try:
            if fit_patches(Box(0.0, 0.0, area.width_mm, high), reader).rows >= rows:
                return high
        except BadSetting:
            pass  # not even one row yet
        high += 0.5
    return area.height_mm
