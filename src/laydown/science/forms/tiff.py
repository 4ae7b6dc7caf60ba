"""Writes a page as TIFF, band by band, with the resolution it is to be printed at."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import BinaryIO, Literal

import numpy as np

from laydown.science.forms.drawing import BAND_ROWS, draw_bands, size_in_pixels
from laydown.science.forms.page import Page

Packing = Literal["none", "deflate"]
_LARGEST_CLASSIC = 2**32 - 2**25  # offsets of classic TIFF have 32 bits; some room for its tags
_EFFORT = 4  # forms are mostly flat: more effort takes twice as long and saves little
_CMYK = ("C", "M", "Y", "K")

# Codes of TIFF 6.0, section 8 and 16; the profile's of ICC.1; deflate's of TIFF Technical Note 2002.
_TEXT, _SHORT, _LONG, _FRACTION, _BYTES, _LONG8 = 2, 3, 4, 5, 7, 16
_FORMATS = {_SHORT: "H", _LONG: "I", _FRACTION: "I", _LONG8: "Q"}
_NO_PACKING, _DEFLATE = 1, 8
_RGB_LIGHT, _SEPARATED = 2, 5
_ALL_CHANNELS_TOGETHER, _PER_INCH, _OTHER_INKS = 1, 2, 2
_STRIP_OFFSETS, _STRIP_SIZES = 273, 279
_EVEN = 8  # offsets are even in classic TIFF, multiples of 8 in the large variety


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
    into : a file opened for writing bytes, in which one can go back to its beginning
    ppi : pixels per inch; also what the resolution tags say
    bits : 8 or 16 for each device value
    packing : "none" or "deflate" (both without loss)
    profile : an ICC profile to embed, or nothing
    words : what the description tag says; letters outside ASCII are written as "?"

    Returns
    -------
    None: the file is written

    Raises
    ------
    BadSetting
        if ``bits`` is neither 8 nor 16.

    Notes
    -----
    More than four inks are one separated picture whose inks are named, as section 16 of the specification
    says. Writers at hand declare the fifth ink and on as extra samples, which programs take for opacity or
    drop, so the few tags are written here.

    References
    ----------
    TIFF Revision 6.0; deflate: TIFF Technical Note 2002.

    Checked against
    ---------------
    Pillow and tifffile read the same pixels, size and resolution; poppler the PDF made from the same page.
    """
    layout = _Layout(large=needs_large_offsets(page, ppi=ppi, bits=bits))
    begin = into.tell()
    strips: list[_Strip] = []

    for band in draw_bands(page, ppi=ppi, bits=bits):
        if not strips:  # after the first band, so that what is refused leaves no file begun
            into.write(layout.head(0))
        content = np.ascontiguousarray(band, dtype=band.dtype.newbyteorder("<")).data.cast("B")
        packed = content if packing == "none" else zlib.compress(content, _EFFORT)
        strips.append(_Strip(into.tell() - begin, len(packed)))
        into.write(packed)
    directory = into.tell() - begin
    gap = -directory % _EVEN
    tags = _tags(page, ppi=ppi, bits=bits, packing=packing, words=words, profile=profile)
    place = _LONG8 if layout.large else _LONG
    tags += [
        _Tag(_STRIP_OFFSETS, place, tuple(one.offset for one in strips)),
        _Tag(_STRIP_SIZES, place, tuple(one.size for one in strips)),
    ]
    into.write(b"\0" * gap + layout.directory(tags, directory + gap))
    end = into.tell()
    into.seek(begin)
    into.write(layout.head(directory + gap))
    into.seek(end)


def needs_large_offsets(page: Page, *, ppi: float, bits: int) -> bool:
    """Whether a page is too large for classic TIFF, whose offsets have 32 bits.

    Packed pages may turn out smaller, but how much is known only once they are written.

    Parameters
    ----------
    page : Page
    ppi : pixels per inch
    bits : for each device value

    Returns
    -------
    bool

    Checked against
    ---------------
    Pages just below and just above 4 GB.
    """
    rows, columns = size_in_pixels(page, ppi=ppi)
    return rows * columns * len(page.channels) * bits // 8 > _LARGEST_CLASSIC


@dataclass(frozen=True, slots=True)
class _Strip:
    """Where in the file a band lies, and how many bytes it takes."""

    offset: int
    size: int


@dataclass(frozen=True, slots=True)
class _Tag:
    code: int
    kind: int
    values: tuple[int, ...] | bytes

    @property
    def count(self) -> int:
        return len(self.values) // (2 if self.kind == _FRACTION else 1)

    def packed(self) -> bytes:
        if isinstance(self.values, bytes):
            return self.values
        return struct.pack(f"<{len(self.values)}{_FORMATS[self.kind]}", *self.values)


@dataclass(frozen=True, slots=True)
class _Layout:
    """Classic TIFF, or its large variety with offsets of 64 bits."""

    large: bool

    def head(self, directory: int) -> bytes:
        """The first bytes of the file: little end first, which variety, where the directory of tags lies."""
        if self.large:
            return struct.pack("<2sHHHQ", b"II", 43, 8, 0, directory)
        return struct.pack("<2sHI", b"II", 42, directory)

    def directory(self, tags: Sequence[_Tag], place: int) -> bytes:
        """The directory of tags, and after it what has no room in it."""
        count, entry, room = ("<Q", "<HHQ", 8) if self.large else ("<H", "<HHI", 4)
        size = struct.calcsize(count) + len(tags) * (struct.calcsize(entry) + room) + room
        entries, rest = struct.pack(count, len(tags)), b""
        for tag in sorted(tags, key=lambda one: one.code):
            content = tag.packed()
            entries += struct.pack(entry, tag.code, tag.kind, tag.count)
            if len(content) > room:
                rest += b"\0" * (-(place + size + len(rest)) % _EVEN)
                entries += (place + size + len(rest)).to_bytes(room, "little")
                rest += content
            else:
                entries += content.ljust(room, b"\0")
        return entries + b"\0" * room + rest  # no further directory


def _tags(page: Page, *, ppi: float, bits: int, packing: Packing, words: str, profile: bytes) -> list[_Tag]:
    rows, columns = size_in_pixels(page, ppi=ppi)
    channels = len(page.channels)
    rgb = page.channels == ("R", "G", "B")
    per_inch = Fraction(ppi).limit_denominator(10_000)
    dots = (per_inch.numerator, per_inch.denominator)
    tags = [
        _Tag(256, _LONG, (columns,)),
        _Tag(257, _LONG, (rows,)),
        _Tag(258, _SHORT, (bits,) * channels),
        _Tag(259, _SHORT, (_NO_PACKING if packing == "none" else _DEFLATE,)),
        _Tag(262, _SHORT, (_RGB_LIGHT if rgb else _SEPARATED,)),
        _Tag(270, _TEXT, _text(words or page.name)),
        _Tag(277, _SHORT, (channels,)),
        _Tag(278, _LONG, (BAND_ROWS,)),
        _Tag(282, _FRACTION, dots),
        _Tag(283, _FRACTION, dots),
        _Tag(284, _SHORT, (_ALL_CHANNELS_TOGETHER,)),
        _Tag(296, _SHORT, (_PER_INCH,)),
        _Tag(305, _TEXT, _text("Laydown")),
    ]
    if not rgb and page.channels != _CMYK:
        names = b"".join(_text(name) for name in page.channels)
        tags += [
            _Tag(332, _SHORT, (_OTHER_INKS,)),
            _Tag(333, _TEXT, names),
            _Tag(334, _SHORT, (channels,)),
        ]
    if profile:
        tags.append(_Tag(34675, _BYTES, profile))
    return tags


def _text(words: str) -> bytes:
    return words.encode("ascii", "replace") + b"\0"
