"""Measurements kept inside an ICC profile: the ``CxF `` and ``targ`` tags, with every offset checked."""

from __future__ import annotations

import struct
import zlib
from typing import Final

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings.limits import MAX_INFLATED_BYTES

_HEADER: Final = 128
_ENTRY: Final = struct.Struct(">4sII")
_MOST_TAGS: Final = 1000
_TODO: Final = "Use the measurement file the profile was made from."
_WRAPPINGS: Final = (15, -15, 31)
"""How zlib is told to expect its own frame, none, or a gzip frame."""


def is_icc(data: bytes) -> bool:
    """Whether bytes are an ICC profile: ``acsp`` at byte 36.

    Parameters
    ----------
    data : bytes of any file.

    Returns
    -------
    True or false.

    Checked against
    ---------------
    A published profile and planted ones.
    """
    return data[36:40] == b"acsp"


def find_characterisation(data: bytes, *, file: str) -> list[tuple[str, bytes]]:
    """Find the characterisation data kept in an ICC profile.

    Parameters
    ----------
    data : the bytes of the profile.
    file : its name, for messages.

    Returns
    -------
    (tag name, content) pairs, ``CxF`` (spectra) before ``targ`` (colours); at least one.

    Raises
    ------
    UnreadableFile
        Where the tag table points outside the file, a tag unpacks beyond the limit, or there is no such tag.

    Notes
    -----
    The tag ``CxF `` holds CxF3 XML, plain or deflate-compressed, after an eight-byte type header
    (from memory); ``targ`` holds text (ICC.1).

    Checked against
    ---------------
    A published profile whose text twin is at hand; planted damage and bombs.
    """
    tags = _tags(data, file)
    found: list[tuple[str, bytes]] = []
    for name in (b"CxF ", b"targ"):
        if name in tags:
            offset, size = tags[name]
            body = data[offset : offset + size]
            content = _unpacked(body, file) if name == b"CxF " else body[8:]
            if content.strip(b"\0 \t\r\n"):
                found.append((name.decode("ascii").strip(), content.rstrip(b"\0")))
    if not found:
        what = "this ICC profile holds no measurements (neither a targ nor a CxF tag)."
        raise UnreadableFile(what, todo=_TODO, file=file)
    return found


def _tags(data: bytes, file: str) -> dict[bytes, tuple[int, int]]:
    """Offsets and sizes by tag name, all inside the file."""
    damaged = "this ICC profile is damaged: its tag table points outside the file."
    if len(data) < _HEADER + 4:
        raise UnreadableFile("this ICC profile is cut short.", todo=_TODO, file=file)
    (count,) = struct.unpack_from(">I", data, _HEADER)
    if count > _MOST_TAGS or _HEADER + 4 + count * _ENTRY.size > len(data):
        raise UnreadableFile(damaged, todo=_TODO, file=file)
    tags: dict[bytes, tuple[int, int]] = {}
    for index in range(count):
        name, offset, size = _ENTRY.unpack_from(data, _HEADER + 4 + index * _ENTRY.size)
        if name in {b"CxF ", b"targ"}:
            if size < 8 or offset + size > len(data):
                raise UnreadableFile(damaged, todo=_TODO, file=file)
            tags[name] = offset, size
    return tags


def _unpacked(body: bytes, file: str) -> bytes:
    """XML of a CxF tag, inflated where it is compressed."""
    for start in (8, 12, 16):
        content = body[start:]
        if content.lstrip(b"\xef\xbb\xbf \t\r\n\0").startswith(b"<"):
            return content.lstrip(b"\0")
    for start in (8, 12, 16):
        for wrapping in _WRAPPINGS:
            inflated = _inflate(body[start:], wrapping, file)
            if inflated.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
                return inflated
    what = "the CxF tag of this ICC profile is damaged or packed in an unknown way."
    raise UnreadableFile(what, todo=_TODO, file=file)


def _inflate(packed: bytes, wrapping: int, file: str) -> bytes:
    """Inflate up to the limit; empty where the bytes are not compressed this way."""
    limit = int(MAX_INFLATED_BYTES.value)
    engine = zlib.decompressobj(wbits=wrapping)
    try:
        inflated = engine.decompress(packed, limit + 1)
    except zlib.error:
        return b""
    if len(inflated) > limit:
        what = f"the CxF tag of this ICC profile unpacks to more than {limit // (1024 * 1024)} MB."
        raise UnreadableFile(what, todo=_TODO, file=file)
    return inflated if engine.eof else b""
