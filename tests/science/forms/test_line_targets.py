"""Hairlines, line pairs and rings: as much ink as they should have, where it should be."""

import numpy as np
import pytest
from drawn_elements import BLACK, RGB, drawn, inside

from laydown.kernel.errors import BadSetting
from laydown.science.forms.line_targets import BARS, WIDTHS_MM, hairlines, line_pairs
from laydown.science.forms.page import Block, Shape
from laydown.science.forms.ring_target import ring_target

RUNS = ("upright", "level", "slanted")
PPIS = (300.0, 720.0)


def ink_of(element, ppi):
    """Ink of the lines alone, 0 to 1 for each pixel; words left out, reversed lines counted as ink."""
    ground = [paint for paint in element.paints if isinstance(paint, Block)]
    shapes = [paint for paint in element.paints if isinstance(paint, Shape)]
    only = type(element)(element.kind, element.name, element.box, (*ground, shapes[0]), element.facts)
    ink = drawn([only], channels=BLACK, ppi=ppi, bits=16)[..., 0] / 65535.0
    if element.facts["reversed"]:
        field = inside(ink, ground[0].box, ppi)
        return 1.0 - field, (ground[0].box.left_mm, ground[0].box.top_mm)
    return ink, (0.0, 0.0)


@pytest.mark.parametrize("ppi", PPIS)
@pytest.mark.parametrize("out", [False, True])
@pytest.mark.parametrize("run", RUNS)
def test_each_hairline_has_the_ink_of_its_width_also_below_a_pixel(run, out, ppi):
    element = hairlines(run, left_mm=2.0, top_mm=2.0, channels=BLACK, reversed_out=out)
    ink, origin = ink_of(element, ppi)
    per_mm = ppi / 25.4
    rows, columns = np.indices(ink.shape)
    x, y = (columns + 0.5) / per_mm + origin[0], (rows + 0.5) / per_mm + origin[1]
    lines = np.array(element.facts["lines_mm"]).reshape(-1, 4)
    assert element.facts["widths_mm"] == WIDTHS_MM
    length = element.facts["length_mm"]
    for (x0, y0, x1, y1), width in zip(lines, WIDTHS_MM, strict=True):
        assert np.hypot(x1 - x0, y1 - y0) == pytest.approx(length)
        away = np.abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / length
        area = ink[away < 2.0].sum() / per_mm**2
        # Field borders lie on whole pixels, lines where they are; rounding to 16 bits is far below this.
        assert area == pytest.approx(width * length, rel=2e-3)


@pytest.mark.parametrize("ppi", PPIS)
@pytest.mark.parametrize("run", RUNS)
def test_no_pixel_of_a_hairline_is_darker_than_it_covers(run, ppi):
    element = hairlines(run, left_mm=2.0, top_mm=2.0, channels=BLACK, widths_mm=(0.05,))
    ink, _ = ink_of(element, ppi)
    most = 0.05 * ppi / 25.4 * (np.sqrt(2.0) if run == "slanted" else 1.0)
    assert 0.0 < ink.max() <= min(most, 1.0) + 1e-4


@pytest.mark.parametrize("out", [False, True])
@pytest.mark.parametrize("run", RUNS)
def test_each_group_of_line_pairs_is_as_fine_as_it_says(run, out):
    ppi = 1200.0  # no harmonic of the finest pairs folds back onto the first
    element = line_pairs(run, left_mm=2.0, top_mm=2.0, channels=BLACK, reversed_out=out)
    ink, origin = ink_of(element, ppi)
    per_mm = ppi / 25.4
    turn = np.radians(element.facts["turn_deg"])
    across = np.array([np.cos(turn), np.sin(turn)])
    groups = np.array(element.facts["groups_mm"]).reshape(-1, 2)
    for middle, width, fineness in zip(
        groups, element.facts["widths_mm"], element.facts["pairs_per_mm"], strict=True
    ):
        span, reach = (2 * BARS - 1) * width, 12.0
        first = np.maximum(((middle - reach - origin) * per_mm).astype(int), 0)
        last = ((middle + reach - origin) * per_mm).astype(int)
        part = ink[first[1] : last[1], first[0] : last[0]]
        rows, columns = np.indices(part.shape)
        place = (np.stack([columns, rows], -1) + first + 0.5) / per_mm + origin
        away = (place - middle) @ across
        along = (place - middle) @ np.array([-across[1], across[0]])
        near = (np.abs(away) < span / 2.0 + 0.4) & (np.abs(along) < element.facts["length_mm"] / 2.0 + 0.4)
        area = part[near].sum() / per_mm**2
        assert area == pytest.approx(BARS * width * element.facts["length_mm"], rel=5e-3)
        # Its first harmonic: five bars in step with a wave of that fineness. For whole bars it is 2 / pi of
        # the ink (Fourier series of a square wave); pixels take a little of it.
        wave = np.abs(np.sum(part[near] * np.exp(2j * np.pi * fineness * away[near]))) / part[near].sum()
        assert wave == pytest.approx(2.0 / np.pi * np.sinc(fineness / per_mm), rel=0.02)
        assert fineness == pytest.approx(1.0 / (2.0 * width))


def test_dark_on_bare_and_bare_in_dark_are_each_other_s_opposite():
    for maker in (hairlines, line_pairs):
        dark, _ = ink_of(maker("upright", left_mm=2.0, top_mm=2.0, channels=BLACK), 300.0)
        element = maker("upright", left_mm=2.0, top_mm=2.0, channels=BLACK, reversed_out=True)
        bare, origin = ink_of(element, 300.0)
        same = dark[round(origin[1] * 300 / 25.4) :, round(origin[0] * 300 / 25.4) :][
            : len(bare), : len(bare[0])
        ]
        assert bare == pytest.approx(same, abs=1e-4)


@pytest.mark.parametrize("ppi", PPIS)
@pytest.mark.parametrize("out", [False, True])
def test_each_ring_has_the_ink_of_its_area_in_every_direction(out, ppi):
    element = ring_target(left_mm=2.0, top_mm=2.0, channels=BLACK, reversed_out=out)
    ink, origin = ink_of(element, ppi)
    per_mm = ppi / 25.4
    rows, columns = np.indices(ink.shape)
    middle = element.facts["middle_mm"]
    x, y = (columns + 0.5) / per_mm + origin[0] - middle[0], (rows + 0.5) / per_mm + origin[1] - middle[1]
    widths, radii = np.array(element.facts["widths_mm"]), np.array(element.facts["radii_mm"])
    # The area of a ring is its width times the way round its middle.
    assert ink.sum() / per_mm**2 == pytest.approx(np.sum(2.0 * np.pi * radii * widths), rel=1e-4)
    away, angle = np.hypot(x, y), np.arctan2(y, x)
    radius, width = radii[-1], widths[-1]
    ring = np.abs(away - radius) < width
    parts = [ink[ring & (np.floor(angle / (np.pi / 4)) == part)].sum() for part in range(-4, 4)]
    # An eighth of the widest ring holds hundreds of pixels; their places in it differ by chance.
    assert parts == pytest.approx(np.full(8, np.mean(parts)), rel=0.02)


def test_rings_do_not_touch():
    facts = ring_target(left_mm=2.0, top_mm=2.0, channels=RGB).facts
    widths, radii = np.array(facts["widths_mm"]), np.array(facts["radii_mm"])
    inner, outer = radii - widths / 2.0, radii + widths / 2.0
    assert inner[1:] - outer[:-1] == pytest.approx(widths[:-1])  # gaps as wide as the ring before


def test_what_is_no_width_is_refused():
    with pytest.raises(BadSetting, match="0 to 5 mm wide"):
        hairlines("upright", left_mm=0.0, top_mm=0.0, channels=RGB, widths_mm=(0.1, 0.0))
    with pytest.raises(BadSetting, match="0 to 5 mm wide"):
        line_pairs("upright", left_mm=0.0, top_mm=0.0, channels=RGB, widths_mm=())
    with pytest.raises(BadSetting, match="a width and a radius"):
        ring_target(left_mm=0.0, top_mm=0.0, channels=RGB, widths_mm=(-1.0,))
