"""A page as it is handed to a printer: what programs that know nothing of forms read from it."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from laydown.kernel.errors import BadSetting
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import PageGeometry
from laydown.science.forms.page import MM_PER_INCH, Box
from laydown.usecases.forms.composed import composed, geometry_of, page_of
from laydown.usecases.forms.draw_page import DrawOptions, draw_page
from laydown.usecases.forms.preview_page import preview_page

needs_poppler = pytest.mark.skipif(
    not (shutil.which("pdftoppm") and shutil.which("pdfinfo")),
    reason="poppler's programs (Debian: poppler-utils) are not installed",
)
WISH = FormWish(code="F7K2", width_mm=17.0 * MM_PER_INCH, ppi=360, scenes=("sky",))
_NEAR_MM = 0.1


@pytest.fixture(scope="module")
def geometry() -> PageGeometry:
    form = composed(WISH)
    return geometry_of(form, page_of(form, "D1"))


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page as TIFF and as PDF."""
    folder = tmp_path_factory.mktemp("drawn")
    one = page_of(composed(WISH), "D1")
    for kind in ("tiff", "pdf"):
        with (folder / f"d1.{kind}").open("wb") as into:
            draw_page(one, WISH, into, options=DrawOptions(kind=kind))
    return folder


def window(box: Box) -> tuple[slice, slice]:
    left, top, right, bottom = (
        round(one * WISH.ppi / MM_PER_INCH) for one in (box.left_mm, box.top_mm, box.right_mm, box.bottom_mm)
    )
    return slice(top, bottom), slice(left, right)


def test_pillow_and_tifffile_read_the_size_to_a_tenth_of_a_millimetre(drawn, geometry):
    with Image.open(drawn / "d1.tiff") as image:
        across, down = image.info["dpi"]
        size = (image.size[0] / float(across) * MM_PER_INCH, image.size[1] / float(down) * MM_PER_INCH)
        assert "icc_profile" not in image.info
    assert size == pytest.approx((17.0 * MM_PER_INCH, geometry.height_mm), abs=_NEAR_MM)
    with tifffile.TiffFile(drawn / "d1.tiff") as file:
        page = file.pages.first
        assert page.tags["ResolutionUnit"].value == 2  # inch, TIFF 6.0
        assert page.tags["XResolution"].value == page.tags["YResolution"].value == (360, 1)
        assert page.shape == (round(geometry.height_mm * 360 / MM_PER_INCH), 6120, 3)


def test_every_patch_holds_its_device_value_in_every_pixel(drawn, geometry):
    pixels = tifffile.imread(drawn / "d1.tiff")
    assert len(geometry.patches) == 400
    for patch in geometry.patches:
        told = np.round(np.array(patch.device) * 255.0)
        assert (pixels[window(patch.box)] == told).all(), patch.name


def test_a_patch_ends_where_the_geometry_says(drawn, geometry):
    """A pixel beyond a border lies outside: a spacer, a neighbour or bare paper in most places."""
    pixels = tifffile.imread(drawn / "d1.tiff")
    ended = 0
    for patch in geometry.patches:
        rows, columns = window(patch.box)
        inside = pixels[rows.start, columns.start]
        beyond = [pixels[rows.start - 1, columns.start], pixels[rows.stop, columns.start]]
        ended += any((one != inside).any() for one in beyond)
    bare = sum(patch.device == (1.0, 1.0, 1.0) for patch in geometry.patches)
    assert ended == len(geometry.patches) - bare


def test_sixteen_bits_hold_the_same_values(geometry):
    one, into = page_of(composed(WISH), "D1"), BytesIO()
    draw_page(one, WISH, into, options=DrawOptions(bits=16, packing="none"))
    into.seek(0)
    pixels = tifffile.imread(into)
    assert pixels.dtype == np.uint16
    for patch in geometry.patches[::7]:
        told = np.round(np.array(patch.device) * 65535.0)
        assert (pixels[window(patch.box)] == told).all(), patch.name


@needs_poppler
def test_poppler_shows_the_same_page(drawn, geometry):
    """``pdfinfo`` and ``pdftoppm`` of poppler, which the checks install."""
    said = subprocess.run(["pdfinfo", drawn / "d1.pdf"], check=True, capture_output=True, text=True).stdout
    size = next(line for line in said.splitlines() if line.startswith("Page size:")).split()
    assert (float(size[2]) / 72.0 * MM_PER_INCH, float(size[4]) / 72.0 * MM_PER_INCH) == pytest.approx(
        (geometry.width_mm, geometry.height_mm), abs=_NEAR_MM
    )
    shown = drawn / "shown"
    subprocess.run(
        ["pdftoppm", "-r", "180", "-png", drawn / "d1.pdf", shown], check=True, capture_output=True
    )
    with Image.open(next(drawn.glob("shown*.png"))) as image:
        pixels = np.asarray(image)
    assert pixels.shape[1] / 180 * MM_PER_INCH == pytest.approx(geometry.width_mm, abs=0.2)
    wrong = []
    for patch in geometry.patches:
        x, y = (int(one * 180 / MM_PER_INCH) for one in patch.box.middle_mm)
        if not np.array_equal(pixels[y, x], np.round(np.array(patch.device) * 255.0)):
            wrong.append(patch.name)
    assert not wrong


def test_pictures_carry_their_profile_and_device_pages_never_one():
    form = composed(WISH)
    for name, wanted in (("P1", True), ("D1", False)):
        into = BytesIO()
        draw_page(page_of(form, name), WISH, into, options=DrawOptions())
        into.seek(0)
        with Image.open(into) as image:
            assert ("icc_profile" in image.info) is wanted
    into = BytesIO()
    draw_page(page_of(form, "P1"), WISH, into, options=DrawOptions(profile=False))
    into.seek(0)
    with Image.open(into) as image:
        assert "icc_profile" not in image.info


def test_an_unknown_kind_is_refused():
    one = page_of(composed(WISH), "D1")
    with pytest.raises(BadSetting, match="cannot be drawn"):
        draw_page(one, WISH, BytesIO(), options=replace(DrawOptions(), kind="gif"))


@pytest.mark.parametrize("channels", [("R", "G", "B"), ("C", "M", "Y", "K"), ("C", "M", "Y", "K", "O", "V")])
def test_a_preview_shows_bare_paper_white(channels):
    wish = replace(WISH, channels=channels, patches=120)
    with Image.open(BytesIO(preview_page(wish, "D1", width_px=300))) as image:
        assert image.size[0] == 300
        assert image.getpixel((image.size[0] // 2, 1)) == (255, 255, 255)
