"""Files made to hurt: each is refused in words, quickly and without much memory."""

from __future__ import annotations

import io
import struct
import time
import tracemalloc
import zipfile
import zlib

import pytest

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import icc_tags, read_measurements

CXF = b'<CxF xmlns="http://colorexchangeformat.com/CxF3-core">%s</CxF>'
LAUGHS = (
    b'<!DOCTYPE l [<!ENTITY a "ha">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + i, b"&%c;" % (97 + i) * 10) for i in range(9))
    + b"]>"
    + CXF % b"&j;"
)
MIB = 1 << 20


def profile(*tags):
    """An ICC profile that holds a header and the given (name, content) tags."""
    head, table, body = bytearray(128), struct.pack(">I", len(tags)), b""
    head[36:40] = b"acsp"
    for name, content in tags:
        table += struct.pack(">4sII", name, 132 + 12 * len(tags) + len(body), len(content))
        body += content
    return bytes(head) + table + body


def zipped():
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a", b"\0" * MIB)
    return made.getvalue()


def utf16(data):
    return b"\xff\xfe" + data.decode().encode("utf-16-le")


FORMAT = b"CGATS.17\nBEGIN_DATA_FORMAT\n"
NAMED = FORMAT + b"ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
HEAD = profile()[:128]
REFUSED = {
    "nothing": (b"", "empty"),
    "blanks": (b" \r\n\t" * 100, "empty"),
    "zero bytes only": (b"\0" * 100, "empty"),
    "zero bytes in text": (b"CGATS.17\nBEGIN_DATA\n1\0 2\nEND_DATA", "zero bytes"),
    "entities": (b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>' + CXF % b"&e;", "document type"),
    "billion laughs": (LAUGHS, "document type"),
    "billion laughs, UTF-16": (utf16(b'<?xml version="1.0" encoding="utf-16"?>' + LAUGHS), "document type"),
    "external DTD": (b'<!DOCTYPE CxF SYSTEM "http://example.invalid/x.dtd">' + CXF % b"", "document type"),
    "deep XML": (CXF % (b"<a>" * 50_000 + b"</a>" * 50_000), "damaged or cut short"),
    "cut XML": ((CXF % b"<Resources>")[:-9], "damaged or cut short"),
    "long line": (b"CGATS.17 " + b"1 " * (2 * MIB), "longer than 1024 kB"),
    "long row": (b"id,L,a,b\n" + b"1," * (2 * MIB), "longer than 1024 kB"),
    "many columns": (FORMAT + b"LAB_L " * 5000 + b"\nEND_DATA_FORMAT\nBEGIN_DATA\n", "4096"),
    "many columns in a table": (b"id,L,a,b" + b",x" * 5000 + b"\n1,2,3,4" + b",1" * 5000, "4096 columns"),
    "endless header": (b"CGATS.17\n" + b"A b\n" * (3 * MIB) + b"BEGIN_DATA\n", "header never ends"),
    "many tables": (NAMED + b"BEGIN_DATA\n1 5 0 0\nEND_DATA\n" * 70, "64 tables"),
    "cut CGATS": (b"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A", "does not look like|ends before"),
    "cut after BEGIN_DATA": (NAMED + b"BEGIN_DATA", "no rows"),
    "cut UTF-16": (b"\xff\xfea", "UTF-16"),
    "zip": (zipped(), "spreadsheet or zip archive"),
    "gzip": (b"\x1f\x8b\x08\0", "gzip"),
    "tiff": (b"II*\0abc", "TIFF"),
    "pdf": (b"%PDF-1.7", "PDF"),
    "icc cut": (profile()[:100], "cut short"),
    "icc without tags": (profile(), "neither a targ nor a CxF tag"),
    "icc with too many tags": (profile()[:128] + struct.pack(">I", 0xFFFFFFFF), "tag table points outside"),
    "icc tag outside": (HEAD + struct.pack(">I4sII", 1, b"targ", 0xFFFFFFF0, 100), "points outside"),
    "icc tag of rubbish": (profile((b"CxF ", b"ZXML\0\0\0\0" + bytes(range(1, 200)))), "unknown way"),
    "icc tag cut": (profile((b"CxF ", b"ZXML\0\0\0\0" + zlib.compress(CXF * 99)[:40])), "unknown way"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refused_in_words_quickly_and_cheaply(name):
    data, said = REFUSED[name]
    tracemalloc.start()
    start = time.perf_counter()
    try:
        with pytest.raises(UnreadableFile, match=said) as caught:
            read_measurements(data, file="bad.bin")
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert str(caught.value).startswith("bad.bin")
    assert caught.value.todo
    assert time.perf_counter() - start < 10.0
    assert peak < 10 * len(data) + 32 * MIB


@pytest.mark.parametrize("wrapping", [15, -15, 31])
def test_a_deflate_bomb_stops_at_the_limit(monkeypatch, wrapping):
    limit = icc_tags.MAX_INFLATED_BYTES
    monkeypatch.setattr(
        icc_tags, "MAX_INFLATED_BYTES", type(limit)(MIB, limit.unit, limit.source, limit.certainty)
    )
    engine = zlib.compressobj(9, zlib.DEFLATED, wrapping)
    packed = engine.compress(b"<" + b" " * (64 * MIB)) + engine.flush()
    assert len(packed) < MIB // 8
    tracemalloc.start()
    try:
        with pytest.raises(UnreadableFile, match="unpacks to more than 1 MB"):
            read_measurements(profile((b"CxF ", b"ZXML\0\0\0\0" + packed)), file="a.icc")
        assert tracemalloc.get_traced_memory()[1] < 8 * MIB
    finally:
        tracemalloc.stop()


def test_the_size_limit_is_an_option():
    with pytest.raises(UnreadableFile, match="larger than 1 MB"):
        read_measurements(b"x" * (MIB + 1), file="a", max_bytes=MIB)


def test_absurd_counts_cost_nothing(cgats, read):
    data = cgats(header=("NUMBER_OF_SETS 999999999", "NUMBER_OF_FIELDS 999999999"))
    tracemalloc.start()
    try:
        found = read(data)
        assert tracemalloc.get_traced_memory()[1] < 4 * MIB
    finally:
        tracemalloc.stop()
    assert len(found.tables[0]) == 3


@pytest.mark.parametrize("packed", [False, True])
def test_measurements_inside_a_profile_are_read(cgats, packed):
    targ = (b"targ", b"text\0\0\0\0" + cgats() + b"\0")
    spectra = (
        b'<Resources><ObjectCollection><Object Name="1" Id="1" ObjectType="Standard"><ColorValues>'
        b'<ReflectanceSpectrum StartWL="400" Increment="10">0.1 0.2 0.3</ReflectanceSpectrum>'
        b"</ColorValues></Object></ObjectCollection></Resources>"
    )
    xml = CXF % spectra
    (alone,) = read_measurements(profile(targ), file="a.icc").tables
    assert alone.format == "CGATS in an ICC profile"
    found = read_measurements(
        profile(targ, (b"CxF ", b"ZXML\0\0\0\0" + (zlib.compress(xml) if packed else xml))), file="a.icc"
    )
    assert found.tables[0].reflectance.tolist() == [[0.1, 0.2, 0.3]]
    assert "CxF tag" in found.problems[0].what
