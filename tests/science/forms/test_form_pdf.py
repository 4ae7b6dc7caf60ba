"""Pages as PDF: another program renders the pixels of the TIFF, at the same size, in device colours alone."""

import io
import re
import shutil
import subprocess

import numpy as np
import pikepdf
import pytest
from PIL import Image

from laydown.kernel.errors import BadSetting, TooLarge
from laydown.science.forms import pdf as pdf_module
from laydown.science.forms.drawing import Grid, draw_bands
from laydown.science.forms.lettering import text_outlines
from laydown.science.forms.markers import mark_element
from laydown.science.forms.page import Block, Box, Element, Page, Picture, Ramp, Shape, Wave
from laydown.science.forms.pdf import page_boxes, write_pdf

RGB, CMYK = ("R", "G", "B"), ("C", "M", "Y", "K")
needs_poppler = pytest.mark.skipif(
    not (shutil.which("pdftoppm") and shutil.which("pdfinfo")),
    reason="poppler's programs (Debian: poppler-utils) are not installed",
)


def everything(channels=RGB, *, width=90.0, height=70.0, seed=3):
    """A page with each kind of paint, none over another."""
    rng = np.random.default_rng(seed)
    n = len(channels)
    dark, light = ((0.0,) * n, (1.0,) * n)
    blocks = tuple(
        Block(
            Box(3.1 + 6.7 * i, 4.2 + 6.3 * j, 9.2 + 6.7 * i, 10.1 + 6.3 * j),
            tuple(float(one) for one in rng.uniform(size=n)),
        )
        for j in range(4)
        for i in range(6)
    )
    fields = (
        Ramp(Box(3.0, 32.0, 40.0, 38.0), dark, light),
        Wave(Box(3.0, 40.0, 40.0, 52.0), dark, light, coarse=0.3, fine=3.0, faintest=0.1),
        Picture(Box(3.0, 54.0, 22.0, 66.0), rng.uniform(size=(8, 11, n))),
    )
    words = text_outlines("Feed", left_mm=50.0, baseline_mm=40.0, size_pt=24.0)
    mark = mark_element(7, left_mm=60.0, top_mm=5.0, size_mm=16.0, dark=dark if n == 3 else (0, 0, 0, 1))
    return Page(
        "everything",
        width,
        height,
        channels,
        (
            Element("patches", "p", Box(3.0, 4.0, 46.0, 30.0), blocks),
            Element("fields", "f", Box(3.0, 32.0, 40.0, 66.0), fields),
            Element("words", "w", Box(50.0, 30.0, 85.0, 42.0), (Shape(words, dark),)),
            mark,
        ),
    )


def written(*pages, **options):
    file = io.BytesIO()
    write_pdf(pages, file, **({"ppi": 300.0} | options))
    return file.getvalue()


def drawn(page, *, ppi=300.0):
    return np.concatenate(list(draw_bands(page, ppi=ppi)))


def rendered(content, folder, *, ppi, shape):
    (folder / "page.pdf").write_bytes(content)
    command = ["pdftoppm", "-r", str(ppi), "-png", "-singlefile", folder / "page.pdf", folder / "page"]
    subprocess.run(command, check=True, timeout=120, capture_output=True)
    with Image.open(folder / "page.png") as picture:
        pixels = np.asarray(picture.convert("RGB"))
    # Where the size in points is not a round number, the program adds a row or column that holds nothing.
    assert all(0 <= got - asked <= 1 for got, asked in zip(pixels.shape[:2], shape))
    return pixels[: shape[0], : shape[1]]


def said(content, folder):
    (folder / "page.pdf").write_bytes(content)
    told = subprocess.run(
        ["pdfinfo", "-box", folder / "page.pdf"], check=True, timeout=60, capture_output=True, text=True
    ).stdout
    boxes = {
        name: tuple(map(float, numbers.split()))
        for name, numbers in re.findall(r"^(\w+Box):\s+([\d. -]+)$", told, flags=re.MULTILINE)
    }
    return told, boxes


@needs_poppler
@pytest.mark.parametrize("ppi", [300, 360, 600, 720])
def test_rendered_patches_have_exactly_their_device_values(tmp_path, ppi):
    page = everything()
    wanted = drawn(page, ppi=ppi)
    pixels = rendered(written(page, ppi=ppi), tmp_path, ppi=ppi, shape=wanted.shape[:2])
    for block in page.elements[0].paints:
        top, bottom, left, right = Grid(ppi).window(block.box)
        assert (pixels[top:bottom, left:right] == wanted[top, left]).all()
        # and not a pixel more
        ring = pixels[top - 1 : bottom + 1, left - 1 : right + 1].copy()
        ring[1:-1, 1:-1] = 255
        assert (ring == 255).all()


@needs_poppler
@pytest.mark.parametrize("ppi", [300, 720])
def test_fields_are_the_pixels_of_the_tiff(tmp_path, ppi):
    page = everything()
    wanted = drawn(page, ppi=ppi)
    pixels = rendered(written(page, ppi=ppi), tmp_path, ppi=ppi, shape=wanted.shape[:2])
    for field in page.elements[1].paints:
        top, bottom, left, right = Grid(ppi).window(field.box)
        np.testing.assert_array_equal(pixels[top:bottom, left:right], wanted[top:bottom, left:right])


@needs_poppler
def test_outlines_hold_their_holes_and_lie_in_their_place(tmp_path):
    page = everything()
    wanted = drawn(page)
    pixels = rendered(written(page), tmp_path, ppi=300, shape=wanted.shape[:2])
    for element in page.elements[2:]:
        top, bottom, left, right = Grid(300).window(element.box)
        ours = 255.0 - wanted[top:bottom, left:right, 1]
        theirs = 255.0 - pixels[top:bottom, left:right, 1]
        # Only along outlines does another renderer share pixels out differently.
        assert theirs.sum() == pytest.approx(ours.sum(), rel=0.02)
        assert np.mean(np.abs(ours - theirs) > 64.0) < 0.01


@needs_poppler
@pytest.mark.parametrize("ppi", [300, 360, 720])
def test_a_mark_lies_where_it_does_in_the_tiff(tmp_path, ppi):
    page = everything()
    wanted = drawn(page, ppi=ppi)
    pixels = rendered(written(page, ppi=ppi), tmp_path, ppi=ppi, shape=wanted.shape[:2])
    top, bottom, left, right = Grid(ppi).window(page.elements[3].box)
    middles = []
    for picture in (wanted, pixels):
        ink = 255.0 - picture[top:bottom, left:right, 1]
        rows, columns = np.indices(ink.shape)
        middles.append(np.array([np.sum(columns * ink), np.sum(rows * ink)]) / ink.sum() * 25.4 / ppi)
    # The trial's own demand is 0.1 mm; the centre of a mark is found far better.
    assert np.hypot(*(middles[1] - middles[0])) < 0.03


@needs_poppler
@pytest.mark.parametrize(("width", "height"), [(431.8, 558.8), (609.6, 914.4), (1625.6, 120.3)])
def test_the_size_is_right_to_a_tenth_of_a_mm(tmp_path, width, height):
    page = Page("size", width, height, RGB, ())
    told, _ = said(written(page, ppi=360), tmp_path)
    points = [float(one) for one in re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", told).groups()]
    assert [one / 72 * 25.4 for one in points] == pytest.approx([width, height], abs=0.1)


@needs_poppler
def test_another_program_reads_the_boxes_that_were_asked_for(tmp_path):
    page = Page("boxes", 200.0, 300.0, RGB, ())
    content = written(page, trim=Box(10.0, 20.0, 190.0, 270.0), bleed_mm=3.0)
    _, boxes = said(content, tmp_path)
    mm = 72 / 25.4  # points; from the bottom left corner
    assert boxes["MediaBox"] == pytest.approx((0, 0, 200 * mm, 300 * mm), abs=0.15)
    assert boxes["TrimBox"] == pytest.approx((10 * mm, 30 * mm, 190 * mm, 280 * mm), abs=0.02)
    assert boxes["BleedBox"] == pytest.approx((7 * mm, 27 * mm, 193 * mm, 283 * mm), abs=0.02)


def test_bleed_ends_with_the_page():
    page = Page("boxes", 200.0, 300.0, RGB, ())
    boxes = page_boxes(page, ppi=300, trim=Box(1.0, 1.0, 199.0, 299.0), bleed_mm=3.0)
    assert boxes.bleed == boxes.media
    assert boxes.unit == 1
    plain = page_boxes(page, ppi=300)
    assert plain.trim == plain.bleed == plain.media


def test_a_page_beyond_14400_points_has_a_larger_unit():
    # 14 400 points are 200 in
    long = Page(
        "long",
        610.0,
        8000.0,
        RGB,
        (Element("b", "1", Box(0, 0, 9, 9), (Block(Box(0, 0, 9, 9), (0, 0, 0)),)),),
    )
    with pikepdf.open(io.BytesIO(written(long))) as pdf:
        page = pdf.pages[0].obj
        assert page.UserUnit == 2
        sides = [float(one) * 2 / 72 * 25.4 for one in page.MediaBox][2:]
        assert sides == pytest.approx([610.0, 8000.0], abs=0.1)
        content = page.Contents.read_bytes().decode()
        # the patch of 106 pixels is drawn in the same pixels, each 0.24 pt or 0.12 units of 2/72 in
        assert content.startswith("0.12 0 0 -0.12 0 ")
        assert "0 0 106 106 re f" in content
    with pikepdf.open(io.BytesIO(written(Page("200 in", 610.0, 200 * 25.4, RGB, ())))) as pdf:
        assert "/UserUnit" not in pdf.pages[0].obj


@pytest.mark.parametrize(
    ("channels", "space", "operator"), [(RGB, "/DeviceRGB", "rg"), (CMYK, "/DeviceCMYK", "k")]
)
def test_no_colour_space_but_the_device_occurs(channels, space, operator):
    page = everything(channels)
    spaces, operators = set(), set()
    with pikepdf.open(io.BytesIO(written(page))) as pdf:
        assert "/OutputIntents" not in pdf.Root
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
                assert "/N" not in thing  # a profile's number of channels
                assert "/Interpolate" not in thing
                assert "/DefaultRGB" not in thing
                assert "/DefaultCMYK" not in thing
                assert "/SMask" not in thing
                if "/ColorSpace" in thing:
                    spaces.add(str(thing.ColorSpace))
        for _, found in pikepdf.parse_content_stream(pdf.pages[0]):
            operators.add(str(found))
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
    assert spaces == {space}
    assert operators == {"cm", "re", "f", "m", "l", "h", "q", "Q", "Do", operator}


def test_patches_of_four_inks_hold_their_values_and_places():
    page = everything(CMYK)
    colour, found = None, {}
    with pikepdf.open(io.BytesIO(written(page))) as pdf:
        for values, operator in pikepdf.parse_content_stream(pdf.pages[0]):
            if str(operator) == "k":
                colour = tuple(float(one) for one in values)
            if str(operator) == "re":
                found[tuple(int(one) for one in values)] = colour
    assert len(found) == 24
    for block in page.elements[0].paints:
        top, bottom, left, right = Grid(300).window(block.box)
        codes = np.round(np.array(block.colour) * 255)
        np.testing.assert_allclose(
            np.array(found[left, top, right - left, bottom - top]) * 255, codes, atol=2e-4
        )


@pytest.mark.parametrize("bits", [8, 16])
def test_images_hold_the_pixels_of_the_page(bits):
    page = everything(CMYK)
    whole = np.concatenate(list(draw_bands(page, ppi=300, bits=bits)))
    kind = np.dtype(np.uint8 if bits == 8 else ">u2")
    with pikepdf.open(io.BytesIO(written(page, bits=bits))) as pdf:
        images = pdf.pages[0].obj.Resources.XObject
        for number, field in enumerate(page.elements[1].paints):
            image = images[f"/P{number}"]
            assert image.BitsPerComponent == bits
            assert image.Filter == "/FlateDecode"
            pixels = np.frombuffer(image.read_bytes(), dtype=kind).reshape(image.Height, image.Width, 4)
            top, bottom, left, right = Grid(300).window(field.box)
            np.testing.assert_array_equal(pixels, whole[top:bottom, left:right])


def test_pages_come_in_their_order_and_the_same_bytes_come_twice():
    pages = [everything(), everything(CMYK, width=100.0)]
    content = written(*pages, title="Form 12", words="Print without colour management")
    assert content == written(*pages, title="Form 12", words="Print without colour management")
    with pikepdf.open(io.BytesIO(content)) as pdf:
        widths = [float(page.obj.MediaBox[2]) / 72 * 25.4 for page in pdf.pages]
        assert widths == pytest.approx([90.0, 100.0], abs=0.1)
        assert str(pdf.docinfo["/Title"]) == "Form 12"
        assert str(pdf.docinfo["/Subject"]) == "Print without colour management"


def test_more_inks_than_four_are_refused():
    page = Page("six inks", 100.0, 100.0, ("C", "M", "Y", "K", "Orange", "Violet"), ())
    with pytest.raises(BadSetting, match=r"six inks has the channels C, M, Y, K, Orange, Violet.*as TIFF"):
        written(page)


def test_a_cut_beyond_the_page_and_no_page_at_all_are_refused():
    with pytest.raises(BadSetting, match="lies beyond its edge"):
        written(everything(), trim=Box(-1.0, 0.0, 50.0, 50.0))
    with pytest.raises(BadSetting, match="no page"):
        written()
    with pytest.raises(BadSetting, match="12 bits"):
        written(everything(), bits=12)


def test_pictures_that_would_fill_the_memory_are_refused(monkeypatch):
    monkeypatch.setattr(pdf_module, "MOST_PACKED_BYTES", 1000)
    with pytest.raises(TooLarge, match="as TIFF"):
        written(everything())
