"""A page placed by its marks, true places being known; what contradicts them is left out or refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.forms.markers import FoundMark
from laydown.science.forms.page import Box
from laydown.science.forms.placing import FEWEST_MARKS, NotPlaced, Placement, place_page

WIDTH, HEIGHT = 609.6, 914.4  # 24 x 36 in
PER_MM = 300 / 25.4


def grid(*, across=5, down=6, size=10.0):
    return {
        number: Box(x, y, x + size, y + size)
        for number, (x, y) in enumerate(
            (12.0 + i * (WIDTH - 24.0 - size) / (across - 1), 12.0 + j * (HEIGHT - 24.0 - size) / (down - 1))
            for j in range(down)
            for i in range(across)
        )
    }


def seen(squares, truth, *, rng=None, noise=0.0):
    rng = rng or np.random.default_rng(0)
    return [
        FoundMark(number, truth(box.corners()) + rng.normal(0.0, noise, (4, 2)))
        for number, box in squares.items()
    ]


def turned(angle, *, slant=(0.0, 0.0), shrink=(1.0, 1.0), sway=0.0, bend=0.0):
    """Where places of the page truly lie: shrunk, swaying along the feed, turned, seen from a slant."""
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def truth(points):
        swayed = points + np.column_stack(
            [sway * np.sin(points[:, 1] / HEIGHT * 3.0), bend * (points[:, 0] / WIDTH - 0.5) ** 2]
        )
        at = (swayed * shrink) @ turn.T
        return (at / (1.0 + at @ np.array(slant))[:, None] + 2000.0) * PER_MM

    return truth


def places(rng, n=300):
    return rng.uniform((12.0, 12.0), (WIDTH - 12.0, HEIGHT - 12.0), (n, 2))


@given(angle=st.floats(-np.pi, np.pi), seed=st.integers(0, 1000))
@settings(max_examples=10, deadline=None)
def test_any_rotation_slant_and_shrinkage_is_followed_exactly(angle, seed):
    rng = np.random.default_rng(seed)
    truth = turned(angle, slant=rng.normal(0.0, 2e-5, 2), shrink=(1.0, 1.0 - 0.007 * rng.random()))
    placed = place_page(seen(grid(), truth), grid())
    assert isinstance(placed, Placement)
    points = places(rng)
    np.testing.assert_allclose(placed.to_pixels(points), truth(points), atol=1e-4)
    np.testing.assert_allclose(placed.to_mm(truth(points)), points, atol=1e-5)
    assert placed.way.degree == 0 or placed.error_mm < 1e-6
    assert placed.pixels_per_mm == pytest.approx(PER_MM, rel=0.05)


def test_a_page_that_sways_is_followed_within_a_tenth_of_a_mm():
    truth = turned(0.4, shrink=(1.0, 0.993), sway=0.3, bend=0.4)
    rng = np.random.default_rng(4)
    placed = place_page(seen(grid(), truth, rng=rng, noise=0.05), grid())
    assert isinstance(placed, Placement)
    assert placed.way.degree > 0
    points = places(rng)
    away = np.linalg.norm(placed.to_pixels(points) - truth(points), axis=1) / PER_MM
    assert away.max() < 0.1
    back = np.linalg.norm(placed.to_mm(placed.to_pixels(points)) - points, axis=1)
    assert back.max() < 1e-3


def test_no_bend_is_seen_where_there_is_only_noise():
    bent = [
        place_page(seen(grid(), turned(0.1), rng=np.random.default_rng(seed), noise=0.3), grid()).way.degree
        for seed in range(10)
    ]
    assert bent.count(0) >= 9  # a gain of a fifth at marks kept out is rare by chance (chosen here)


def test_the_error_it_says_is_the_error_it_has():
    said, had = [], []
    for seed in range(10):
        rng = np.random.default_rng(seed)
        truth = turned(rng.uniform(-3, 3), sway=rng.normal(0.0, 0.2), bend=rng.normal(0.0, 0.2))
        placed = place_page(seen(grid(), truth, rng=rng, noise=0.4), grid())
        points = places(rng)
        away = np.linalg.norm(placed.to_pixels(points) - truth(points), axis=1) / PER_MM
        said.append(placed.error_mm)
        had.append(np.quantile(away, 0.95))
    # What it says holds the noise of a single mark too, so it is rarely below the truth.
    assert np.mean(np.array(said) >= np.array(had)) >= 0.9


def test_marks_that_contradict_the_others_are_left_out():
    truth = turned(-1.1, shrink=(1.0, 0.995))
    found = seen(grid(), truth, rng=np.random.default_rng(1), noise=0.1)
    found[3] = FoundMark(3, found[3].corners + 60.0)  # 5 mm away
    found[17] = FoundMark(17, found[17].corners[::-1])  # the other way round
    placed = place_page(found, grid())
    assert isinstance(placed, Placement)
    assert placed.left_out == (3, 17)
    assert 3 not in placed.marks
    assert len(placed.marks) == 28
    points = places(np.random.default_rng(2))
    assert np.abs(placed.to_pixels(points) - truth(points)).max() / PER_MM < 0.05


def test_a_mark_that_something_lies_on_in_part_is_left_out():
    truth = turned(0.6, shrink=(1.0, 0.993), slant=(1e-5, 0.0))
    found = seen(grid(), truth, rng=np.random.default_rng(1), noise=0.05)
    sound = place_page(found, grid())
    # An edge lies along its right side, 0.2 mm in: the middle moves by 0.1 mm, and nothing else does.
    covered = grid()[12].corners() - np.array([(0.0, 0.0), (0.2, 0.0), (0.2, 0.0), (0.0, 0.0)])
    found[12] = FoundMark(12, truth(covered))
    placed = place_page(found, grid())
    assert isinstance(sound, Placement)
    assert isinstance(placed, Placement)
    assert sound.left_out == ()
    assert placed.left_out == (12,)
    near = Box(*(one + 15.0 for one in (grid()[12].left_mm, grid()[12].top_mm) * 2)).inset(-2.0)
    (doubt,) = placed.doubts([near])
    assert "out of place or shape" in doubt
    assert sound.sure_of(near)


@pytest.mark.parametrize("gain", [0.98, 1.02])
def test_marks_that_ink_and_light_make_larger_both_ways_stay(gain):
    found = seen(grid(), turned(0.6), rng=np.random.default_rng(1), noise=0.05)
    middle = found[7].corners.mean(axis=0)
    found[7] = FoundMark(7, middle + gain * (found[7].corners - middle))
    placed = place_page(found, grid())
    assert isinstance(placed, Placement)
    assert placed.left_out == ()


def test_marks_of_another_page_are_not_used():
    other = {number + 100: box for number, box in grid().items()}
    refused = place_page(seen(other, turned(0.2)), grid())
    assert isinstance(refused, NotPlaced)
    assert refused.reason.startswith("0 of its 30 marks were found")
    # A page whose numbers are the same but whose places are not: it agrees with nothing.
    rng = np.random.default_rng(8)
    shuffled = dict(zip(grid(), rng.permutation(np.array(list(grid().values()), dtype=object)), strict=True))
    refused = place_page(seen(shuffled, turned(0.2)), grid())
    assert isinstance(refused, NotPlaced)
    assert "agree" in refused.reason


def test_a_mirrored_scan_is_refused_in_words():
    def mirrored(points):
        return turned(0.3)(points) * (-1.0, 1.0) + (9000.0, 0.0)

    refused = place_page(seen(grid(), mirrored), grid())
    assert isinstance(refused, NotPlaced)
    assert "mirror" in refused.reason
    # With corners in the order a reader of mirrored marks would give them, nothing agrees.
    found = [FoundMark(one.number, one.corners[::-1]) for one in seen(grid(), mirrored)]
    assert isinstance(place_page(found, grid()), NotPlaced)


def test_too_few_marks_are_not_enough():
    few = dict(list(grid().items())[: FEWEST_MARKS - 1])
    refused = place_page(seen(few, turned(0.0)), grid())
    assert isinstance(refused, NotPlaced)
    assert refused.reason.startswith("3 of its 30 marks were found; 4 are the least")
    assert refused.todo


def test_marks_on_one_line_are_not_enough():
    line = {number: box for number, box in grid().items() if number < 5}
    refused = place_page(seen(line, turned(0.7)), grid())
    assert isinstance(refused, NotPlaced)
    assert "on one line" in refused.reason


def test_only_what_lies_among_the_marks_is_sure():
    part = {number: box for number, box in grid().items() if number % 5 < 3 and number < 15}
    placed = place_page(seen(part, turned(0.2), rng=np.random.default_rng(0), noise=0.05), grid())
    assert isinstance(placed, Placement)
    assert placed.sure_of(Box(100.0, 100.0, 150.0, 150.0))
    assert placed.sure_of(Box(240.0, 300.0, 290.0, 340.0))
    (doubt,) = placed.doubts([Box(300.0, 350.0, 330.0, 380.0)])
    assert "marks about it were not found" in doubt
    assert not placed.sure_of(Box(560.0, 840.0, 590.0, 860.0))
    assert not placed.sure_of(Box(100.0, 100.0, 150.0, 150.0), within_mm=placed.error_mm / 2.0)


def test_with_few_marks_no_bend_is_tried():
    few = {number: box for number, box in grid().items() if number in (0, 4, 25, 29)}
    placed = place_page(seen(few, turned(0.3, sway=0.5)), grid())
    assert isinstance(placed, Placement)
    assert placed.way.degree == 0
