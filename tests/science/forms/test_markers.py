"""Marks drawn cell by cell, found by the family's own detector, and their corners refined."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from laydown.kernel.errors import BadSetting
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.mark_corners import refined_corners
from laydown.science.forms.markers import find_marks, mark_cells, mark_element, marks_there_are
from laydown.science.forms.page import Box, Page

RGB = ("R", "G", "B")
CELLS = 8  # of the dark square


def page_of_marks(numbers, *, size_mm=8.0, across=8, pitch_mm=13.0):
    marks = tuple(
        mark_element(
            number,
            left_mm=1.3 + pitch_mm * (place % across),
            top_mm=1.7 + pitch_mm * (place // across),
            size_mm=size_mm,
            dark=(0.0, 0.0, 0.0),
        )
        for place, number in enumerate(numbers)
    )
    rows = -(-len(numbers) // across)
    return Page("marks", pitch_mm * across + 3.0, pitch_mm * rows + 3.0, RGB, marks)


def drawn(page, *, ppi):
    return np.concatenate([band[..., 1] for band in draw_bands(page, ppi=ppi)])


def squares(page):
    return {one.facts["number"]: Box(*one.facts["square_mm"]) for one in page.elements}


def test_there_are_as_many_as_the_family_has():
    assert marks_there_are() == 587  # from memory; the library's own table has as many


def test_the_detector_reads_every_mark_of_the_family():
    # Drawn from the cells alone, 6 pixels each; the detector is the judge.
    for first in range(0, marks_there_are(), 40):
        numbers = range(first, min(first + 40, marks_there_are()))
        picture = np.full((5 * 90, 8 * 90), 255, dtype=np.uint8)
        for place, number in enumerate(numbers):
            cells = np.kron(mark_cells(number), np.ones((6, 6), dtype=bool))
            top, left = 90 * (place // 8) + 10, 90 * (place % 8) + 10
            picture[top : top + len(cells), left : left + len(cells)][cells] = 0
        assert {one.number for one in find_marks(picture)} == set(numbers)


def test_a_mark_that_is_not_there_is_refused():
    for number in (-1, 587):
        with pytest.raises(BadSetting, match="there is no mark"):
            mark_cells(number)


def test_corners_of_a_drawn_mark_lie_where_its_facts_say():
    page = page_of_marks(range(16), size_mm=8.0)
    grey = drawn(page, ppi=300)
    places = squares(page)
    found = find_marks(grey)
    assert len(found) == 16
    for mark in found:
        wanted = places[mark.number].corners() * 300 / 25.4
        # As the detector finds them: a fraction of a pixel.
        np.testing.assert_allclose(mark.corners, wanted, atol=0.5)
        refined = refined_corners(grey.astype(float), mark.corners, cells=CELLS)
        np.testing.assert_allclose(refined, wanted, atol=0.05)  # a twentieth, as the docstring says


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_the_first_corner_is_the_one_drawn_top_left_whichever_way_the_page_lies(turn):
    page = page_of_marks([3, 77], across=2)
    upright = drawn(page, ppi=300)
    rows, columns = upright.shape
    for mark in find_marks(np.ascontiguousarray(np.rot90(upright, turn))):
        wanted = squares(page)[mark.number].corners() * 300 / 25.4
        for _ in range(turn):  # a quarter turn against the clock: (x, y) to (y, width - x)
            wanted = np.column_stack([wanted[:, 1], columns - wanted[:, 0]])
            rows, columns = columns, rows
        rows, columns = upright.shape
        np.testing.assert_allclose(mark.corners, wanted, atol=0.5)


@pytest.mark.parametrize(("blur", "noise"), [(0.8, 2.0), (1.5, 5.0), (2.5, 8.0)])
def test_refined_corners_hold_against_blur_and_noise(blur, noise):
    rng = np.random.default_rng(7)
    page = page_of_marks(range(24), size_mm=10.0, pitch_mm=16.0)
    grey = gaussian_filter(drawn(page, ppi=300).astype(float), blur) * 0.8 + 20.0
    grey = np.clip(grey + rng.normal(0.0, noise, grey.shape), 0.0, 255.0)
    found = find_marks(grey.astype(np.uint8))
    assert len(found) == 24
    away = [
        refined_corners(grey, mark.corners, cells=CELLS) - squares(page)[mark.number].corners() * 300 / 25.4
        for mark in found
    ]
    # 0.1 mm are 1.2 pixels at 300 ppi; a tenth of that for one corner leaves room for everything else.
    assert np.sqrt(np.mean(np.square(away))) < 0.12


def test_a_corner_that_is_not_there_is_not_made_up():
    page = page_of_marks([5], across=1)
    grey = drawn(page, ppi=300)
    (mark,) = find_marks(grey)
    torn = grey.astype(float)
    torn[:, : int(mark.corners[:, 0].mean())] = 255.0  # half of it covered
    assert refined_corners(torn, mark.corners, cells=CELLS) is None
    cut = grey[:, int(mark.corners[:, 0].mean()) :].astype(float)  # half of it beyond the picture
    assert refined_corners(cut, mark.corners - (mark.corners[:, 0].mean(), 0.0), cells=CELLS) is None


def test_a_mark_found_twice_is_left_out():
    page = page_of_marks([9, 9, 4, 11])
    assert {one.number for one in find_marks(drawn(page, ppi=300))} == {4, 11}


def test_a_mirrored_mark_is_not_taken_for_any():
    page = page_of_marks(range(64))
    assert find_marks(np.ascontiguousarray(drawn(page, ppi=200)[:, ::-1])) == ()


def test_nothing_is_found_in_nothing():
    rng = np.random.default_rng(3)
    assert find_marks(np.full((600, 600), 200, dtype=np.uint8)) == ()
    assert find_marks(rng.integers(0, 256, (900, 900)).astype(np.uint8)) == ()


def test_a_coarser_search_finds_the_same_places():
    page = page_of_marks(range(8), size_mm=10.0, pitch_mm=16.0)
    grey = drawn(page, ppi=600)
    fine, coarse = (
        {one.number: refined_corners(grey.astype(float), one.corners, cells=CELLS) for one in found}
        for found in (find_marks(grey), find_marks(grey, coarser=4.0))
    )
    assert fine.keys() == coarse.keys() == set(range(8))
    for number, corners in fine.items():
        np.testing.assert_allclose(coarse[number], corners, atol=0.05)
