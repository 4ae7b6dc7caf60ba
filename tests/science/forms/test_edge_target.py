"""Slanted edges: drawn, blurred by a known amount, measured."""

import io
from functools import cache

import numpy as np
import pytest
import tifffile
from drawn_elements import BLACK, RGB, drawn, inside, page_of
from scipy.ndimage import gaussian_filter
from scipy.optimize import brentq

from laydown.kernel.errors import BadSetting
from laydown.science.forms.edge_target import CONTRASTS, TURN_DEG, edge_target
from laydown.science.forms.tiff import write_tiff
from laydown.science.scans.slanted_edge import edge_response

SIDES = ("left", "top", "right", "bottom")
PPI, FINER = 600, 8
# MTF50 in cycles per pixel of a Gaussian of so many pixels behind a pixel's aperture, from the method notes
# (table of analytic MTF, "gaussian_with_unit_pixel_aperture", five digits).
MTF50 = {1.0: 0.17996, 1.5: 0.12267, 2.0: 0.09273, 3.0: 0.06218, 5.0: 0.03742}
#: Margins beside the edges are 4 mm; the window of the method takes 0.7 % at eighteen times the unsharpness.
NARROWEST_MARGIN = 18.0


def closed_form(sigma: float) -> float:
    """Where exp(-2 (pi sigma f)^2) sinc(f) is a half."""
    return float(brentq(lambda f: np.exp(-2.0 * (np.pi * sigma * f) ** 2) * np.sinc(f) - 0.5, 1e-6, 0.9))


def test_the_table_is_the_closed_form():
    # Half a unit of the last digit printed.
    assert [closed_form(sigma) for sigma in MTF50] == pytest.approx(list(MTF50.values()), abs=5e-6)


@cache
def fine(contrast):
    """A target of 10 mm in one channel, drawn eight times finer than it is to be measured."""
    target = edge_target(contrast, left_mm=2.0, top_mm=2.0, channels=BLACK, side_mm=10.0)
    return target, drawn([target], channels=BLACK, ppi=PPI * FINER, bits=16)[..., 0]


@pytest.mark.parametrize("contrast", CONTRASTS)
@pytest.mark.parametrize("side", SIDES)
def test_sharpness_of_every_edge_is_what_the_blur_makes_it(contrast, side):
    target, pixels = fine(contrast)
    rows, columns = _whole_pixels(target.facts[f"{side}_box_mm"])
    for sigma in (1.0, 2.0):
        expected = MTF50[sigma]
        spare = int(5 * sigma) * FINER  # so that the border of the region is blurred with what lies beyond
        region = pixels[
            rows[0] * FINER - spare : rows[1] * FINER + spare,
            columns[0] * FINER - spare : columns[1] * FINER + spare,
        ]
        blurred = gaussian_filter(region.astype(np.float32), sigma * FINER)[spare:-spare, spare:-spare]
        high, wide = blurred.shape[0] // FINER, blurred.shape[1] // FINER
        seen = 65535.0 - blurred.reshape(high, FINER, wide, FINER).mean(axis=(1, 3), dtype=np.float64)
        found = edge_response(seen)
        # Method notes: noise-free edges, 1 %. Drawing finer adds an aperture of 1/8 pixel, below 0.1 %.
        assert found.mtf50 == pytest.approx(expected, rel=0.01)
        assert found.angle_deg == pytest.approx(TURN_DEG.value, abs=0.01)


def _whole_pixels(box):
    left, top, right, bottom = (round(value * PPI / 25.4) for value in box)
    return (top, bottom), (left, right)


@cache
def light_in_the_file(contrast, ppi):
    """A target as large as it is on a form, off the pixels' grid, in a file of 8 bits as it is printed."""
    target = edge_target(contrast, left_mm=3.37, top_mm=5.81, channels=RGB)
    file = io.BytesIO()
    write_tiff(page_of([target], channels=RGB), file, ppi=ppi)
    file.seek(0)
    return target, tifffile.imread(file)[..., 1].astype(float)


@pytest.mark.parametrize("ppi", [360, 720])
@pytest.mark.parametrize("contrast", CONTRASTS)
@pytest.mark.parametrize("side", SIDES)
def test_edges_as_they_are_on_a_form_keep_the_sharpness_they_are_given(contrast, side, ppi):
    # Each pixel of the file holds the share that the edge covers of it: that is the aperture of one pixel. A
    # printer that were a Gaussian would leave the table's sharpness.
    target, light = light_in_the_file(contrast, ppi)
    margin = 4.0 * ppi / 25.4
    tried = [sigma for sigma in MTF50 if NARROWEST_MARGIN * sigma < margin]
    assert len(tried) == (4 if ppi == 360 else 5)
    for sigma in tried:
        found = edge_response(inside(gaussian_filter(light, sigma), target.facts[f"{side}_box_mm"], ppi))
        assert found.mtf50 == pytest.approx(MTF50[sigma], rel=0.01), sigma  # method notes: 1 %
        assert found.angle_deg == pytest.approx(TURN_DEG.value, abs=0.01)


@pytest.mark.parametrize("contrast", CONTRASTS)
@pytest.mark.parametrize("ppi", [300, 720])
def test_a_drawn_edge_is_as_sharp_as_a_pixel(contrast, ppi):
    # Exact coverage is the aperture of one pixel, a box: turned by 5 degrees, it is a box of cos 5 and one of
    # sin 5 along the normal. The steps of the standard gather pixels in bins of a quarter pixel along a row,
    # which is one more box (of little weight in blurred edges).
    target = edge_target(contrast, left_mm=2.0, top_mm=2.0, channels=BLACK)
    pixels = drawn([target], channels=BLACK, ppi=ppi, bits=16)[..., 0]
    cosine, sine = np.cos(np.radians(TURN_DEG.value)), np.sin(np.radians(TURN_DEG.value))
    expected = brentq(
        lambda f: np.sinc(f * cosine) * np.sinc(f * sine) * np.sinc(f * cosine / 4.0) - 0.5, 0.1, 0.9
    )
    for side in SIDES:
        found = edge_response(65535.0 - inside(pixels, target.facts[f"{side}_box_mm"], ppi))
        assert found.mtf50 == pytest.approx(expected, rel=0.01)  # method notes: 1 %


@pytest.mark.parametrize("side", SIDES)
def test_an_edge_lies_where_its_facts_say(side):
    target = edge_target("half", left_mm=3.0, top_mm=5.0, channels=BLACK)
    ppi = 720
    pixels = drawn([target], channels=BLACK, ppi=ppi, bits=16)[..., 0].astype(float)
    x0, y0, x1, y1 = (value * ppi / 25.4 for value in target.facts[f"{side}_edge_mm"])
    left, top, right, bottom = (round(v * ppi / 25.4) for v in target.facts[f"{side}_box_mm"])
    part = (65535.0 - pixels[top:bottom, left:right]) / 65535.0
    upright = side in ("left", "right")
    if not upright:
        part, (x0, y0, x1, y1), left, top = part.T, (y0, x0, y1, x1), top, left
    # Ink across each row, over what the two sides would hold, is where the edge crosses it.
    dark, light = target.facts["dark"], target.facts["light"]
    share = (part - light).sum(axis=1) / (dark - light)
    at = np.where(part[:, 0] < part[:, -1], share, part.shape[1] - share) + left
    rows = np.arange(len(part)) + 0.5 + top
    expected = x0 + (rows - y0) / (y1 - y0) * (x1 - x0)
    # Within the rounding of 16 bits over a row of some 300 pixels.
    assert at == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("contrast", CONTRASTS)
def test_margins_beside_an_edge_are_wide_enough(contrast):
    # edge_response asks for twelve times the standard deviation of the blur to both sides of an edge.
    target = edge_target(contrast, left_mm=2.0, top_mm=2.0, channels=BLACK)
    for side in SIDES:
        left, top, right, bottom = target.facts[f"{side}_box_mm"]
        x0, y0, x1, y1 = target.facts[f"{side}_edge_mm"]
        level = side in ("top", "bottom")
        near, far, low, high = (y0, y1, top, bottom) if level else (x0, x1, left, right)
        start, end, first, last = (x0, x1, left, right) if level else (y0, y1, top, bottom)
        ends = [near + (at - start) / (end - start) * (far - near) for at in (first, last)]
        assert min(min(ends) - low, high - max(ends)) > 12 * 0.35
        assert min(first - min(start, end), max(start, end) - last) > 3.0  # clear of the corners


def test_four_edges_differ_in_direction_and_order():
    target = edge_target("full", left_mm=2.0, top_mm=2.0, channels=BLACK)
    ppi = 300
    light = 255 - drawn([target], channels=BLACK, ppi=ppi)[..., 0].astype(int)
    parts = {side: inside(light, target.facts[f"{side}_box_mm"], ppi) for side in SIDES}
    assert parts["left"][:, 0].min() == 255
    assert parts["left"][:, -1].max() == 0
    assert parts["right"][:, 0].max() == 0
    assert parts["right"][:, -1].min() == 255
    assert parts["top"][0].min() == 255
    assert parts["top"][-1].max() == 0
    assert parts["bottom"][0].max() == 0
    assert parts["bottom"][-1].min() == 255


def test_contrasts_lie_about_mid_grey_and_low_is_about_four_to_one():
    for dark, light in CONTRASTS.values():
        assert (dark + light) / 2.0 == pytest.approx(0.5)
    dark, light = CONTRASTS["low"]
    # Device values follow light to about the power 2.2 (common practice, no source).
    assert (light / dark) ** 2.2 == pytest.approx(4.0, rel=0.05)


def test_what_cannot_be_drawn_is_refused():
    with pytest.raises(BadSetting, match='no contrast "strong"'):
        edge_target("strong", left_mm=0.0, top_mm=0.0, channels=BLACK)
    with pytest.raises(BadSetting, match="too short"):
        edge_target("full", left_mm=0.0, top_mm=0.0, channels=BLACK, side_mm=5.0)
