"""Nothing that a camera wrote into a picture is left in it, and the picture itself is."""

from __future__ import annotations

import struct
import zlib

import pytest
import vl_convert
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.usecases.archives.bare_picture import bare_picture

SECRETS = (b"GPS 51.5 N", b"Photographed for Osprey", b"camera 00317", b"a second picture")
SCAN = b"\x01\xff\x00\x02\xff\xd0\x03"  # FF 00 and restart markers belong to the scan (T.81, B.1.1.5)


def segment(marker: int, held: bytes) -> bytes:
    return bytes([0xFF, marker]) + struct.pack(">H", len(held) + 2) + held


def exif(way_up: int, *, order: str = ">") -> bytes:
    """Exif 2.32, 4.6.2: which way up (0112), the camera (010F) and a pointer to GPS data (8825)."""
    entries = [(0x010F, 2, 12, 50), (0x0112, 3, 1, way_up), (0x8825, 4, 1, 62)]
    tiff = (b"MM\0*" if order == ">" else b"II*\0") + struct.pack(f"{order}IH", 8, len(entries))
    for tag, kind, count, value in entries:
        held = struct.pack(f"{order}HH", value, 0) if kind == 3 else struct.pack(f"{order}I", value)
        tiff += struct.pack(f"{order}HHI", tag, kind, count) + held
    return segment(0xE1, b"Exif\0\0" + tiff + struct.pack(f"{order}I", 0) + b"camera 00317GPS 51.5 N")


def a_jpeg(*told: bytes, scans: int = 2) -> bytes:
    """The parts of a progressive JPEG in their order, with what a camera puts between them."""
    picture = segment(0xDB, b"\0" * 65) + segment(0xC2, b"\x08\0\x01\0\x01\x01\x01\x11\0")
    picture += b"".join(
        segment(0xC4, b"\0" * 20) + segment(0xDA, b"\x01\x01\0\0\x3f\0") + SCAN for _ in range(scans)
    )
    return b"\xff\xd8" + b"".join(told) + picture + b"\xff\xd9"


JFIF = segment(0xE0, b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0")
PROFILE = segment(0xE2, b"ICC_PROFILE\0\x01\x01...")
ADOBE = segment(0xEE, b"Adobe\0\x64\0\0\0\0\0")
WORDS = (
    segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0GPS 51.5 N"), segment(0xED, b"Photographed for Osprey"),
    segment(0xFE, b"Photographed for Osprey"), segment(0xE2, b"MPF\0 a second picture"),
    segment(0xE0, b"JFXX\0 a second picture"),
)  # fmt: skip


@pytest.mark.parametrize("order", "<>")
@pytest.mark.parametrize("way_up", range(1, 9))
def test_a_jpeg_keeps_its_pixels_its_colours_and_which_way_is_up(way_up: int, order: str) -> None:
    whole = a_jpeg(JFIF, exif(way_up, order=order), *WORDS, PROFILE, ADOBE) + b"a second picture"
    bare = bare_picture(whole)
    assert bare is not None
    assert not [one for one in SECRETS if one in bare]
    turned = segment(
        0xE1, b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0" + bytes([way_up, 0, 0, 0, 0, 0, 0])
    )
    assert bare == a_jpeg(JFIF, *([turned] if way_up > 1 else []), PROFILE, ADOBE)
    assert bare_picture(bare) == bare


def test_a_png_keeps_its_pixels_and_its_colours() -> None:
    def chunk(name: bytes, held: bytes) -> bytes:
        return struct.pack(">I", len(held)) + name + held + struct.pack(">I", zlib.crc32(name + held))

    head = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">2I5B", 1, 1, 8, 2, 0, 0, 0))
    colours = chunk(b"iCCP", b"own\0\0" + zlib.compress(b"profile"))
    pixels = chunk(b"IDAT", zlib.compress(b"\0\1\2\3")) + chunk(b"IEND", b"")
    told = chunk(b"eXIf", b"GPS 51.5 N") + chunk(b"tIME", b"1234567") + chunk(b"prVt", b"camera 00317")
    words = chunk(b"iTXt", b"Comment\0\0\0\0\0Photographed for Osprey") + chunk(b"tEXt", b"a\0GPS 51.5 N")
    assert (
        bare_picture(head + told + colours + words + pixels + b"a second picture") == head + colours + pixels
    )


def test_a_webp_keeps_its_pixels_and_its_colours() -> None:
    def chunk(name: bytes, held: bytes) -> bytes:
        return name + struct.pack("<I", len(held)) + held + b"\0" * (len(held) % 2)

    def riff(*chunks: bytes) -> bytes:
        return b"RIFF" + struct.pack("<I", 4 + sum(map(len, chunks))) + b"WEBP" + b"".join(chunks)

    picture = (chunk(b"ICCP", b"own"), chunk(b"VP8 ", b"pixel"))
    told = (chunk(b"EXIF", b"GPS 51.5 N"), chunk(b"XMP ", b"Photographed for Osprey"))
    flags = 0x20 | 0x0C  # a colour profile; EXIF and XMP (RFC 9649, section 2.7)
    whole = riff(chunk(b"VP8X", bytes([flags]) + b"\0" * 9), *picture, *told) + b"a second picture"
    assert bare_picture(whole) == riff(chunk(b"VP8X", b"\x20" + b"\0" * 9), *picture)


def test_a_picture_of_a_real_program_is_left_as_it_looks() -> None:
    """Whatever writes it, the way to each scan is found; this one writes baseline JPEG with one scan."""
    drawn = {
        "data": {"values": [{"a": 1}]},
        "mark": "bar",
        "encoding": {"x": {"field": "a", "type": "nominal"}},
    }
    jpeg, png = vl_convert.vegalite_to_jpeg(drawn), vl_convert.vegalite_to_png(drawn)
    for whole in (jpeg, png):
        bare = bare_picture(whole)
        assert bare is not None
        assert bare[-64:] == whole[-64:]
        assert len(whole) - len(bare) < 200
        assert bare_picture(whole[:-40]) is None


@pytest.mark.parametrize(
    "content", [b"", b"GIF89a", b"II*\0 a TIFF", b"\0\0\0\x18ftypheic", b"\x89PNG\r\n\x1a\n x"]
)
def test_what_it_does_not_understand_is_nothing(content: bytes) -> None:
    assert bare_picture(content) is None


@settings(deadline=None)
@given(st.integers(0, 400), st.integers(0, 255), st.integers(0, 400))
def test_a_damaged_picture_is_refused_or_bare_and_never_a_trouble(at: int, value: int, cut: int) -> None:
    whole = bytearray(a_jpeg(JFIF, exif(6), *WORDS, PROFILE))
    whole[at % len(whole)] = value
    bare = bare_picture(bytes(whole[: len(whole) - cut]))
    assert bare is None or bare.endswith((b"\xff\xd9", b"IEND\xaeB`\x82"))
