"""Writes a page as TIFF, band by band, with the resolution it is to be printed at."""

from __future__ import annotations

import zlib
from typing import BinaryIO, Literal

import numpy as np

from laydown.science.forms.drawing import BAND_ROWS, draw_bands, size_in_pixels
from laydown.science.forms.page import Page

Packing = Literal["none", "deflate"]
_LARGEST_CLASSIC = 2**32 - 2**25  # offsets of classic TIFF have 32 bits; some room for its tags
_EFFORT = 4  # forms are mostly flat: more effort takes twice as long and saves little
_CMYK = ("C", "M", "Y", "K")
_INK_SET, _INK_NAMES, _INK_COUNT = 332, 333, 334
_OTHER_INKS = 2


def write_tiff(
    page: Page,
    into: BinaryIO,
    *,
    ppi: float,
    bits: int = 8,
    packing: Packing = "deflate",
    profile: bytes = b"",
    words: str = "",
) -> None:
    """Write a page as a TIFF file.

    Device patches are written without a profile, so that nothing converts them on the way; pages of pictures
    may carry one.

    Parameters
    ----------
    page : Page
    into : a file opened for writing bytes
    ppi : pixels per inch; also what the resolution tags say
    bits : 8 or 16 for each device value
    packing : "none" or "deflate" (both without loss)
    profile : an ICC profile to embed, or nothing
    words : what the description tag says

    Returns
    -------
    None: the file is written

    Raises
    ------
    BadSetting
        if ``bits`` is neither 8 nor 16.

    References
    ----------
    TIFF Revision 6.0; deflate: TIFF Technical Note 2002.

    Checked against
    ---------------
    Pillow and tifffile read the same pixels, size and resolution; poppler the PDF made from the same page.
    """
    import tifffile

    rows, columns = size_in_pixels(page, ppi=ppi)
    channels = len(page.channels)
    size = rows * columns * channels * bits // 8
    rgb = page.channels == ("R", "G", "B")
    tags: list[tuple[int, int | str, int | None, object, bool]] = []
    if not rgb and page.channels != _CMYK:
        names = "\0".join(page.channels) + "\0"
        tags = [
            (_INK_SET, "H", 1, _OTHER_INKS, True),
            (_INK_COUNT, "H", 1, channels, True),
            (_INK_NAMES, "s", 0, names, True),
        ]
    bands = draw_bands(page, ppi=ppi, bits=bits)
    with tifffile.TiffWriter(into, bigtiff=size > _LARGEST_CLASSIC) as writer:
        writer.write(
            bands if packing == "none" else (zlib.compress(band.tobytes(), _EFFORT) for band in bands),
            shape=(rows, columns, channels),
            dtype=np.uint8 if bits == 8 else np.uint16,
            photometric="rgb" if rgb else "separated",
            planarconfig="contig",
            rowsperstrip=BAND_ROWS,
            compression=None if packing == "none" else "zlib",
            resolution=(ppi, ppi),
            resolutionunit="INCH",
            iccprofile=profile or None,
            description=words or page.name,
            software="Laydown",
            metadata=None,
            extratags=tags,
        )
