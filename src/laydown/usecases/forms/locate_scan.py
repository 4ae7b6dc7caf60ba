"""Find which page of a form a scan shows, where each element lies in it, and how long it was printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from laydown.kernel.errors import BadSetting, NotEnoughData, UnreadableFile
from laydown.science.forms.geometry import PageGeometry
from laydown.science.forms.length_error import LengthError, length_error
from laydown.science.forms.located_page import LocatedPage, locate_page
from laydown.science.forms.placing import NotPlaced
from laydown.science.forms.scan_file import TiffScan
from laydown.science.forms.scan_pixels import Scan

_TIFF_HEADS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
_PICKED_UP = 4  # bytes that tell a TIFF file
LARGEST_PLAIN = 200_000_000  # pixels of a PNG or JPEG, which is decoded whole


@dataclass(frozen=True, slots=True, eq=False)
class FoundPage:
    """The page a scan shows. ``length`` is None where it cannot be told, and ``length_missing`` says why.

    ``stated_ppi`` is what the file says of its own resolution; None where it does not.
    """

    geometry: PageGeometry
    located: LocatedPage
    stated_ppi: float | None
    length: LengthError | None
    length_missing: str


def locate_scan(
    file: BinaryIO, pages: Sequence[PageGeometry], *, name: str, ppi: float | None = None
) -> FoundPage | NotPlaced:
    """The page of some forms that a scan shows; or why none of them is.

    A TIFF may be far larger than memory; PNG and JPEG are decoded whole.

    Raises
    ------
    UnreadableFile
        It is no picture that can be read.
    BadSetting
        There is no page to look for.
    """
    if not pages:
        raise BadSetting("there is no page to look for.", todo="Give the geometry files of the form.")
    scan, stated = open_scan(file, name=name)
    told = ppi or stated
    refused: list[NotPlaced] = []
    for geometry in pages:
        found = locate_page(scan, geometry, ppi=told)
        if isinstance(found, LocatedPage):
            return _found(geometry, found, told)
        refused.append(found)
    if len(pages) == 1:
        return refused[0]
    names = ", ".join(f"{one.form} {one.page}" for one in pages)
    return NotPlaced(f"it is none of the pages {names}. {refused[0].reason}", refused[0].todo)


def open_scan(file: BinaryIO, *, name: str) -> tuple[Scan, float | None]:
    """A scan, and the resolution its file states.

    Raises
    ------
    UnreadableFile
        It is no picture that can be read.
    """
    head = file.read(_PICKED_UP)
    file.seek(0)
    if head in _TIFF_HEADS:
        scan = TiffScan(file)
        return scan, scan.ppi
    return _plain(file, name=name)


def _plain(file: BinaryIO, *, name: str) -> tuple[Scan, float | None]:
    from PIL import Image, UnidentifiedImageError

    try:
        with Image.open(file) as image:
            if image.size[0] * image.size[1] > LARGEST_PLAIN:
                raise UnreadableFile(
                    "the picture is too large to be decoded.", todo="Save it as TIFF.", file=name
                )
            across, down = (float(one) for one in image.info.get("dpi", (0.0, 0.0)))
            pixels = np.asarray(image.convert("RGB"))
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        Image.DecompressionBombError,
    ) as failure:
        raise UnreadableFile(
            "this is no picture that can be read.", todo="Save the scan as TIFF, PNG or JPEG.", file=name
        ) from failure
    return pixels, across if across > 0.0 and across == down else None


def _found(geometry: PageGeometry, located: LocatedPage, stated: float | None) -> FoundPage:
    if stated is None:
        return FoundPage(
            geometry, located, None, None, "The file does not say its resolution, so that no length is known."
        )
    try:
        return FoundPage(geometry, located, stated, length_error(located.placement, scan_ppi=stated), "")
    except NotEnoughData as few:
        return FoundPage(geometry, located, stated, None, str(few))
