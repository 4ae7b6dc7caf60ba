"""Feed the readers broken files for as long as asked: ``python tools/fuzz_readers.py --seconds 600 cgats``.

Coverage-guided, so each run goes on from what the last one found (``--corpus``). A reader may return readings
or raise ``UnreadableFile``; anything else, or more than a few seconds or megabytes, stops the run and leaves
the input in a ``crash-`` file. Needs ``atheris`` (Linux and macOS); not part of the tests, which fuzz briefly
with hypothesis.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import warnings
import zlib
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["laydown.science.readings"]):
    from laydown.kernel.errors import UnreadableFile
    from laydown.science.readings import FileReadings, read_measurements

CGATS = b"""CGATS.17
INSTRUMENTATION "spectrophotometer, 45:0, D50, 2 degree, white backing"
MEASUREMENT_SOURCE\t"MeasurementCondition=M1\tFilter=no"
NUMBER_OF_FIELDS\t10
BEGIN_DATA_FORMAT
SAMPLE_ID\tRGB_R\tRGB_G\tRGB_B\tLAB_L\tLAB_A\tLAB_B\tSPECTRAL_NM400\tSPECTRAL_NM410\tSPECTRAL_NM420
END_DATA_FORMAT
NUMBER_OF_SETS\t3
BEGIN_DATA
1\t255\t255\t255\t96.2\t1.0\t-4.4\t0.9\t0.91\t0.92
"A 2"\t0\t0\t0\t15,1\t0,5\t-1.2e0\t0.0180\t0.0190\t0.0201
3\t0\t128\t255\t50.1\t-10.5\t-40.25\t0.3012\t0.3123\t0.3234 # comment
END_DATA
"""
TABLE = b"""Instrument: spectrophotometer 45:0
id;R;G;B;L*;a*;b*;380;390;400
1;255;255;255;96,2;1,0;-4,4;0,9;0,91;0,92
2;0;0;0;15,1;0,5;-1,2;0,018;0,019;0,02
"""
CXF = b"""<?xml version="1.0"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources><cc:ObjectCollection>
<cc:Object ObjectType="Target" Name="1" Id="t1"><cc:DeviceColorValues><cc:ColorRGB>
<cc:R>255</cc:R><cc:G>0</cc:G><cc:B>9</cc:B></cc:ColorRGB></cc:DeviceColorValues></cc:Object>
<cc:Object ObjectType="M1_Measurement" Name="1" Id="m1"><cc:ColorValues>
<cc:ReflectanceSpectrum ColorSpecification="s" StartWL="400">0.1 0.2 0.3</cc:ReflectanceSpectrum>
<cc:ColorCIELab ColorSpecification="s"><cc:L>50</cc:L><cc:A>1</cc:A><cc:B>2</cc:B></cc:ColorCIELab>
</cc:ColorValues><cc:TagCollection><cc:Tag Name="Row" Value="1"/><cc:Tag Name="Column" Value="2"/>
</cc:TagCollection></cc:Object></cc:ObjectCollection><cc:ColorSpecificationCollection>
<cc:ColorSpecification Id="s"><cc:MeasurementSpec><cc:WavelengthRange StartWL="400" Increment="10"/>
<cc:Device><cc:DeviceIllumination>M1_Daylight</cc:DeviceIllumination></cc:Device></cc:MeasurementSpec>
</cc:ColorSpecification></cc:ColorSpecificationCollection></cc:Resources></cc:CxF>"""


def profile(tags: list[tuple[bytes, bytes]]) -> bytes:
    """An ICC profile that holds only a header and the given tags."""
    head = bytearray(128)
    head[36:40] = b"acsp"
    table = len(tags).to_bytes(4, "big")
    offset = 128 + 4 + 12 * len(tags)
    body = b""
    for name, content in tags:
        table += name + (offset + len(body)).to_bytes(4, "big") + len(content).to_bytes(4, "big")
        body += content
    return bytes(head) + table + body


ICC = profile([(b"targ", b"text\0\0\0\0" + CGATS + b"\0"), (b"CxF ", b"ZXML\0\0\0\0" + zlib.compress(CXF))])
SEEDS = {
    "cgats": [CGATS, CGATS.replace(b"\n", b"\r\n"), CGATS.decode().encode("utf-16")],
    "cxf": [CXF],
    "table": [TABLE, TABLE.replace(b";", b"\t"), TABLE.replace(b",", b".").replace(b";", b",")],
    "icc": [ICC],
}
WORDS = {
    "cgats": b"BEGIN_DATA\n|END_DATA\n|BEGIN_DATA_FORMAT\n|END_DATA_FORMAT\n|SPECTRAL_NM\tSPECTRAL_DEC"
    b"|NUMBER_OF_SETS 999999999|CMYK_C CMYK_M CMYK_Y CMYK_K|6CLR_1|D_RED|XYZ_X\tXYZ_Y\tXYZ_Z".split(b"|"),
    "cxf": b'<cc:ColorCMYKPlusN>|Increment="1e308"|StartWL="-1"|<!DOCTYPE x>|nan inf|<cc:ColorDensity>'.split(
        b"|"
    ),
    "table": b'380;390;400|nm380|L\ta\tb|1e400|""|D_VIS|#'.split(b"|"),
    "icc": [b"targ", b"CxF ", b"\xff\xff\xff\xff", b"\x78\x9c"],
}


def read(data: bytes) -> None:
    """One execution."""
    try:
        found = read_measurements(data, file="fuzz", max_bytes=1 << 22)
    except UnreadableFile:
        return
    if not isinstance(found, FileReadings) or not found.tables:
        message = "neither readings nor a refusal"
        raise AssertionError(message)
    for table in found.tables:
        sizes = {len(table.ids), len(table.names), len(table.lines)}
        for values in (table.device, table.reflectance, table.xyz, table.lab, *table.densities.values()):
            if values is not None:
                sizes.add(len(values))
        if len(sizes) != 1:
            message = f"columns of different lengths: {sizes}"
            raise AssertionError(message)


def mutator(words: list[bytes], repack: bool) -> object:
    """Mix the engine's own mutations with words of the format; unpack a profile's compressed tag first."""

    def mutate(data: bytes, max_size: int, seed: int) -> bytes:
        rng = random.Random(seed)
        if rng.random() < 0.3 and len(data) > 1:
            at = rng.randrange(len(data))
            data = data[:at] + rng.choice(words) + data[at + rng.randrange(8) :]
        if repack and rng.random() < 0.4:
            inner = atheris.Mutate(CXF if rng.random() < 0.5 else CGATS, min(max_size, 8192))
            name = rng.choice([b"targ", b"CxF "])
            packed = zlib.compress(inner) if name == b"CxF " else inner
            return profile([(name, b"text\0\0\0\0" + packed)])[:max_size]
        return atheris.Mutate(data, min(max_size, len(data) + 256))[:max_size]

    return mutate


def main() -> None:
    """Parse options and fuzz."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("reader", choices=sorted(SEEDS))
    parser.add_argument("--seconds", type=int, default=600)
    parser.add_argument("--corpus", type=Path, help="folder that keeps what was found; default: forgotten")
    options = parser.parse_args()
    warnings.simplefilter("error")
    corpus = options.corpus or Path(tempfile.mkdtemp(prefix="laydown-fuzz-"))
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(SEEDS[options.reader]):
        (corpus / f"seed-{number}").write_bytes(seed)
    limits = [f"-max_total_time={options.seconds}", "-max_len=16384", "-timeout=5", "-rss_limit_mb=2048"]
    mutate = mutator(WORDS[options.reader], repack=options.reader == "icc")
    atheris.Setup([sys.argv[0], *limits, "-print_final_stats=1", str(corpus)], read, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
