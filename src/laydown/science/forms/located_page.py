"""A page found in a scan: the region of each element, whether it may be measured, and what its code says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.identity import LEAST_CELL_MM, Identity, find_codes, identity_of
from laydown.science.forms.locating import LEAST_PPI, Drawn, DrawnPage, locate, marks_of
from laydown.science.forms.page import MM_PER_INCH, Box
from laydown.science.forms.placing import WANTED_MM, NotPlaced, Placement
from laydown.science.forms.scan_pixels import Scan, coarse_copy, grey_window, stretched

_CODE_PIXELS = 5.0  # for a cell of a code: enough to be read, few enough to be quick
_CODE_AROUND_MM = 3.0
_SEARCHED_PIXELS = 20_000_000  # of a copy in which a code is looked for anywhere
_BEYOND = "it lies beyond the scan, or in part"
_COARSE = 0.93  # of the least resolution: shrinkage and a scanner's own error are not the studio's doing


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """Where an element lies in the scan.

    ``corners`` (4, 2) are in pixels, clockwise from its own top left; ``error_mm`` is how far off they may
    be. ``doubt`` says why it must not be measured, and is empty where it may be.
    """

    kind: str
    name: str
    corners: Floats
    error_mm: float
    doubt: str


@dataclass(frozen=True, slots=True, eq=False)
class LocatedPage:
    """A page in a scan. ``identity`` is what its code says, None where it could not be read.

    ``cautions`` belong beside whatever is measured from this scan.
    """

    placement: Placement
    regions: tuple[Region, ...]
    identity: Identity | None
    cautions: tuple[str, ...]


def locate_page(
    scan: Scan, page: DrawnPage, *, ppi: float | None = None, within_mm: float = WANTED_MM.value
) -> LocatedPage | NotPlaced:
    """Find a page in a scan, and each of its elements.

    It is placed by its marks; then its code must say that it is this form and page. What lies on an element,
    such as a hand or a label, is not noticed unless marks are covered as well.

    Parameters
    ----------
    scan : light is high
    page : Page, or the PageGeometry that was kept of it
    ppi : the resolution of the scan, if it is known
    within_mm : how well an element must be placed to be measured

    Returns
    -------
    LocatedPage, its regions in the order of the page's elements, or NotPlaced

    Raises
    ------
    BadSetting
        if the scan is no picture, or the page has no marks.

    Checked against
    ---------------
    Simulated scans whose true places are known; pages whose code is another's.
    """
    squares = marks_of(page)
    placed = locate(scan, squares, ppi=ppi)
    if isinstance(placed, NotPlaced):
        said = sorted({f"form {one.form}, page {one.page}" for one in _codes_anywhere(scan)})
        told = f" A code in it says {' and '.join(said)}." if said else ""
        return NotPlaced(placed.reason + told, placed.todo)
    code = next((one for one in page.elements if one.kind == "code"), None)
    said_by_code = _read(scan, placed, code.box) if code else None
    if code and said_by_code:
        drawn = identity_of(str(code.facts.get("text", "")))
        if (said_by_code.form, said_by_code.page) != (drawn.form, drawn.page):
            return NotPlaced(
                f"its marks are those of this page, but its code says form {said_by_code.form}, page "
                f"{said_by_code.page}, and not form {drawn.form}, page {drawn.page}.",
                "Choose the form and page that were printed.",
            )
    regions = _regions(page.elements, placed, scan, within_mm)
    unread = bool(code) and said_by_code is None
    return LocatedPage(placed, regions, said_by_code, _cautions(placed, regions, len(squares), unread))


def _regions(
    elements: Sequence[Drawn], placed: Placement, scan: Scan, within_mm: float
) -> tuple[Region, ...]:
    boxes = [one.box for one in elements]
    corners_mm = np.array([box.corners() for box in boxes]).reshape(-1, 2)
    corners = placed.to_pixels(corners_mm).reshape(-1, 4, 2)
    errors = placed.error_at(corners_mm).reshape(-1, 4).max(axis=1)
    rows, columns = scan.shape[:2]
    beyond = np.any((corners < 0.0) | (corners > np.array([columns, rows])), axis=(1, 2))
    return tuple(
        Region(one.kind, one.name, corners[n], float(errors[n]), _BEYOND if beyond[n] else doubt)
        for n, (one, doubt) in enumerate(
            zip(elements, placed.doubts(boxes, within_mm=within_mm), strict=True)
        )
    )


def _cautions(placed: Placement, regions: Sequence[Region], marks: int, unread: bool) -> tuple[str, ...]:
    told = []
    doubted = sum(bool(one.doubt) for one in regions)
    if doubted:
        told.append(f"{doubted} of {len(regions)} elements are not placed well enough to be measured.")
    if len(placed.marks) < marks:
        told.append(
            f"{len(placed.marks)} of {marks} marks were used: look whether the page is whole and flat."
        )
    if unread:
        told.append("Its code could not be read: make sure that it is the sheet it is taken for.")
    ppi = placed.pixels_per_mm * MM_PER_INCH
    if ppi < _COARSE * LEAST_PPI:
        told.append(
            f"The scan has about {ppi:.0f} pixels per inch, below {LEAST_PPI:g}: fine elements are lost."
        )
    return tuple(told)


def _read(scan: Scan, placed: Placement, box: Box) -> Identity | None:
    """What the code in a box of the page says."""
    corners = placed.to_pixels(box.inset(-_CODE_AROUND_MM).corners())
    left, top = (max(int(one), 0) for one in corners.min(axis=0))
    right, bottom = (int(one) for one in np.minimum(corners.max(axis=0), scan.shape[1::-1]))
    if right - left < 8 or bottom - top < 8:
        return None
    window = grey_window(scan, slice(top, bottom), slice(left, right))
    times = max(int(placed.pixels_per_mm * LEAST_CELL_MM / _CODE_PIXELS), 1)
    rows, columns = (side // times for side in window.shape)
    window = window[: rows * times, : columns * times].reshape(rows, times, columns, times).mean(axis=(1, 3))
    return next(iter(_identities(stretched(window))), None)


def _codes_anywhere(scan: Scan) -> list[Identity]:
    """Codes of forms wherever they lie in a scan."""
    times = max(int(np.ceil(np.sqrt(scan.shape[0] * scan.shape[1] / _SEARCHED_PIXELS))), 1)
    return _identities(coarse_copy(scan, times))


def _identities(picture: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]) -> list[Identity]:
    said = []
    for one in find_codes(picture):
        try:
            said.append(identity_of(one.text))
        except BadSetting:  # some other code, not of a form
            continue
    return said
