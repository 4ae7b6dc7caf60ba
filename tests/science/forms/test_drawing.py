"""Pages drawn at the printer's resolution: exact device values, whole pixels, bands that agree."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.drawing import BAND_ROWS, Grid, draw_bands, size_in_pixels
from laydown.science.forms.page import (
    Block,
    Box,
    Element,
    Page,
    Picture,
    Ramp,
    Shape,
    Wave,
    check_page,
)

RGB = ("R", "G", "B")
SIX_INKS = ("C", "M", "Y", "K", "O", "V")


def page_of(*paints, width=60.0, height=40.0, channels=RGB):
    elements = tuple(
        Element("thing", f"{number}", Box(0.0, 0.0, width, height), (paint,))
        for number, paint in enumerate(paints)
    )
    return Page("a page", width, height, channels, elements)


def drawn(page, *, ppi, bits=8, band_rows=BAND_ROWS):
    return np.concatenate(list(draw_bands(page, ppi=ppi, bits=bits, band_rows=band_rows)))


def patches(channels, rng, *, pitch=7.3, size=6.1):
    """Patches of odd sizes at odd places; none lies over another."""
    return [
        Block(
            Box(1.37 + pitch * i, 2.11 + pitch * j, 1.37 + pitch * i + size, 2.11 + pitch * j + size),
            tuple(float(value) for value in rng.uniform(size=len(channels))),
        )
        for j in range(5)
        for i in range(7)
    ]


@pytest.mark.parametrize("ppi", [300.0, 360.0, 600.0, 720.0])
@pytest.mark.parametrize(("bits", "full"), [(8, 255), (16, 65535)])
@pytest.mark.parametrize("channels", [RGB, SIX_INKS])
def test_every_pixel_of_every_patch_holds_its_device_value(ppi, bits, full, channels):
    blocks = patches(channels, np.random.default_rng(5))
    pixels = drawn(page_of(*blocks, channels=channels), ppi=ppi, bits=bits)
    bare = [full if name in RGB else 0 for name in channels]
    seen = np.zeros(pixels.shape[:2], dtype=bool)
    for block in blocks:
        top, bottom, left, right = Grid(ppi).window(block.box)
        code = np.round(np.array(block.colour) * full)
        assert (pixels[top:bottom, left:right] == code).all()
        # The borders lie within half a pixel of what was asked for.
        half = 0.5 * 25.4 / ppi + 1e-9
        snapped = Grid(ppi).snapped(block.box)
        np.testing.assert_allclose(snapped.corners(), block.box.corners(), atol=half)
        seen[top:bottom, left:right] = True
    assert (pixels[~seen] == bare).all()


def test_seventeen_inches_at_360_are_6120_pixels():
    # 17 x 360 and 22 x 360
    page = Page("a page", 17 * 25.4, 22 * 25.4, RGB, ())
    assert size_in_pixels(page, ppi=360) == (7920, 6120)


def busy_page():
    angle = np.linspace(0.0, 2.0 * np.pi, 60)
    disc = np.column_stack([40.3 + 9.0 * np.cos(angle), 20.1 + 9.0 * np.sin(angle)])
    return page_of(
        Block(Box(2.0, 3.0, 11.0, 19.0), (0.2, 0.4, 0.6)),
        Ramp(Box(12.0, 3.0, 30.0, 9.0), (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)),
        Ramp(Box(12.0, 9.0, 30.0, 15.0), (1.0, 0.0, 0.0), (0.0, 1.0, 1.0), along="down", steps=5),
        Wave(Box(12.0, 16.0, 30.0, 30.0), (0.0,) * 3, (1.0,) * 3, coarse=0.3, fine=3.0, faintest=0.05),
        Shape((disc,), (0.1, 0.5, 0.9)),
        Picture(Box(2.0, 22.0, 11.0, 37.0), np.random.default_rng(1).uniform(size=(7, 5, 3))),
    )


@given(band_rows=st.integers(1, 700))
@settings(max_examples=12, deadline=None)
def test_bands_of_any_height_give_the_same_page(band_rows):
    whole = drawn(busy_page(), ppi=300, band_rows=10_000)
    np.testing.assert_array_equal(drawn(busy_page(), ppi=300, band_rows=band_rows), whole)


def test_sixteen_bits_hold_what_eight_round():
    eight, sixteen = (drawn(busy_page(), ppi=300, bits=bits) for bits in (8, 16))
    # Rounded once for each of the two paints that lie over each other at most.
    assert np.abs(sixteen / 257.0 - eight).max() <= 2 * 0.5 + 1 / 257.0


def test_steps_of_a_ramp_are_equal_fields_of_exact_colours():
    ramp = Ramp(Box(0.0, 0.0, 50.8, 5.0), (0.0, 0.0, 0.0), (1.0, 0.5, 0.25), steps=5)
    row = drawn(page_of(ramp), ppi=300)[10, :600]
    # a fifth of 600 pixels each; colours a quarter of the way apart
    for number in range(5):
        wanted = np.round(np.array([1.0, 0.5, 0.25]) * number / 4.0 * 255.0)
        assert (row[number * 120 : (number + 1) * 120] == wanted).all()


def test_a_smooth_ramp_runs_evenly_from_end_to_end():
    ramp = Ramp(Box(0.0, 0.0, 5.0, 40.0), (0.0, 0.0, 0.0), (1.0, 1.0, 1.0), along="down")
    column = drawn(page_of(ramp), ppi=300, bits=16)[:, 10, 0].astype(float)
    centres = (np.arange(len(column)) + 0.5) / len(column)
    np.testing.assert_allclose(column, centres * 65535.0, atol=0.5 + 1e-6)


def test_a_wave_grows_finer_and_fainter_as_it_says():
    wave = Wave(Box(0.0, 0.0, 60.0, 40.0), (0.2,) * 3, (0.8,) * 3, coarse=0.5, fine=5.0, faintest=0.1)
    pixels = drawn(page_of(wave), ppi=600, bits=16)[..., 0] / 65535.0
    first = pixels[0] - 0.5
    rises = np.flatnonzero((first[:-1] < 0.0) & (first[1:] >= 0.0))
    spacing_mm = np.diff(rises) * 25.4 / 600
    at = (rises[:-1] + rises[1:]) / 2.0 / pixels.shape[1]
    # Frequency rises exponentially: coarse (fine / coarse) ^ way, within the one pixel a crossing may be off.
    np.testing.assert_allclose(spacing_mm, 1.0 / (0.5 * 10.0**at), atol=1.5 * 25.4 / 600)
    down = (np.arange(len(pixels)) + 0.5) / len(pixels)
    contrast = (pixels.max(axis=1) - pixels.min(axis=1)) / 0.6
    np.testing.assert_allclose(contrast, 0.1**down, atol=0.002)


def test_a_shape_mixes_with_what_lies_under_it_by_its_share():
    # 300 ppi: the right side lies at a quarter of pixel 100
    right = (100.0 + 0.25) * 25.4 / 300
    square = Box(0.0, 0.0, right, 10.0).corners()
    page = page_of(Block(Box(0, 0, 60, 40), (0.8,) * 3), Shape((square,), (0.2,) * 3))
    row = drawn(page, ppi=300, bits=16)[5, :, 0]
    assert row[99] == round(0.2 * 65535)
    assert row[100] == pytest.approx((0.25 * 0.2 + 0.75 * 0.8) * 65535, abs=1)
    assert row[101] == round(0.8 * 65535)


def test_what_reaches_beyond_the_page_is_cut_off_there():
    over = Box(-5.0, -5.0, 4.0, 4.0)
    grey = (0.5,) * 3
    inside = drawn(page_of(Block(Box(0.0, 0.0, 4.0, 4.0), grey)), ppi=300)
    for paint in (
        Block(over, grey),
        Shape((over.corners(),), grey),
        Ramp(over, grey, grey),
        Picture(over, np.full((2, 2, 3), 0.5)),
    ):
        found = drawn(page_of(paint), ppi=300)
        # A shape's border need not lie between pixels, so its last row and column are looked at elsewhere.
        np.testing.assert_array_equal(found[:46, :46], inside[:46, :46])
        assert (found[48:] == 255).all()
    beside = Box(-9.0, 1.0, -2.0, 9.0)
    for paint in (Block(beside, grey), Shape((beside.corners(),), grey), Ramp(beside, grey, grey)):
        assert (drawn(page_of(paint), ppi=300) == 255).all()


def test_a_picture_at_its_own_resolution_is_drawn_pixel_by_pixel():
    # 40 x 30 pixels at 300 ppi
    pixels = np.random.default_rng(2).integers(0, 256, (30, 40, 3)) / 255.0
    box = Box(25.4, 12.7, 25.4 + 40 * 25.4 / 300, 12.7 + 30 * 25.4 / 300)
    found = drawn(page_of(Picture(box, pixels)), ppi=300)
    np.testing.assert_array_equal(found[150:180, 300:340], np.round(pixels * 255))


def test_other_depths_are_refused():
    with pytest.raises(BadSetting, match="12 bits"):
        next(draw_bands(busy_page(), ppi=300, bits=12))


def test_a_64_inch_page_of_six_inks_stays_small():
    wide = 64 * 25.4
    angle = np.linspace(0.0, 2.0 * np.pi, 300)
    oval = np.column_stack([wide / 2 + wide / 2.2 * np.cos(angle), 2.0 + 1.9 * np.sin(angle)])
    page = Page(
        "wide",
        wide,
        5.0,
        SIX_INKS,
        (
            Element("ramp", "1", Box(0, 0, wide, 5.0), (Ramp(Box(0, 0, wide, 5.0), (0,) * 6, (1,) * 6),)),
            Element("oval", "1", Box(0, 0, wide, 4.0), (Shape((oval,), (0.5,) * 6),)),
        ),
    )
    bands = draw_bands(page, ppi=720, bits=16)
    tracemalloc.start()
    try:
        for band in bands:
            assert band.shape[1:] == (46080, 6)  # 64 x 720
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 200e6  # of the 500 MB that are wanted for everything


def planted(**changes):
    good = {
        "box": Box(5.0, 5.0, 15.0, 15.0),
        "colour": (0.5, 0.5, 0.5),
        "other": Box(20.0, 5.0, 30.0, 15.0),
    } | changes
    elements = (
        Element("patch", "A1", good["box"], (Block(good["box"], good["colour"]),)),
        Element("patch", "A2", good["other"], (Block(good["other"], (0.1, 0.2, 0.3)),)),
    )
    return Page("planted", 60.0, 40.0, RGB, elements)


def test_a_sound_page_is_not_refused():
    check_page(planted())
    check_page(planted(other=Box(15.0, 5.0, 30.0, 15.0)))  # side by side is not over each other


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"box": Box(55.0, 5.0, 65.0, 15.0)}, "patch A1 reaches beyond the page"),
        ({"colour": (0.1, 0.2, 0.3, 0.4)}, "patch A1 has not one device value"),
        ({"colour": (0.1, 0.2, 1.3)}, "patch A1 has a device value"),
        ({"other": Box(14.0, 14.0, 30.0, 30.0)}, "patch A1 and patch A2 lie over each other"),
    ],
)
def test_a_planted_fault_is_named(changes, words):
    with pytest.raises(BadSetting, match=words):
        check_page(planted(**changes))


def test_a_paint_outside_its_element_is_named():
    outside = Element("patch", "A1", Box(5, 5, 15, 15), (Block(Box(5, 5, 16, 15), (0.5,) * 3),))
    with pytest.raises(BadSetting, match="patch A1 is painted beyond its own place"):
        check_page(Page("planted", 60.0, 40.0, RGB, (outside,)))


@pytest.mark.parametrize(("bits", "kind", "full"), [(8, np.uint8, 255), (16, np.uint16, 65535)])
def test_a_picture_of_codes_is_drawn_as_the_same_picture_of_device_values(bits, kind, full):
    codes = np.random.default_rng(4).integers(0, full, size=(18, 27, 3), endpoint=True, dtype=kind)
    box = Box(3.3, 4.1, 40.7, 33.2)
    page, same = page_of(Picture(box, codes)), page_of(Picture(box, codes / full))
    check_page(page)
    np.testing.assert_array_equal(drawn(page, ppi=360, bits=bits), drawn(same, ppi=360, bits=bits))


def test_a_file_at_the_printers_resolution_is_printed_code_by_code():
    codes = np.random.default_rng(4).integers(0, 255, size=(120, 90, 3), endpoint=True, dtype=np.uint8)
    page = page_of(Picture(Box(12.7, 2.54, 12.7 + 90 * 25.4 / 300, 2.54 + 120 * 25.4 / 300), codes))
    np.testing.assert_array_equal(drawn(page, ppi=300)[30:150, 150:240], codes)


def test_what_reaches_beyond_a_page_or_lies_beside_it_does_no_harm():
    paints = [
        Block(Box(-5.0, -5.0, 3.0, 3.0), (0.2, 0.4, 0.6)),
        Block(Box(70.0, 50.0, 75.0, 60.0), (0, 0, 0)),
    ]
    paints += [Ramp(Box(55.0, 35.0, 65.0, 45.0), (0.0,) * 3, (1.0,) * 3)]
    pixels = drawn(page_of(*paints), ppi=254)
    assert (pixels[:30, :30] == (51, 102, 153)).all()
    assert (pixels[30:350, :550] == 255).all()
    assert (pixels[350:, 550] == round(255 * 0.5 / 100)).all()
