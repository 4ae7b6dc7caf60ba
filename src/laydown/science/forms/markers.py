"""Marks that a scan is located by: squares of an open marker family, drawn and found."""

from __future__ import annotations

import atexit
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.page import Box, Colour, Element, Fact, Shape

FAMILY = "tag36h11"
_CLEAREST_MARGIN = 20.0  # of decision; below it a mark may be one of the other marks, or dirt
_MOST_BITS_WRONG = 1
_ONE_AT_A_TIME = threading.Lock()  # the detector keeps state of its own


@dataclass(frozen=True, slots=True, eq=False)
class FoundMark:
    """A mark in a picture: which one, and its four corners (4, 2) in pixels.

    Corners go clockwise from the one that was drawn top left; 0.5, 0.5 is the centre of the first pixel.
    """

    number: int
    corners: Floats


@cache
def _family() -> tuple[Any, NDArray[np.uint64], NDArray[np.int64], int, int]:
    from pupil_apriltags import Detector

    detector = Detector(families=FAMILY)
    # Clearing up, the library frees its families before the detector that still looks at them, and now and
    # then the process dies of it at its very end: the detector is kept, and left to the system.
    atexit.register(setattr, detector, "tag_detector_ptr", None)
    family = detector.tag_families[FAMILY].contents
    codes = np.array(family.codes[: family.ncodes], dtype=np.uint64)
    places = np.array([family.bit_x[: family.nbits], family.bit_y[: family.nbits]], dtype=np.int64).T
    return detector, codes, places, int(family.width_at_border), int(family.total_width)


def marks_there_are() -> int:
    """How many different marks the family has.

    Returns
    -------
    int

    Checked against
    ---------------
    587, as the family's authors say (from memory).
    """
    return len(_family()[1])


def mark_cells(number: int) -> Bools:
    """The cells of a mark, with the bare ring about it.

    Parameters
    ----------
    number : which mark, from 0

    Returns
    -------
    array (cells, cells), True where it is dark

    Raises
    ------
    BadSetting
        if the family has no such mark.

    Checked against
    ---------------
    The library's own detector reads every mark of the family drawn from it.
    """
    _, codes, places, at_border, total = _family()
    if not 0 <= number < len(codes):
        raise BadSetting(f"there is no mark {number}.", todo=f"Marks go from 0 to {len(codes) - 1}.")
    ring = (total - at_border) // 2
    cells = np.zeros((total, total), dtype=bool)
    cells[ring : total - ring, ring : total - ring] = True
    code, bits = int(codes[number]), len(places)
    for place, (x, y) in enumerate(places):
        if code >> (bits - 1 - place) & 1:
            cells[y + ring, x + ring] = False
    return cells


def mark_element(number: int, *, left_mm: float, top_mm: float, size_mm: float, dark: Colour) -> Element:
    """A mark as an element of a page; ``size_mm`` is the width of its dark square without the bare ring.

    Parameters
    ----------
    number : which mark
    left_mm, top_mm : the corner of the whole element, bare ring included
    size_mm : width of the dark square
    dark : device values of its dark cells

    Returns
    -------
    Element of kind "mark"; its facts hold ``number`` and the box of the dark square

    Checked against
    ---------------
    Corners found in a drawn page lie where the facts say, to a twentieth of a pixel.
    """
    cells = mark_cells(number)
    *_, at_border, total = _family()
    cell = size_mm / at_border
    box = Box(left_mm, top_mm, left_mm + total * cell, top_mm + total * cell)
    contours = []
    for row, line in enumerate(cells):
        edges = np.flatnonzero(np.diff(np.concatenate(([False], line, [False])).astype(np.int8)))
        for first, after in zip(edges[::2], edges[1::2], strict=True):
            run = Box(
                left_mm + first * cell,
                top_mm + row * cell,
                left_mm + after * cell,
                top_mm + (row + 1) * cell,
            )
            contours.append(run.corners())
    ring = (total - at_border) // 2 * cell
    square = box.inset(ring)
    facts: dict[str, Fact] = {
        "number": number,
        "square_mm": (square.left_mm, square.top_mm, square.right_mm, square.bottom_mm),
    }
    return Element("mark", f"mark {number}", box, (Shape(tuple(contours), dark),), facts)


def find_marks(grey: NDArray[np.uint8], *, coarser: float = 1.0) -> tuple[FoundMark, ...]:
    """Every mark in a grey picture that is there once.

    Parameters
    ----------
    grey : (rows, columns) uint8
    coarser : the search may be done this much coarser; corners are still found in the picture itself

    Returns
    -------
    tuple of FoundMark; a mark that is found twice is left out, since one of the two must be wrong

    Checked against
    ---------------
    Drawn pages at any rotation, blurred, noisy and shrunk.
    """
    seen = seen_marks(grey, coarser=coarser)
    return tuple(one for one in seen if sum(other.number == one.number for other in seen) == 1)


def seen_marks(grey: NDArray[np.uint8], *, coarser: float = 1.0) -> tuple[FoundMark, ...]:
    """Every mark in a grey picture, as often as it is there.

    Parameters
    ----------
    grey : (rows, columns) uint8
    coarser : the search may be done this much coarser

    Returns
    -------
    tuple of FoundMark; two with one number mean two prints in the picture, or that one of them is wrong

    Checked against
    ---------------
    Two drawn pages side by side.
    """
    detector = _family()[0]
    with _ONE_AT_A_TIME:
        detector.tag_detector_ptr.contents.quad_decimate = float(coarser)
        found = detector.detect(np.ascontiguousarray(grey))
    return tuple(
        FoundMark(int(one.tag_id), _clockwise_from_top_left(one.corners))
        for one in found
        if one.hamming <= _MOST_BITS_WRONG and one.decision_margin >= _CLEAREST_MARGIN
    )


def _clockwise_from_top_left(corners: Sequence[Floats]) -> Floats:
    return np.asarray(corners, dtype=np.float64)[::-1]
