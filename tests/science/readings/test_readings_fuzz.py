"""Broken files of every kind: readings or a refusal in words, nothing else, soon and in little memory."""

from __future__ import annotations

import time
import tracemalloc
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import FileReadings, read_measurements

CGATS = b"""CGATS.17
INSTRUMENTATION "spectrophotometer, 45:0, M1, white backing"
NUMBER_OF_FIELDS 10
BEGIN_DATA_FORMAT
SAMPLE_ID\tRGB_R\tRGB_G\tRGB_B\tLAB_L\tLAB_A\tLAB_B\tnm400\tnm410\tnm420
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
1\t255\t255\t255\t96.2\t1.0\t-4.4\t0.9\t0.91\t0.92
"A 2"\t0\t0\t0\t15,1\t0,5\t-1.2e0\t0.0180\t0.0190\t0.0201
3\t0\t128\t255\t50.1\t-10.5\t-40.25\t0.3012\t0.3123\t0.3234 # x
END_DATA
"""
TABLE = b"""id;R;G;B;L*;a*;b*;380;390;400
1;255;255;255;96,2;1,0;-4,4;0,9;0,91;0,92
2;0;0;0;15,1;0;-1;0,1;0,1;0,2
"""
CXF = b"""<c:CxF xmlns:c="http://colorexchangeformat.com/CxF3-core"><c:Resources><c:ObjectCollection>
<c:Object ObjectType="T" Name="1" Id="t"><c:DeviceColorValues>
<c:ColorRGB><c:R>255</c:R><c:G>0</c:G><c:B>9</c:B></c:ColorRGB></c:DeviceColorValues></c:Object>
<c:Object ObjectType="M1_Measurement" Name="1" Id="m"><c:ColorValues>
<c:ReflectanceSpectrum ColorSpecification="s" StartWL="400">0.1 0.2 0.3</c:ReflectanceSpectrum>
<c:ColorCIELab ColorSpecification="s"><c:L>50</c:L><c:A>1</c:A><c:B>2</c:B></c:ColorCIELab>
</c:ColorValues><c:TagCollection><c:Tag Name="Row" Value="1"/><c:Tag Name="Column" Value="2"/>
</c:TagCollection></c:Object></c:ObjectCollection><c:ColorSpecificationCollection>
<c:ColorSpecification Id="s"><c:MeasurementSpec><c:WavelengthRange StartWL="400" Increment="10"/>
</c:MeasurementSpec></c:ColorSpecification></c:ColorSpecificationCollection></c:Resources></c:CxF>"""


def profile(name: bytes, content: bytes) -> bytes:
    head = bytearray(128)
    head[36:40] = b"acsp"
    return (
        bytes(head)
        + b"\0\0\0\1"
        + name
        + (144).to_bytes(4, "big")
        + len(content).to_bytes(4, "big")
        + content
    )


SEEDS = {
    "cgats": CGATS,
    "cgats, UTF-16": b"\xff\xfe" + CGATS.decode().encode("utf-16-le"),
    "table": TABLE,
    "cxf": CXF,
    "icc targ": profile(b"targ", b"text\0\0\0\0" + CGATS),
    "icc CxF": profile(b"CxF ", b"ZXML\0\0\0\0" + zlib.compress(CXF)),
}
_WORDS = st.sampled_from([
    b"", b"\t", b"\n", b"\r", b'"', b"#", b"-1", b"nan", b"1e308", b"9" * 40, b"\xff\xfe", b"\0", b"<",
    b"&x;", b",", b";", b"BEGIN_DATA\n", b"END_DATA\n", b"BEGIN_DATA_FORMAT ", b"LAB_L ", b'Increment="0"',
    b"CMYK_C CMYK_M CMYK_Y CMYK_K",
])  # fmt: skip
_CUT = st.tuples(st.floats(0, 1), st.integers(0, 40), _WORDS | st.binary(max_size=8))


@pytest.mark.parametrize("name", SEEDS)
def test_the_seeds_themselves_are_read(name):
    assert len(read_measurements(SEEDS[name], file="x").tables) == 1


@pytest.mark.parametrize("name", SEEDS)
@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(_CUT, min_size=1, max_size=6))
def test_mutated_files(name, cuts):
    data = SEEDS[name]
    for place, length, word in cuts:
        at = int(place * len(data))
        data = data[:at] + word + data[at + length :]
    survives(data)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.binary(max_size=400) | st.text(max_size=200).map(str.encode))
def test_random_bytes(data):
    survives(data)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(SEEDS)), st.floats(0, 1))
def test_files_cut_short(name, share):
    data = SEEDS[name]
    survives(data[: int(share * len(data))])


def survives(data: bytes) -> None:
    """Readings with columns of one length, or a refusal that says what to do."""
    start = time.perf_counter()
    tracemalloc.start()
    refused: UnreadableFile | None = None
    try:
        found = read_measurements(data, file="x")
        assert isinstance(found, FileReadings)
        assert found.tables
        for table in found.tables:
            arrays = (
                table.lines,
                table.device,
                table.reflectance,
                table.xyz,
                table.lab,
                *table.densities.values(),
            )
            assert {len(table.ids), len(table.names), *(len(a) for a in arrays if a is not None)} == {
                len(table)
            }
            assert table.lab is None or np.isfinite(table.lab[~np.isnan(table.lab)]).all()
    except UnreadableFile as refusal:
        refused = refusal
    finally:
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert refused is None or (refused.what and refused.todo)
    assert time.perf_counter() - start < 5.0
    assert peak < 32 * 1024 * 1024
