"""What holds for every element of a form, whatever it is for."""

import numpy as np
import pytest
from drawn_elements import BLACK, CMYK, ELEMENTS, RGB, SIX_INKS, drawn, made, page_of

from laydown.science.forms.line_targets import hairlines
from laydown.science.forms.page import Block, Element, extent
from laydown.science.forms.ring_target import ring_target
from laydown.science.forms.wave_target import wave_target

#: Facts that are places, as x and y or as boxes; all other lengths are sizes.
PLACES = {
    *(f"{side}_{what}_mm" for side in ("left", "top", "right", "bottom") for what in ("box", "edge")),
    *("middle_mm", "lines_mm", "groups_mm", "field_mm", "bar_mm", "comb_mm", "level_comb_mm"),
    *("steps_mm", "reference_mm", "window_mm", "code_mm"),
}
LEVELS = {"baselines_mm": 1, "cuts_mm": 0, "left_mm": 0}  # y alone, x alone


@pytest.mark.parametrize("channels", [RGB, CMYK, BLACK, SIX_INKS], ids="-".join)
@pytest.mark.parametrize("name", ELEMENTS)
def test_it_can_be_placed_on_a_page_of_any_channels(name, channels):
    page = page_of(made(name, channels=channels), channels=channels)  # refuses what is not well formed
    for element in page.elements:
        assert all(element.box.inset(-1e-9).holds(extent(paint)) for paint in element.paints)


@pytest.mark.parametrize("name", ELEMENTS)
def test_names_tell_elements_of_a_kind_apart(name):
    named = [(one.kind, one.name) for one in made(name)]
    assert len(set(named)) == len(named)


@pytest.mark.parametrize("name", ELEMENTS)
def test_it_is_the_same_anywhere(name):
    way = np.array([31.7, 12.9])
    for one, other in zip(made(name), made(name, left_mm=2.0 + way[0], top_mm=2.0 + way[1]), strict=True):
        assert other.box.corners() - one.box.corners() == pytest.approx(np.tile(way, (4, 1)))
        assert one.facts.keys() == other.facts.keys()
        for fact, value in one.facts.items():
            if fact in PLACES:
                moved = np.array(other.facts[fact]).reshape(-1, 2) - np.array(value).reshape(-1, 2)
                assert moved == pytest.approx(np.tile(way, (len(moved), 1)))
            elif fact in LEVELS:
                assert np.array(other.facts[fact]) - np.array(value) == pytest.approx(way[LEVELS[fact]])
            else:
                assert other.facts[fact] == value


@pytest.mark.parametrize("name", ELEMENTS)
def test_facts_are_plain_values_and_places_lie_inside_it(name):
    for element in made(name):
        left, top, right, bottom = element.box.corners()[[0, 2]].ravel()
        for fact, value in element.facts.items():
            assert type(value) in (float, int, str, tuple)
            assert not isinstance(value, tuple) or all(type(part) is float for part in value), fact
            if fact in PLACES:
                x, y = np.array(value).reshape(-1, 2).T
                assert ((left - 1e-9 <= x) & (x <= right + 1e-9)).all(), fact
                assert ((top - 1e-9 <= y) & (y <= bottom + 1e-9)).all(), fact


@pytest.mark.parametrize("name", ELEMENTS)
def test_nothing_is_drawn_outside_it(name):
    ppi = 100
    elements = made(name, left_mm=5.0, top_mm=5.0, channels=BLACK)
    ink = drawn(elements, channels=BLACK, ppi=ppi)[..., 0]
    rest = np.ones(ink.shape, dtype=bool)
    for element in elements:
        low = [int(np.floor(v * ppi / 25.4)) for v in (element.box.left_mm, element.box.top_mm)]
        high = [int(np.ceil(v * ppi / 25.4)) for v in (element.box.right_mm, element.box.bottom_mm)]
        rest[low[1] : high[1], low[0] : high[0]] = False
    assert (ink[rest] == 0).all()
    assert ink.max() > 0


@pytest.mark.parametrize("name", sorted(set(ELEMENTS) - {"bleed", "gradients"}))
def test_ink_and_light_show_the_same_neutral_picture(name):
    light = drawn(made(name), channels=RGB, ppi=90)
    black = drawn(made(name, channels=CMYK), channels=CMYK, ppi=90)
    assert (black[..., :3] == 0).all()
    # Each is rounded for itself, once for each paint that covers a pixel.
    assert np.abs(light.astype(int) - (255 - black[..., 3:].astype(int))).max() <= 3


def test_few_and_fine_lines_still_fit_their_words():
    for element in (
        hairlines("upright", left_mm=2.0, top_mm=2.0, channels=RGB, widths_mm=(0.075,)),
        ring_target(left_mm=2.0, top_mm=2.0, channels=RGB, widths_mm=(0.1,)),
        wave_target(left_mm=2.0, top_mm=2.0, channels=RGB, coarse=0.49, fine=4.1),
        wave_target(left_mm=2.0, top_mm=2.0, channels=RGB, coarse=0.49, fine=4.1, along="down"),
    ):
        page_of([element], channels=RGB)


@pytest.mark.parametrize("name", ["tint", "shadows", "wear-bar", "highlights"])
def test_flats_lie_on_whole_pixels(name):
    for element in made(name, channels=BLACK):
        flats = tuple(paint for paint in element.paints if isinstance(paint, Block))
        only = Element(element.kind, element.name, element.box, flats)
        # At 333 ppi no border given in mm falls on a border of pixels; still none is a mixture.
        codes = set(np.unique(drawn([only], channels=BLACK, ppi=333)))
        assert codes == {round(255 * paint.colour[0]) for paint in flats} | {0}
