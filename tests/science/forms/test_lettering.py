"""Text as outlines, against the imaging library's own drawing of the same typeface."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from laydown.kernel.errors import BadSetting
from laydown.science.forms.coverage import Sides
from laydown.science.forms.lettering import MM_PER_POINT, text_outlines, text_width_mm

PIXELS = 300  # to the size of the type: so large that the library's hinting moves little
SIZE_PT = 72.0
MM = 25.4 / PIXELS  # 72 points are an inch
SHAPE = (15 * PIXELS, 2 * PIXELS)
TEXTS = ["Handgloves 0123456789", "feed direction: top, 12 pt", "QWERTY &@()!?-+"]


def the_typeface(*, pixels):
    # Its layout without kerning, as ours is.
    content = BytesIO(ImageFont.load_default(size=pixels).font_bytes)
    return ImageFont.truetype(content, pixels, layout_engine=ImageFont.Layout.BASIC)


def drawn_by_the_library(text):
    plain = the_typeface(pixels=PIXELS)
    picture = Image.new("L", SHAPE, 0)
    at = 20.0
    for letter in text:  # one by one: no kerning
        ImageDraw.Draw(picture).text((at, 1.4 * PIXELS), letter, fill=255, font=plain, anchor="ls")
        at += plain.getlength(letter)
    return np.asarray(picture) / 255.0


@pytest.mark.parametrize("text", TEXTS)
def test_as_much_ink_in_the_same_places_as_the_library_puts(text):
    theirs = drawn_by_the_library(text)
    outlines = text_outlines(text, left_mm=20 * MM, baseline_mm=1.4 * PIXELS * MM, size_pt=SIZE_PT)
    ours = Sides.of([one / MM for one in outlines]).coverage(columns=(0, SHAPE[0]), rows=(0, SHAPE[1]))
    # The library puts letters on whole pixels and hints them, which moves their sides by up to a pixel in
    # stems of 25: ink within 1 in 100, and all but 6 in 100 in the same pixels, is as near as they can come.
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.01)
    assert np.minimum(ours, theirs).sum() > 0.94 * theirs.sum()


@pytest.mark.parametrize("text", TEXTS)
def test_as_wide_as_the_library_says(text):
    pixels = 1000  # large, so that rounding of its advances to whole pixels is small
    plain = the_typeface(pixels=pixels)
    wanted = sum(plain.getlength(letter) for letter in text) / pixels * 36.0 * MM_PER_POINT
    assert text_width_mm(text, size_pt=36.0) == pytest.approx(wanted, rel=0.002)


def test_a_letter_with_a_counter_has_a_hole():
    # "O" is two outlines that run opposite ways: their signed areas differ in sign.
    outer, inner = text_outlines("O", left_mm=0.0, baseline_mm=10.0, size_pt=40.0)

    def signed(points):
        x, y = points.T
        return np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2.0

    assert signed(outer) * signed(inner) < 0
    middle = (outer.min(axis=0) + outer.max(axis=0)) / 2.0 * 20.0
    bare = Sides.of([outer * 20.0, inner * 20.0]).coverage(
        columns=(int(middle[0]), int(middle[0]) + 1),
        rows=(int(middle[1]), int(middle[1]) + 1),
    )
    assert bare[0, 0] == 0.0


def test_letters_stand_on_the_line_at_the_size_asked_for():
    outlines = np.concatenate(text_outlines("HEI", left_mm=5.0, baseline_mm=30.0, size_pt=100.0))
    assert outlines[:, 1].max() == pytest.approx(30.0, abs=0.1)  # straight letters end on the line
    height_pt = (30.0 - outlines[:, 1].min()) / MM_PER_POINT
    assert 60.0 < height_pt < 80.0  # capitals of text faces are 0.6 to 0.8 of the size (common practice)
    twice = np.concatenate(text_outlines("HEI", left_mm=5.0, baseline_mm=30.0, size_pt=200.0))
    np.testing.assert_allclose(twice - (5.0, 30.0), 2.0 * (outlines - (5.0, 30.0)), atol=1e-9)


def test_every_sign_a_form_needs_is_there():
    for sign in "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,:;-+/()%&":
        assert text_width_mm(sign, size_pt=10.0) > 0.0
        text_outlines(sign, left_mm=0.0, baseline_mm=0.0, size_pt=10.0)


def test_a_letter_it_does_not_have_is_named():
    with pytest.raises(BadSetting, match="漢"):
        text_outlines("A漢", left_mm=0.0, baseline_mm=0.0, size_pt=10.0)
