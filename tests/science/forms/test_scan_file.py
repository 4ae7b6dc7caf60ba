"""Scans in TIFF files: windows of them are what was written, and what cannot be read is refused in words."""

import io
import struct
import zlib

import numpy as np
import pytest
import tifffile
from PIL import Image

from laydown.kernel.errors import BadSetting, UnreadableFile
from laydown.science.forms.scan_file import TiffScan

RNG = np.random.default_rng(5)
GREY = RNG.integers(0, 256, (333, 271)).astype(np.uint8)
COLOUR = RNG.integers(0, 65536, (333, 271, 3)).astype(np.uint16)
WINDOWS = [
    (slice(0, 333), slice(0, 271)),
    (slice(100, 140), slice(0, 271)),
    (slice(17, 200), slice(33, 90)),
    (slice(330, 333), slice(270, 271)),
]


def in_a_file(pixels, **options):
    file = io.BytesIO()
    tifffile.imwrite(file, pixels, **options)
    file.seek(0)
    return file


@pytest.mark.parametrize("pixels", [GREY, COLOUR, (GREY / 255.0).astype(np.float32)])
@pytest.mark.parametrize(
    "options",
    [
        {},
        {"rowsperstrip": 7},
        {"byteorder": ">"},
        {"bigtiff": True},
        {"compression": "zlib", "rowsperstrip": 16},
        {"compression": "zlib", "tile": (64, 48)},
        {"tile": (64, 48)},
    ],
    ids=["plain", "strips", "big end first", "large", "packed strips", "packed tiles", "tiles"],
)
def test_windows_are_what_was_written(pixels, options):
    told = {"photometric": "rgb"} if pixels.ndim == 3 else {"photometric": "minisblack"}
    scan = TiffScan(in_a_file(pixels, **told, **options))
    assert scan.shape == pixels.shape
    assert scan.dtype == pixels.dtype
    for window in WINDOWS:
        np.testing.assert_array_equal(scan[window], pixels[window])


def test_another_library_writes_files_that_are_read():
    file = io.BytesIO()
    Image.fromarray(GREY).save(file, "TIFF", dpi=(600, 600))
    scan = TiffScan(file)
    np.testing.assert_array_equal(scan[WINDOWS[2]], GREY[WINDOWS[2]])
    assert scan.ppi == pytest.approx(600.0)


def test_the_resolution_is_the_one_the_file_says():
    def ppi(*resolution, unit="inch"):
        return TiffScan(in_a_file(GREY, resolution=resolution, resolutionunit=unit)).ppi

    assert ppi(300.0, 300.0) == pytest.approx(300.0)
    assert ppi(100.0, 100.0, unit="centimeter") == pytest.approx(254.0)
    assert ppi(300.0, 600.0) is None
    assert ppi(1.0, 1.0, unit="none") is None


def test_white_may_be_zero_and_opacity_is_left_out():
    negative = TiffScan(in_a_file(255 - GREY, photometric="miniswhite"))
    np.testing.assert_array_equal(negative[WINDOWS[1]], GREY[WINDOWS[1]])
    with_opacity = np.dstack([COLOUR, np.full(GREY.shape, 9, np.uint16)])
    scan = TiffScan(in_a_file(with_opacity, photometric="rgb", extrasamples=["unassalpha"]))
    assert scan.shape == COLOUR.shape
    np.testing.assert_array_equal(scan[WINDOWS[2]], COLOUR[WINDOWS[2]])


def test_what_is_no_scan_is_refused_in_words():
    def refused(file, words):
        with pytest.raises(UnreadableFile, match=words):
            TiffScan(file)

    refused(io.BytesIO(b"not a picture at all"), "no TIFF file")
    refused(in_a_file(GREY > 100), "bits for each value")
    refused(in_a_file(np.dstack([GREY] * 4), photometric="separated"), "inks or a palette")
    refused(
        in_a_file(COLOUR.transpose(2, 0, 1), photometric="rgb", planarconfig="separate"), "one after another"
    )
    refused(in_a_file(np.stack([GREY, GREY]), photometric="minisblack"), "holds 2 pictures")
    packed = io.BytesIO()
    Image.fromarray(GREY).save(packed, "TIFF", compression="tiff_lzw")
    refused(packed, "packed in a way|unpacked")


def test_a_preview_beside_the_scan_is_passed_over():
    file = io.BytesIO()
    with tifffile.TiffWriter(file) as writer:
        writer.write(GREY[::8, ::8], photometric="minisblack")
        writer.write(GREY, photometric="minisblack")
    np.testing.assert_array_equal(TiffScan(file)[WINDOWS[0]], GREY)


def test_a_damaged_file_says_so_once_it_is_read():
    cut = TiffScan(io.BytesIO(in_a_file(GREY).getvalue()[:-500]))
    with pytest.raises(UnreadableFile, match="before its last row"):
        cut[WINDOWS[0]]
    file = in_a_file(GREY, compression="zlib", rowsperstrip=16)
    content = bytearray(file.getvalue())
    with tifffile.TiffFile(file) as read:
        middle = read.pages[0].dataoffsets[3]
    content[middle : middle + 40] = b"\0" * 40
    with pytest.raises(UnreadableFile, match="cannot be unpacked"):
        TiffScan(io.BytesIO(bytes(content)))[WINDOWS[0]]
    with pytest.raises(BadSetting, match="whole windows"):
        TiffScan(in_a_file(GREY))[0:100:2, 0:100]


def test_a_part_that_would_fill_the_memory_is_refused():
    # 600 MB of nothing, packed to less than 3 MB, in a file that says 16 x 16 pixels (tags of TIFF 6.0).
    bomb = zlib.compress(bytes(600_000_000), 1)
    tags = [
        (256, 16), (257, 16), (258, 8), (259, 8), (262, 1), (273, 8), (277, 1), (278, 16), (279, len(bomb)),
    ]  # fmt: skip
    start = 8 + len(bomb) + len(bomb) % 2
    entries = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in tags)
    content = struct.pack("<2sHI", b"II", 42, start) + bomb.ljust(start - 8, b"\0")
    content += struct.pack("<H", len(tags)) + entries + bytes(4)
    with pytest.raises(UnreadableFile, match="larger than the file says"):
        TiffScan(io.BytesIO(content))[0:1, 0:1]
