"""A picture without what the camera wrote into it: where, when and with what it was taken, words, previews.

The marks of the formats below are from memory of their standards.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

_PNG = b"\x89PNG\r\n\x1a\n"
# What a picture needs to look as it does (PNG, third edition, W3C 2025, clause 11); all else is left out.
_PNG_KEPT = frozenset(
    (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP",
     b"bKGD", b"pHYs", b"acTL", b"fcTL", b"fdAT")
)  # fmt: skip
_WEBP_KEPT = frozenset((b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"))
_WEBP_EXIF_AND_XMP = 0x08 | 0x04  # flags of VP8X (RFC 9649, section 2.7)
_SOS, _EOI, _APP0, _APP1, _APP2, _APP14, _APP15, _COM = 0xDA, 0xD9, 0xE0, 0xE1, 0xE2, 0xEE, 0xEF, 0xFE
_RESTARTS = range(0xD0, 0xD8)
_ORIENTATION = 0x0112


def bare_picture(content: bytes) -> bytes | None:
    """A JPEG, PNG or WebP with its pixels, colour space and way up, and nothing else.

    Whatever follows the end of the picture goes as well: there some telephones keep a second picture or a
    film. None where the file is of another kind, or damaged: then nobody can say what is in it.
    """
    try:
        if content.startswith(_PNG):
            return _PNG + b"".join(_png_chunks(content))
        if content.startswith(b"\xff\xd8"):
            return b"\xff\xd8" + b"".join(_jpeg_parts(content))
        if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
            chunks = b"WEBP" + b"".join(_webp_chunks(content))
            return b"RIFF" + struct.pack("<I", len(chunks)) + chunks
    except (struct.error, IndexError, ValueError):
        return None
    return None


def _png_chunks(content: bytes) -> Iterator[bytes]:
    at = len(_PNG)
    while True:
        length, name = struct.unpack_from(">I4s", content, at)
        end = at + 12 + length
        if end > len(content):
            raise ValueError("cut off")
        if name in _PNG_KEPT:
            yield content[at:end]
        if name == b"IEND":
            return
        at = end


def _webp_chunks(content: bytes) -> Iterator[bytes]:
    whole = 8 + struct.unpack_from("<I", content, 4)[0]
    if whole > len(content):
        raise ValueError("cut off")
    at = 12
    while at < whole:
        name, length = struct.unpack_from("<4sI", content, at)
        end = at + 8 + length + length % 2
        if end > whole:
            raise ValueError("cut off")
        chunk = content[at:end]
        if name == b"VP8X":
            chunk = chunk[:8] + bytes([chunk[8] & ~_WEBP_EXIF_AND_XMP]) + chunk[9:]
        if name in _WEBP_KEPT:
            yield chunk
        at = end


def _jpeg_parts(content: bytes) -> Iterator[bytes]:
    """Segments of a JPEG (ITU-T T.81, annex B), those of applications only where colours depend on them."""
    at = 2
    while True:
        if content[at] != 0xFF:
            raise ValueError("no marker")
        marker = content[at + 1]
        if marker == 0xFF:  # a marker may be preceded by any number of these
            at += 1
            continue
        if marker == _EOI:
            yield content[at : at + 2]
            return
        (length,) = struct.unpack_from(">H", content, at + 2)
        end = at + 2 + length
        if length < 2 or end > len(content):
            raise ValueError("cut off")
        segment = content[at:end]
        if marker == _SOS:
            end = _scan_end(content, end)
            yield content[at:end]
        elif marker == _APP1:
            yield from _way_up(segment)
        elif not (_APP0 <= marker <= _APP15 or marker == _COM) or _needed(marker, segment[4:]):
            yield segment
        at = end


def _needed(marker: int, held: bytes) -> bool:
    """Whether a segment of an application says how the numbers of the picture are to be shown."""
    return (
        (marker == _APP0 and held.startswith(b"JFIF\0"))
        or (marker == _APP2 and held.startswith(b"ICC_PROFILE\0"))
        or (marker == _APP14 and held.startswith(b"Adobe"))
    )


def _scan_end(content: bytes, at: int) -> int:
    """Where the marker after a scan stands; in the scan itself FF is followed by 00 or a restart marker."""
    while True:
        at = content.index(b"\xff", at)
        following = content[at + 1]
        if following not in (0x00, 0xFF) and following not in _RESTARTS:
            return at
        at += 1 if following == 0xFF else 2


def _way_up(segment: bytes) -> Iterator[bytes]:
    """An EXIF segment cut down to which way the picture is up, where it says so."""
    if not segment[4:].startswith(b"Exif\0\0"):
        return
    tiff = segment[10:]
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(tiff[:4])
    if order is None:
        return
    try:
        (start,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, start)
        for place in range(count):
            tag, kind, _, value = struct.unpack_from(f"{order}HHIH", tiff, start + 2 + 12 * place)
            if tag == _ORIENTATION and kind == 3 and 2 <= value <= 8:
                short = struct.pack(">4sIHHHIHHI", b"MM\0*", 8, 1, _ORIENTATION, 3, 1, value, 0, 0)
                yield b"\xff\xe1" + struct.pack(">H", 2 + 6 + len(short)) + b"Exif\0\0" + short
                return
    except struct.error:  # no way up can be read from it: the picture goes as its pixels lie
        return
