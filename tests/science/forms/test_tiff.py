"""TIFF files of pages: two libraries read what was drawn, at the right size and with the right tags."""

import io
import tracemalloc

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from laydown.kernel.errors import BadSetting
from laydown.science.forms import tiff
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.page import Block, Box, Element, Page, Ramp, Shape
from laydown.science.forms.tiff import needs_large_offsets, write_tiff

RGB, CMYK = ("R", "G", "B"), ("C", "M", "Y", "K")
SIX_INKS = ("C", "M", "Y", "K", "Orange", "Violet")


def page_in(channels, *, width=47.3, height=31.9):
    n = len(channels)
    values = tuple(0.1 + 0.8 * i / n for i in range(n))
    triangle = np.array([(20.0, 3.0), (44.0, 9.0), (25.0, 28.0)])
    return Page(
        "tiff page",
        width,
        height,
        channels,
        (
            Element("patch", "A1", Box(1, 1, 9, 9), (Block(Box(1, 1, 9, 9), values),)),
            Element("ramp", "r", Box(1, 10, 18, 30), (Ramp(Box(1, 10, 18, 30), (0.0,) * n, (1.0,) * n),)),
            Element("edge", "e", Box(20, 3, 44, 28), (Shape((triangle,), values[::-1]),)),
        ),
    )


def written(page, **options):
    file = io.BytesIO()
    write_tiff(page, file, **({"ppi": 300.0} | options))
    return file.getvalue()


def drawn(page, *, ppi=300.0, bits=8):
    return np.concatenate(list(draw_bands(page, ppi=ppi, bits=bits)))


@pytest.mark.parametrize("channels", [RGB, CMYK, SIX_INKS])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("packing", ["none", "deflate"])
def test_one_library_reads_every_pixel_that_was_drawn(channels, bits, packing):
    page = page_in(channels)
    content = written(page, bits=bits, packing=packing)
    with tifffile.TiffFile(io.BytesIO(content)) as file:
        assert len(file.pages) == 1
        np.testing.assert_array_equal(file.asarray(), drawn(page, bits=bits))
        tags = file.pages[0].tags
        assert tags["BitsPerSample"].value == (bits,) * len(channels)
        # TIFF 6.0: photometric 2 is RGB, 5 is separated; compression 1 is none, 8 deflate
        assert tags["PhotometricInterpretation"].value == (2 if channels == RGB else 5)
        assert tags["Compression"].value == (1 if packing == "none" else 8)
        assert tags["PlanarConfiguration"].value == 1
        assert "InterColorProfile" not in tags
        assert "ExtraSamples" not in tags  # neither opacity nor something unknown: inks


@pytest.mark.parametrize("channels", [RGB, CMYK])
@pytest.mark.parametrize("packing", ["none", "deflate"])
def test_another_library_reads_the_same(channels, packing):
    page = page_in(channels)
    with Image.open(io.BytesIO(written(page, packing=packing))) as picture:
        assert picture.mode == "".join(channels)
        np.testing.assert_array_equal(np.asarray(picture), drawn(page))


@pytest.mark.parametrize("ppi", [300.0, 360.0, 600.0, 720.0])
def test_the_printed_size_is_right_to_a_tenth_of_a_mm(ppi):
    page = page_in(RGB, width=431.8, height=55.37)
    with Image.open(io.BytesIO(written(page, ppi=ppi))) as picture:
        assert picture.info["dpi"] == (ppi, ppi)
        size_mm = [pixels / dots * 25.4 for pixels, dots in zip(picture.size, picture.info["dpi"])]
    assert size_mm == pytest.approx([431.8, 55.37], abs=0.1)


def test_inks_beyond_four_are_named_as_the_specification_says():
    with tifffile.TiffFile(io.BytesIO(written(page_in(SIX_INKS)))) as file:
        tags = file.pages[0].tags
        # TIFF 6.0, section 16: InkSet 2 is not CMYK; names end with a NUL each; NumberOfInks
        assert tags[332].value == 2
        assert tags[334].value == 6
        names = tags[333].value
        assert (names if isinstance(names, str) else names.decode()).rstrip("\0").split("\0") == list(
            SIX_INKS
        )


def test_a_profile_comes_back_byte_by_byte():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    with Image.open(io.BytesIO(written(page_in(RGB), profile=profile))) as picture:
        assert picture.info["icc_profile"] == profile
    with Image.open(io.BytesIO(written(page_in(RGB)))) as picture:
        assert "icc_profile" not in picture.info


def test_its_words_stand_in_the_description():
    with tifffile.TiffFile(
        io.BytesIO(written(page_in(RGB), words="Print without colour management"))
    ) as file:
        assert file.pages[0].description == "Print without colour management"


def test_the_same_page_gives_the_same_bytes():
    assert written(page_in(CMYK)) == written(page_in(CMYK))


def test_other_depths_are_refused():
    with pytest.raises(BadSetting, match="12 bits"):
        written(page_in(RGB), bits=12)


def test_above_four_gigabytes_offsets_are_large():
    # 64 x 100 in at 720 ppi, 16 bits RGB: 46 080 x 72 000 x 6 bytes = 19.9 GB
    large = Page("large", 64 * 25.4, 100 * 25.4, RGB, ())
    assert needs_large_offsets(large, ppi=720, bits=16)
    # 24 x 36 in at 360 ppi, 8 bits: 8640 x 12 960 x 3 bytes = 0.34 GB
    assert not needs_large_offsets(Page("usual", 24 * 25.4, 36 * 25.4, RGB, ()), ppi=360, bits=8)
    # just above and just below 2^32 bytes: 64 in at 720 ppi, 16 bits RGB are 276 480 bytes a row
    rows = 2**32 // 276_480
    for count, wanted in ((rows + 1, True), (rows - 200, False)):
        page = Page("edge", 64 * 25.4, count * 25.4 / 720, RGB, ())
        assert needs_large_offsets(page, ppi=720, bits=16) is wanted


def test_the_decision_is_heeded(monkeypatch):
    assert written(page_in(RGB))[2] == 42  # TIFF 6.0
    monkeypatch.setattr(tiff, "_LARGEST_CLASSIC", 1000)
    content = written(page_in(RGB))
    assert content[2] == 43  # the large variety
    with tifffile.TiffFile(io.BytesIO(content)) as file:
        np.testing.assert_array_equal(file.asarray(), drawn(page_in(RGB)))


class Nowhere(io.RawIOBase):
    """Keeps nothing but where it is, so that the file itself does not count as memory."""

    def __init__(self):
        self.place = self.end = 0

    def writable(self):
        return True

    def seekable(self):
        return True

    def write(self, content):
        self.place += len(content)
        self.end = max(self.end, self.place)
        return len(content)

    def seek(self, to, whence=0):
        self.place = to + (0, self.place, self.end)[whence]
        return self.place

    def tell(self):
        return self.place


@pytest.mark.parametrize("packing", ["none", "deflate"])
def test_memory_does_not_grow_with_the_length_of_a_64_inch_page(packing):
    most = []
    for height in (10.0, 60.0):
        page = Page("wide", 64 * 25.4, height, RGB, page_in(RGB).elements[:1])
        tracemalloc.start()
        try:
            write_tiff(page, Nowhere(), ppi=720, packing=packing)
            most.append(tracemalloc.get_traced_memory()[1])
        finally:
            tracemalloc.stop()
    assert most[1] < 1.1 * most[0] + 1e6
    assert most[1] < 100e6
