"""Finds where a page of a form lies in a scan, however the scan lies and however large it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.mark_corners import refined_corners
from laydown.science.forms.markers import FoundMark, find_marks, mark_cells, seen_marks
from laydown.science.forms.page import MM_PER_INCH, Box, Fact
from laydown.science.forms.placing import FEWEST_MARKS, NotPlaced, Placement, place_page
from laydown.science.forms.scan_pixels import Scan, check_scan, coarse_copy, grey_window

LEAST_PPI = 150.0
_CELL_PIXELS = 6.0  # of a mark in the copy that is searched: fewer are lost in noise, more only take time
_LEAST_CELL_PIXELS = 3.0  # fewer are read only without noise
_ENOUGH = 0.5  # of its marks: with fewer, finer copies are searched too
_MOST_PIXELS = 60_000_000  # of a finer copy: more is neither quick nor small
_AROUND = 0.25  # of a mark's size: what is read about it to refine its corners
_OTHERS = 2.0  # so many times more marks of something else, and the scan is of something else
_TWICE = 2  # so many marks found twice are two prints; one may be a mark misread
#: Other ways a page may lie in a scan, none of which can be measured: what is wrong, and what to do.
_OTHER_WAYS = (
    (
        slice(None, None, -1),
        False,
        "the page lies in the scan as in a mirror.",
        "Scan it from the printed side, and switch mirroring off.",
    ),
    (
        slice(None),
        True,
        "light and dark are exchanged: the scan is a negative.",
        "Scan it as a positive, as a print and not as film.",
    ),
    (
        slice(None, None, -1),
        True,
        "the scan is a negative, and the page lies in it as in a mirror.",
        "Scan it from the printed side as a positive, as a print and not as film.",
    ),
)


class Drawn(Protocol):
    """An element as it was drawn: of a Page, or of the PageGeometry that was kept of it."""

    @property
    def kind(self) -> str:
        """What it is for."""
        ...

    @property
    def name(self) -> str:
        """Which of its kind."""
        ...

    @property
    def box(self) -> Box:
        """Where, in mm."""
        ...

    @property
    def facts(self) -> Mapping[str, Fact]:
        """What somebody who measures it must know."""
        ...


class DrawnPage(Protocol):
    """A Page or a PageGeometry."""

    @property
    def elements(self) -> Sequence[Drawn]:
        """Everything on it."""
        ...


def marks_of(page: DrawnPage) -> dict[int, Box]:
    """The dark squares of a page's marks.

    Parameters
    ----------
    page : Page, or the PageGeometry that was kept of it

    Returns
    -------
    for each number its box in mm

    Raises
    ------
    BadSetting
        if a mark does not say which it is and where.

    Checked against
    ---------------
    Drawn pages located in simulated scans.
    """
    marks = [one.facts for one in page.elements if one.kind == "mark"]
    return {_number(facts.get("number", "")): _box(facts.get("square_mm", "")) for facts in marks}


def locate(scan: Scan, squares_mm: Mapping[int, Box], *, ppi: float | None = None) -> Placement | NotPlaced:
    """Find where a page lies in a scan.

    Marks are searched for in a copy made as coarse as they allow, and their corners found again in the scan
    itself, window by window, so that a scan may be far larger than memory. The scan may lie any way round. A
    mirrored scan, a negative, two prints, another page or another form are refused, not placed somehow.

    Parameters
    ----------
    scan : light is high; with several channels their mean counts
    squares_mm : for each mark of the page, the box of its dark square: ``marks_of(page)``
    ppi : the resolution of the scan, if it is known; else it is found from the marks

    Returns
    -------
    Placement, whose ``doubts`` says of each element whether it is placed well enough, or NotPlaced

    Raises
    ------
    BadSetting
        if the scan is no picture, or has other than 8 or 16 bits or floats.

    Checked against
    ---------------
    Simulated scans whose true places are known: ``benchmarks/locate_scans.py``; the figures are in
    ``docs/methods/test-form.md``.
    """
    check_scan(scan)
    if not squares_mm:
        raise BadSetting("this page has no marks.", todo="Locate a page of a form that carries them.")
    enough = max(FEWEST_MARKS, _ENOUGH * len(squares_mm))
    best: list[FoundMark] = []
    for times in _tried(scan, squares_mm, ppi):
        coarse = coarse_copy(scan, times)
        found = _searched(coarse, squares_mm, times=times, wanted=enough)
        if len(found) < FEWEST_MARKS and (refused := _lies_otherwise(coarse)):
            return refused
        if len(_known(found, squares_mm)) >= len(_known(best, squares_mm)):
            best = found
        if len(_known(best, squares_mm)) >= enough or len(best) >= enough:
            break
    return _placed(scan, best, squares_mm, ppi)


def _placed(
    scan: Scan, found: Sequence[FoundMark], squares_mm: Mapping[int, Box], ppi: float | None
) -> Placement | NotPlaced:
    known = _known(found, squares_mm)
    twice = {one.number for one in known if sum(other.number == one.number for other in known) > 1}
    if len(twice) >= _TWICE:
        return NotPlaced(
            f"{len(twice)} marks of this page are in the scan twice: it shows two prints of the same page.",
            "Scan each print alone, or cut the scan into one file for each.",
        )
    once = [one for one in known if one.number not in twice]
    others = len(found) - len(known)
    if len(once) < FEWEST_MARKS:
        return (
            _of_something_else(found, once)
            if others >= FEWEST_MARKS
            else _too_few(scan, once, squares_mm, ppi)
        )
    refined = [(one.number, _refined(scan, one.corners)) for one in once]
    placed = place_page(
        [FoundMark(number, corners) for number, corners in refined if corners is not None], squares_mm
    )
    of_this = len(placed.marks) if isinstance(placed, Placement) else 0
    if others > _OTHERS * of_this and of_this < _ENOUGH * len(squares_mm):
        return _of_something_else(found, once)
    return placed


def _tried(scan: Scan, squares_mm: Mapping[int, Box], ppi: float | None) -> Iterator[int]:
    """How many times coarser the searched copies are, the likeliest first.

    Where the resolution is not known it is at least the one at which the whole page fills the scan: with less
    of the page in it, marks are larger still.
    """
    times = max(int(_cell_pixels(scan, squares_mm, ppi) / _CELL_PIXELS), 1)
    yield times
    while times > 1 and scan.shape[0] * scan.shape[1] // max(times // 2, 1) ** 2 <= _MOST_PIXELS:
        times = max(times // 2, 1)
        yield times


def _cell_pixels(scan: Scan, squares_mm: Mapping[int, Box], ppi: float | None) -> float:
    """How many pixels of the scan a cell of a mark covers; where that is not known, if the page fills it."""
    corners = np.concatenate([box.corners() for box in squares_mm.values()])
    if ppi is None:
        per_mm = max(scan.shape[:2]) / max(float(np.linalg.norm(np.ptp(corners, axis=0))), 1.0)
    else:
        per_mm = ppi / MM_PER_INCH
    return min(box.width_mm for box in squares_mm.values()) * per_mm / _cells()


def _cells() -> int:
    """How many cells a side of the dark square has."""
    return int(mark_cells(0).any(axis=0).sum())


def _searched(
    coarse: NDArray[np.uint8], squares_mm: Mapping[int, Box], *, times: int, wanted: float
) -> list[FoundMark]:
    """Marks in the copy, their corners in pixels of the scan."""
    found = seen_marks(coarse)
    if len(_known(found, squares_mm)) < wanted:
        # Searched once more at half of it: texture and noise that broke outlines are averaged away.
        again = seen_marks(coarse, coarser=2.0)
        found = again if len(_known(again, squares_mm)) > len(_known(found, squares_mm)) else found
    return [FoundMark(one.number, one.corners * times) for one in found]


def _known(found: Sequence[FoundMark], squares_mm: Mapping[int, Box]) -> list[FoundMark]:
    return [one for one in found if one.number in squares_mm]


def _refined(scan: Scan, corners: Floats) -> Floats | None:
    """Corners of a mark found again in the scan itself, from a window about it."""
    around = _AROUND * float(np.ptp(corners, axis=0).max())
    left, top = (max(int(one), 0) for one in corners.min(axis=0) - around)
    right, bottom = (int(one) + 1 for one in corners.max(axis=0) + around)
    rows, columns = slice(top, min(bottom, scan.shape[0])), slice(left, min(right, scan.shape[1]))
    if rows.stop - rows.start < 2 or columns.stop - columns.start < 2:
        return None
    window = grey_window(scan, rows, columns).astype(np.float64)
    found = refined_corners(window, corners - (left, top), cells=_cells())
    return None if found is None else found + np.array([left, top])


def _lies_otherwise(coarse: NDArray[np.uint8]) -> NotPlaced | None:
    """Whether marks come to light once the scan is mirrored or its light and dark exchanged."""
    for columns, negative, reason, todo in _OTHER_WAYS:
        other = np.ascontiguousarray((255 - coarse if negative else coarse)[:, columns])
        if len(find_marks(other)) >= FEWEST_MARKS:
            return NotPlaced(reason, todo)
    return None


def _too_few(
    scan: Scan, known: Sequence[FoundMark], squares_mm: Mapping[int, Box], ppi: float | None
) -> NotPlaced:
    cell = _cell_pixels(scan, squares_mm, ppi)
    told = f"{len(known)} of its {len(squares_mm)} marks were found; {FEWEST_MARKS} are the least."
    if not known:
        told = "no mark was found in the scan."
    if cell < _LEAST_CELL_PIXELS:
        at = cell * _cells() / min(box.width_mm for box in squares_mm.values()) * MM_PER_INCH
        whole = "" if ppi else "if it shows the whole page, "
        told += f" The scan is too coarse: {whole}it has about {at:.0f} pixels per inch."
    return NotPlaced(
        told,
        f"Scan the printed side of the whole page at {LEAST_PPI:g} ppi or more, flat, without reflections.",
    )


def _of_something_else(found: Sequence[FoundMark], known: Sequence[FoundMark]) -> NotPlaced:
    return NotPlaced(
        f"{len(found)} marks were found, but only {len(known)} of them are of this page: it is a scan of "
        "another page, or of another form.",
        "Choose the page that was scanned, or scan this one.",
    )


def _number(fact: Fact) -> int:
    if not isinstance(fact, int):
        raise BadSetting(f"the number of a mark is {fact!r}.", todo="Make the geometry of the form again.")
    return fact


def _box(fact: Fact) -> Box:
    if not isinstance(fact, tuple) or len(fact) != 4:
        raise BadSetting(f"the square of a mark is {fact!r}.", todo="Make the geometry of the form again.")
    return Box(*fact)
