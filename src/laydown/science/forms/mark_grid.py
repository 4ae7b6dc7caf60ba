"""Which marks a page carries and where: enough that a torn or cut scan still shows a good few of them."""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.markers import mark_cells, marks_there_are
from laydown.science.forms.page import Box

MARK_MM = Constant(10.0, "mm", "chosen here: at 150 ppi a cell of the mark is seven pixels wide", "computed")
PITCH_MM = Constant(
    150.0,
    "mm",
    "chosen here: what bends within a page (a roller, canvas) is followed between marks",
    "computed",
)
EDGE_MM = Constant(5.0, "mm", "5 to 15 mm are kept free at the edges of a roll", "common practice, no source")
FEWEST_WANTED = 12  # so that a small page of which a part is missing still shows a few
_LEAST_ROOM_MM = 60.0  # less between two marks is not worth a third


def mark_places(
    width_mm: float,
    height_mm: float,
    *,
    size_mm: float = MARK_MM.value,
    edge_mm: float = EDGE_MM.value,
    around: Sequence[Box] = (),
) -> tuple[Box, ...]:
    """Where the marks of a page go: a grid about every 150 mm, closer on small pages, with corners and edges.

    Parameters
    ----------
    width_mm, height_mm : the page
    size_mm : width of a mark's dark square
    edge_mm : bare between the marks and the edges of the page
    around : places that must stay free, such as a picture; marks that would touch them are left out

    Returns
    -------
    boxes of whole marks, bare ring included, row by row from the top left: hand ``left_mm`` and ``top_mm`` to
    ``mark_element``

    Raises
    ------
    BadSetting
        if the page has no room for marks in its corners, or none are left beside what must stay free.

    Checked against
    ---------------
    Counts by hand; 24 x 36 in carry 35. ``docs/methods/test-form.md`` has simulated scans with parts missing.
    """
    outer = whole_mark_mm(size_mm)
    across, down = width_mm - 2.0 * edge_mm - outer, height_mm - 2.0 * edge_mm - outer
    if min(across, down) < 1.5 * outer:
        raise BadSetting(
            f"{width_mm:g} x {height_mm:g} mm have no room in the corners for marks of {size_mm:g} mm.",
            todo="Make the page larger or the marks smaller.",
        )
    pitch = PITCH_MM.value
    while _count(across, down, pitch) > marks_there_are():
        pitch *= 1.05
    while _count(across, down, pitch) < FEWEST_WANTED and 0.95 * pitch > _LEAST_ROOM_MM:
        pitch *= 0.95
    columns, rows = _gaps(across, pitch), _gaps(down, pitch)
    every = [
        Box(left, top, left + outer, top + outer)
        for top in (edge_mm + down * row / rows for row in range(rows + 1))
        for left in (edge_mm + across * column / columns for column in range(columns + 1))
    ]
    free = tuple(box for box in every if not any(box.touches(other) for other in around))
    if len(free) < 4:
        raise BadSetting(
            f"beside what must stay free there is room for {len(free)} marks; 4 are the least.",
            todo="Leave the corners of the page free.",
        )
    return free


def mark_numbers(form: str, counts: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """Which marks go onto each page of a form.

    No number is on two pages of a form, so that a scan of another page is known for one. The order of numbers
    comes from the name of the form: two forms with marks in the same places carry other numbers there, and
    one is not placed as the other.

    Parameters
    ----------
    form : the form's own code
    counts : how many marks each page carries

    Returns
    -------
    for each page its numbers, in the order of its places

    Raises
    ------
    BadSetting
        if there are not so many marks.

    Checked against
    ---------------
    Two hundred forms with the same places: none shares four numbers in one place with another.
    """
    if sum(counts) > marks_there_are():
        raise BadSetting(
            f"the pages of this form need {sum(counts)} marks; there are {marks_there_are()}.",
            todo="Split it into two forms, or make the marks and their distances larger.",
        )
    order = sorted(range(marks_there_are()), key=lambda one: sha256(f"{form}/{one}".encode()).digest())
    first = [sum(counts[:page]) for page in range(len(counts))]
    return tuple(tuple(order[start : start + count]) for start, count in zip(first, counts, strict=True))


def whole_mark_mm(size_mm: float) -> float:
    """How wide a mark is with its bare ring.

    Parameters
    ----------
    size_mm : width of its dark square

    Returns
    -------
    mm

    Checked against
    ---------------
    The box of a drawn mark.
    """
    cells = mark_cells(0)
    return size_mm * len(cells) / int(cells.any(axis=0).sum())


def _count(across_mm: float, down_mm: float, pitch_mm: float) -> int:
    return (1 + _gaps(across_mm, pitch_mm)) * (1 + _gaps(down_mm, pitch_mm))


def _gaps(room_mm: float, pitch_mm: float) -> int:
    return max(round(room_mm / pitch_mm), 2 if room_mm >= 2.0 * _LEAST_ROOM_MM else 1)
