"""What is measured with a ruler, cut up, or looked through: length marks, wear bar, bare window, arrows."""

import numpy as np
import pytest
from drawn_elements import BLACK, RGB, drawn, inside

from laydown.kernel.errors import BadSetting
from laydown.science.forms.direction_arrows import direction_arrow
from laydown.science.forms.length_marks import length_marks
from laydown.science.forms.wear_bar import CAUTION, PIECE_MM, bare_window, wear_bar

AT = {"left_mm": 2.0, "top_mm": 2.0}


@pytest.mark.parametrize("ppi", [300, 360, 720])
def test_middles_of_drawn_crosses_lie_at_the_stated_distance(ppi):
    marks = length_marks(channels=BLACK, across_mm=100.0, along_mm=50.0, **AT)
    ink = drawn(marks, channels=BLACK, ppi=ppi)[..., 0].astype(float)
    found = []
    for mark in marks:
        x, y = mark.facts["middle_mm"]
        arm = mark.facts["arm_mm"]
        part = inside(ink, (x - arm - 0.2, y - arm - 0.2, x + arm + 0.2, y + arm + 0.2), ppi)
        left, top = round((x - arm - 0.2) * ppi / 25.4), round((y - arm - 0.2) * ppi / 25.4)
        rows, columns = np.indices(part.shape)
        weight = part.sum()
        found.append(
            ((part * (columns + 0.5)).sum() / weight + left, (part * (rows + 0.5)).sum() / weight + top)
        )
    corner, across, along = np.array(found) * 25.4 / ppi
    # The ink of a pixel is counted at its middle, wherever in it the line lies: that is off by some
    # hundredths of a pixel for lines of one or two pixels.
    assert across - corner == pytest.approx([100.0, 0.0], abs=0.05 * 25.4 / ppi)
    assert along - corner == pytest.approx([0.0, 50.0], abs=0.05 * 25.4 / ppi)
    assert [mark.facts.get("distance_mm") for mark in marks] == [None, 100.0, 50.0]


def test_crosses_over_each_other_are_refused():
    with pytest.raises(BadSetting, match="over each other"):
        length_marks(channels=RGB, across_mm=10.0, along_mm=50.0, **AT)


@pytest.mark.parametrize(("light", "ink"), [(0.0, 255), (0.5, 128)])
def test_the_bar_is_solid_and_cutting_marks_lie_outside_it_every_30_mm(light, ink):
    ppi = 300
    element = wear_bar(channels=BLACK, light=light, **AT)
    pixels = drawn([element], channels=BLACK, ppi=ppi)[..., 0]
    left, top, right, bottom = element.facts["bar_mm"]
    assert (inside(pixels, element.facts["bar_mm"], ppi) == ink).all()
    assert np.diff((left, *element.facts["cuts_mm"], right)) == pytest.approx(PIECE_MM == 30.0 and 30.0)
    for y in (top - 1.5, bottom + 1.5):  # across the cutting lines
        row = pixels[round(y * ppi / 25.4), round(left * ppi / 25.4) : round(right * ppi / 25.4)]
        starts = np.flatnonzero(np.diff((row > 127).astype(int)) == 1)
        at = left + (starts + 1) * 25.4 / ppi
        assert at == pytest.approx(element.facts["cuts_mm"], abs=0.25)  # half a line and a pixel
    for y in (top - 0.2, bottom + 0.2):  # nothing touches the bar
        assert (pixels[round(y * ppi / 25.4)] == 0).all()


def test_the_caution_says_what_is_usual_with_blades():
    # Method of cutting and its cautions: common practice, no source.
    for words in ("glove", "straight edge", "away from your hand", "own rules"):
        assert words in CAUTION
    with pytest.raises(BadSetting, match="too small for rub, tape and fold"):
        wear_bar(channels=RGB, pieces=2, **AT)


def test_nothing_is_printed_in_the_window():
    ppi = 300
    element = bare_window(channels=BLACK, **AT)
    pixels = drawn([element], channels=BLACK, ppi=ppi)[..., 0]
    assert (inside(pixels, element.facts["window_mm"], ppi) == 0).all()
    left, top, right, bottom = element.facts["window_mm"]
    for x in (left - 3.0, right):
        for y in (top - 3.0, bottom):
            assert inside(pixels, (x, y, x + 3.0, y + 3.0), ppi).max() > 100  # a corner each
    with pytest.raises(BadSetting, match="too small to read"):
        bare_window(channels=BLACK, width_mm=10.0, **AT)


@pytest.mark.parametrize(
    ("points", "way"), [("up", (0, -1)), ("right", (1, 0)), ("down", (0, 1)), ("left", (-1, 0))]
)
def test_an_arrow_is_heavier_on_the_side_it_points_to(points, way):
    element = direction_arrow("feed", points, channels=BLACK, **AT)
    outline = element.paints[0].contours[0]
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2.0
    only = type(element)("arrow", "", element.box, element.paints[:1])
    ink = drawn([only], channels=BLACK, ppi=300)[..., 0].astype(float)
    rows, columns = np.indices(ink.shape)
    heavy = np.array([(ink * (columns + 0.5)).sum(), (ink * (rows + 0.5)).sum()]) / ink.sum() * 25.4 / 300
    assert (heavy - middle) @ np.array(way) > 0.2
    assert abs((heavy - middle) @ np.array(way[::-1])) < 0.01
    assert element.facts["points"] == points


def test_an_arrow_to_nowhere_is_refused():
    with pytest.raises(BadSetting, match='point "north"'):
        direction_arrow("feed", "north", channels=RGB, **AT)
    with pytest.raises(BadSetting, match="too long a word"):
        direction_arrow("extraordinarily", "up", channels=RGB, **AT)
