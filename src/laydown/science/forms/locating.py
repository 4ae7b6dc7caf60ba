"""Finds where a page of a form lies in a scan, however the scan lies and however large it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.mark_corners import refined_corners
from laydown.science.forms.markers import FoundMark, find_marks, mark_cells
from laydown.science.forms.page import MM_PER_INCH, Box, Fact, Page
from laydown.science.forms.placing import FEWEST_MARKS, NotPlaced, Placement, place_page

_CELL_PIXELS = 6.0  # of a mark in the copy that is searched: fewer are lost in noise, more only take time
_ENOUGH = 0.5  # of its marks: with fewer, finer copies are searched too
_FULL = {("u", 1): 255.0, ("u", 2): 65535.0, ("f", 4): 1.0, ("f", 8): 1.0}
_BAND_PIXELS = 16_000_000  # read from the scan at a time
_AROUND = 0.25  # of a mark's size: what is read about it to refine its corners
_LEAST_RANGE = 12.0  # of 255, between dark and light: less is a blank sheet and noise
_OTHERS = 2.0  # so many times more marks of something else, and the scan is of something else


class Scan(Protocol):
    """What a scan must be able to do: say its size, and give a window. An array, or one kept in a file."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Rows and columns, and channels if there are several."""
        ...

    @property
    def dtype(self) -> np.dtype[Any]:
        """8 or 16 bits unsigned, or floats from 0 to 1."""
        ...

    def __getitem__(self, window: tuple[slice, slice], /) -> NDArray[Any]:
        """Rows and columns."""
        ...


def marks_of(page: Page) -> dict[int, Box]:
    """The dark squares of a page's marks.

    Parameters
    ----------
    page : Page

    Returns
    -------
    for each number its box in mm

    Checked against
    ---------------
    Drawn pages located in simulated scans.
    """
    return {_number(mark.facts["number"]): _box(mark.facts["square_mm"]) for mark in page.of_kind("mark")}


def locate(scan: Scan, squares_mm: Mapping[int, Box], *, ppi: float | None = None) -> Placement | NotPlaced:
    """Find where a page lies in a scan.

    Marks are searched for in a copy made as coarse as they allow, and their corners found again in the scan
    itself, window by window, so that a scan may be far larger than memory. The scan may lie any way round. A
    mirrored scan, another page or another form are refused, not placed somehow.

    Parameters
    ----------
    scan : light is high; with several channels their mean counts
    squares_mm : for each mark of the page, the box of its dark square: ``marks_of(page)``
    ppi : the resolution of the scan, if it is known; else it is found from the marks

    Returns
    -------
    Placement, whose ``sure_of`` says of each element whether it is placed well enough, or NotPlaced

    Raises
    ------
    BadSetting
        if the scan is no picture, or has other than 8 or 16 bits or floats.

    Checked against
    ---------------
    Simulated scans whose true places are known: ``benchmarks/locate_scans.py``; the figures are in
    ``docs/methods/test-form.md``.
    """
    if len(scan.shape) not in (2, 3) or min(scan.shape[:2]) < 1 or not squares_mm:
        raise BadSetting("a scan is a picture with rows and columns, and a page has marks.")
    enough = max(FEWEST_MARKS, _ENOUGH * len(squares_mm))
    best: list[FoundMark] = []
    coarse: NDArray[np.uint8] = np.zeros((1, 1), dtype=np.uint8)
    for times in _tried(scan, squares_mm, ppi):
        coarse = _coarser(scan, times)
        found = _searched(coarse, squares_mm, times=times, wanted=enough)
        if len(_known(found, squares_mm)) >= len(_known(best, squares_mm)):
            best = found
        if len(_known(best, squares_mm)) >= enough or len(best) >= enough:
            break
    known = _known(best, squares_mm)
    if len(known) < FEWEST_MARKS:
        return _unplaced(best, coarse, squares_mm)
    if len(best) - len(known) > _OTHERS * len(known):
        return _of_something_else(best, known)
    refined = [(one.number, _refined(scan, one.corners)) for one in known]
    return place_page(
        [FoundMark(number, corners) for number, corners in refined if corners is not None], squares_mm
    )


def _tried(scan: Scan, squares_mm: Mapping[int, Box], ppi: float | None) -> Iterator[int]:
    """How many times coarser the searched copies are, the likeliest first.

    Where the resolution is not known it is at least the one at which the whole page fills the scan: with less
    of the page in it, marks are larger still.
    """
    corners = np.concatenate([box.corners() for box in squares_mm.values()])
    if ppi is None:
        per_mm = max(scan.shape[:2]) / max(float(np.linalg.norm(np.ptp(corners, axis=0))), 1.0)
    else:
        per_mm = ppi / MM_PER_INCH
    size_mm = min(box.width_mm for box in squares_mm.values())
    times = max(int(size_mm * per_mm / _cells() / _CELL_PIXELS), 1)
    yield times
    while times > 1:
        times = max(times // 2, 1)
        yield times


def _cells() -> int:
    """How many cells a side of the dark square has."""
    return int(mark_cells(0).any(axis=0).sum())


def _coarser(scan: Scan, times: int) -> NDArray[np.uint8]:
    """The scan as 8 bits, each pixel the mean of ``times`` squared, from its darkest to its lightest."""
    rows, columns = scan.shape[0] // times, scan.shape[1] // times
    parts: list[NDArray[np.float32]] = []
    step = max(_BAND_PIXELS // max(scan.shape[1] * times, 1), 1)
    for first in range(0, rows, step):
        last = min(first + step, rows)
        band = _grey(scan[first * times : last * times, 0 : columns * times])
        if times > 1:
            band = band.reshape(last - first, times, columns, times).mean(axis=(1, 3), dtype=np.float32)
        parts.append(band)
    whole = np.concatenate(parts) if parts else np.zeros((1, 1), dtype=np.float32)
    sample = whole[:: max(len(whole) // 1000, 1), :: max(whole.shape[1] // 1000, 1)]
    dark, light = np.quantile(sample, (0.0005, 0.995))
    if light - dark < _LEAST_RANGE:
        return np.zeros(whole.shape, dtype=np.uint8)
    return np.asarray(np.clip((whole - dark) * (255.0 / (light - dark)), 0.0, 255.0).astype(np.uint8))


def _grey(window: NDArray[Any]) -> NDArray[np.float32]:
    """A window of the scan from 0 to 255, its channels averaged."""
    if (window.dtype.kind, window.dtype.itemsize) not in _FULL:
        raise BadSetting(f"a scan of type {window.dtype} cannot be read.", todo="Save it with 8 or 16 bits.")
    full = _FULL[window.dtype.kind, window.dtype.itemsize]
    grey = window.mean(axis=2, dtype=np.float32) if window.ndim == 3 else window.astype(np.float32)
    return np.asarray(grey * np.float32(255.0 / full))


def _searched(
    coarse: NDArray[np.uint8], squares_mm: Mapping[int, Box], *, times: int, wanted: float
) -> list[FoundMark]:
    """Marks in the copy, their corners in pixels of the scan."""
    found = find_marks(coarse)
    if len(_known(found, squares_mm)) < wanted:
        # Searched once more at half of it: texture and noise that broke outlines are averaged away.
        again = find_marks(coarse, coarser=2.0)
        found = again if len(_known(again, squares_mm)) > len(_known(found, squares_mm)) else found
    return [FoundMark(one.number, one.corners * times) for one in found]


def _known(found: Sequence[FoundMark], squares_mm: Mapping[int, Box]) -> list[FoundMark]:
    return [one for one in found if one.number in squares_mm]


def _refined(scan: Scan, corners: Floats) -> Floats | None:
    """Corners of a mark found again in the scan itself, from a window about it."""
    around = _AROUND * float(np.ptp(corners, axis=0).max())
    left, top = (max(int(one), 0) for one in corners.min(axis=0) - around)
    right, bottom = (int(one) + 1 for one in corners.max(axis=0) + around)
    window = _grey(scan[top : min(bottom, scan.shape[0]), left : min(right, scan.shape[1])])
    if min(window.shape) < 2:
        return None
    found = refined_corners(window.astype(np.float64), corners - (left, top), cells=_cells())
    return None if found is None else found + np.array([left, top])


def _unplaced(
    found: Sequence[FoundMark], coarse: NDArray[np.uint8], squares_mm: Mapping[int, Box]
) -> NotPlaced:
    """Why there are too few marks: a mirrored scan, another page, a blank one, or too little of it."""
    mirrored = _known(find_marks(np.ascontiguousarray(coarse[:, ::-1])), squares_mm)
    known = _known(found, squares_mm)
    if len(mirrored) >= FEWEST_MARKS and len(mirrored) > len(known):
        return NotPlaced(
            "the page lies in the scan as in a mirror.",
            "Scan it from the printed side, and switch mirroring off.",
        )
    if len(found) - len(known) >= FEWEST_MARKS:
        return _of_something_else(found, known)
    told = f"{len(known)} of its {len(squares_mm)} marks were found; {FEWEST_MARKS} are the least."
    if not found:
        told = "no mark was found in the scan."
    return NotPlaced(
        told, "Scan the printed side of the whole page at 150 ppi or more, flat and without reflections."
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
