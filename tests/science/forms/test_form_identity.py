"""Codes: drawn, read back, also turned, blurred, noisy and small; blind labels."""

import numpy as np
import pytest
from drawn_elements import BLACK, CMYK, RGB, SHEET, drawn, inside
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter, rotate

from laydown.kernel.errors import BadSetting
from laydown.science.forms.blind_label import blind_label
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.identity import (
    INSTRUCTIONS,
    Identity,
    code_cells,
    code_element,
    find_codes,
    identity_elements,
    identity_of,
    instruction,
)
from laydown.science.forms.page import check_page

AT = {"left_mm": 5.0, "top_mm": 5.0}
PART = st.from_regex(r"[A-Z0-9][A-Z0-9.-]{0,15}", fullmatch=True)


def light_of(pixels, channels):
    return pixels[..., 0] if channels == RGB else 255 - pixels[..., -1]


@pytest.mark.parametrize("channels", [RGB, CMYK])
@pytest.mark.parametrize("ppi", [150, 300, 360, 600, 720])
def test_a_drawn_code_is_read_back_at_every_resolution(channels, ppi):
    elements = identity_elements(SHEET, channels=channels, **AT)
    found = find_codes(light_of(drawn(elements, channels=channels, ppi=ppi), channels))
    assert [identity_of(one.text) for one in found] == [SHEET]
    left, top, right, bottom = (value * ppi / 25.4 for value in elements[0].facts["code_mm"])
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    # The reader gives whole pixels, some inside the border, some outside: within half a cell.
    assert found[0].corners == pytest.approx(np.array(corners), abs=0.5 * 0.8 * ppi / 25.4 + 1)


@settings(max_examples=40, deadline=None)
@given(PART, PART, PART)
def test_any_identity_is_read_back(form, page, sheet):
    identity = Identity(form, page, sheet)
    ink = drawn([code_element(identity.text, channels=BLACK, **AT)], channels=BLACK, ppi=150)[..., 0]
    found = find_codes(255 - ink)
    assert [identity_of(one.text) for one in found] == [identity]


@pytest.mark.parametrize("angle", [0, 7, 90, 133, 180, 271])
def test_a_code_is_read_turned_blurred_and_noisy(angle, rng):
    element = code_element(SHEET.text, left_mm=20.0, top_mm=20.0, channels=BLACK)
    light = 255.0 - drawn([element], channels=BLACK, ppi=300)[..., 0]
    light = rotate(np.pad(light, 200, constant_values=255.0), angle, reshape=False, cval=255.0, order=1)
    # Ink at 15 % and medium at 90 % of the light, unsharp by 2 pixels (0.17 mm), noise of 4 %.
    seen = gaussian_filter(0.15 * 255 + 0.75 * light, 2.0) + rng.normal(0.0, 10.0, light.shape)
    found = find_codes(np.clip(seen, 0, 255).astype(np.uint8))
    assert [one.text for one in found] == [SHEET.text]


def test_corners_go_clockwise_from_the_code_s_own_top_left():
    element = code_element(SHEET.text, left_mm=20.0, top_mm=20.0, channels=BLACK)
    light = 255 - drawn([element], channels=BLACK, ppi=300, bits=8)[..., 0]
    upright = find_codes(light)[0].corners
    upside = find_codes(np.ascontiguousarray(light[::-1, ::-1]))[0].corners
    turned = np.array([light.shape[1], light.shape[0]]) - upside
    assert turned == pytest.approx(upright, abs=3)


def test_the_code_still_reads_with_a_scratch_across_it():
    # ISO/IEC 16022 at this size: a fifth of the codewords may be lost (from memory); a scratch takes fewer.
    element = code_element(SHEET.text, channels=BLACK, **AT)
    light = 255 - drawn([element], channels=BLACK, ppi=300)[..., 0]
    left, top, right, _ = (round(value * 300 / 25.4) for value in element.facts["code_mm"])
    row = top + (right - left) // 2
    light[row - 3 : row + 3, left : left + (right - left) // 2] = 255
    assert [one.text for one in find_codes(light)] == [SHEET.text]


def test_the_code_is_square_and_compact():
    assert code_cells(SHEET.text).shape == (16, 16)
    assert code_cells("X" * 60).shape[0] == code_cells("X" * 60).shape[1]


def test_what_is_no_code_of_a_form_is_refused():
    for text in ("F7K2/D1", "F7K2/D1/003/4", "f7k2/d1/003", "F7K2//003", "-F/D/1", "F" * 17 + "/D/1"):
        with pytest.raises(BadSetting, match="does not name a form, a page and a sheet"):
            identity_of(text)
    with pytest.raises(BadSetting, match="1 to 60 plain letters"):
        code_cells("größer")
    with pytest.raises(BadSetting, match="1 to 60 plain letters"):
        code_cells("")
    with pytest.raises(BadSetting, match="cannot be read from a scan"):
        code_element("A/B/C", channels=BLACK, cell_mm=0.2, **AT)
    with pytest.raises(BadSetting, match="does not name"):
        identity_elements(Identity("a b", "D1", "3"), channels=BLACK, **AT)


def test_pages_say_how_they_are_printed():
    assert "without colour management" in INSTRUCTIONS["device"]
    assert "through the profile" in INSTRUCTIONS["picture"]
    for kind, words in INSTRUCTIONS.items():
        assert "at 100 %" in words
        assert instruction(kind, channels=RGB, **AT).facts["text"] == words
    with pytest.raises(BadSetting, match='no "back" page'):
        instruction("back", channels=RGB, **AT)


def test_a_blind_label_shows_nothing_but_its_code():
    page = blind_label("HXRT")
    check_page(page)
    assert [one.facts["text"] for one in page.elements] == ["HXRT"]
    ink = np.concatenate(list(draw_bands(page, ppi=300)))[..., 0]
    assert ink[:20].max() == ink[-20:].max() == ink[:, :20].max() == ink[:, -20:].max() == 0
    assert (ink > 200).mean() > 0.04  # it is there, and large
    assert inside(ink, (20.0, 18.0, 40.0, 28.0), 300).max() > 200  # the line that says which way up


def test_labels_that_cannot_be_made_are_refused():
    for code in ("ABCD", "HX", "HXRTT", "hxrt"):
        with pytest.raises(BadSetting, match="no blind code"):
            blind_label(code)
    with pytest.raises(BadSetting, match="too small for its code"):
        blind_label("HXRT", width_mm=30.0)
