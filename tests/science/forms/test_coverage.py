"""The share of each pixel that a shape covers, against closed forms and another library's areas."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.forms.coverage import Sides

# Sums of at most a few thousand terms of order one in double precision.
ROUNDING = 1e-9


def star(rng, *, middle, reach, corners=9):
    """A simple polygon: corners in the order of their direction, at odd distances."""
    # No gap between directions is half a turn, so that no two sides cross.
    angles = 2.0 * np.pi * (np.arange(corners) + rng.uniform(0.0, 0.9, corners)) / corners
    away = rng.uniform(0.3, 1.0, corners) * reach
    return np.column_stack([middle[0] + away * np.cos(angles), middle[1] + away * np.sin(angles)])


def shoelace(points):
    x, y = points.T
    return abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2.0


def square_under_line(a, b, c):
    """The area of the unit square where a x + b y <= c, for a, b > 0.

    Derived: the triangle below the line less those cut off by x = 1 and y = 1, plus what was taken twice.
    """

    def triangle(d):
        return np.maximum(d, 0.0) ** 2 / (2.0 * a * b)

    return triangle(c) - triangle(c - a) - triangle(c - b) + triangle(c - a - b)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_the_whole_is_the_area_of_the_polygon(seed):
    points = star(np.random.default_rng(seed), middle=(15.3, 12.8), reach=11.0)
    covered = Sides.of([points]).coverage(columns=(0, 30), rows=(0, 26))
    assert covered.sum() == pytest.approx(shoelace(points), abs=1e-7)  # shoelace formula


@pytest.mark.parametrize("degrees", [0.5, 2.0, 5.0, 9.7, 33.0, 45.0, 71.0, 89.0])
def test_a_half_plane_is_covered_as_its_closed_form_says(degrees):
    turn = np.radians(degrees)
    a, b, d = np.cos(turn), np.sin(turn), 13.37
    far = 200.0
    along, foot = np.array([-b, a]), np.array([a, b]) * d
    back = foot - far * np.array([a, b])
    contour = np.array([foot - far * along, foot + far * along, back + far * along, back - far * along])
    rows, columns = np.mgrid[0:24, 0:28]
    wanted = square_under_line(a, b, d - a * columns - b * rows)
    found = Sides.of([contour]).coverage(columns=(0, 28), rows=(0, 24))
    np.testing.assert_allclose(found, wanted, atol=ROUNDING)


@pytest.mark.parametrize("seed", range(6))
def test_each_pixel_is_as_another_library_says(seed):
    # shapely 2.2 (GEOS) intersects polygons exactly.
    rng = np.random.default_rng(seed)
    outer = star(rng, middle=(10.2, 9.4), reach=9.0)
    hole = (10.2, 9.4) + 0.2 * (outer - (10.2, 9.4))
    found = Sides.of([outer, hole[::-1]]).coverage(columns=(0, 20), rows=(0, 19))
    polygon = shapely.Polygon(outer, [hole])
    assert polygon.is_valid
    rows, columns = np.mgrid[0:19, 0:20]
    cells = shapely.box(columns, rows, columns + 1, rows + 1)
    np.testing.assert_allclose(found, shapely.area(shapely.intersection(cells, polygon)), atol=ROUNDING)
    assert found.min() == 0.0
    assert found.max() == pytest.approx(1.0)


def test_a_hole_is_bare():
    square = np.array([(1.0, 1.0), (9.0, 1.0), (9.0, 9.0), (1.0, 9.0)])
    hole = np.array([(3.0, 3.0), (6.5, 3.0), (6.5, 6.0), (3.0, 6.0)])[::-1]
    covered = Sides.of([square, hole]).coverage(columns=(0, 10), rows=(0, 10))
    assert covered[4, 4] == 0.0
    assert covered[4, 6] == pytest.approx(0.5)  # the hole ends in the middle of this pixel
    assert covered[2, 2] == 1.0
    assert covered.sum() == pytest.approx(64.0 - 3.5 * 3.0)


@given(
    seed=st.integers(0, 10_000),
    left=st.integers(-5, 25),
    top=st.integers(-5, 25),
    width=st.integers(1, 30),
    height=st.integers(1, 30),
)
@settings(max_examples=60, deadline=None)
def test_every_window_shows_its_part_of_the_whole(seed, left, top, width, height):
    points = star(np.random.default_rng(seed), middle=(12.0, 11.0), reach=14.0)
    whole = Sides.of([points]).coverage(columns=(-10, 60), rows=(-10, 60))
    part = Sides.of([points]).coverage(columns=(left, left + width), rows=(top, top + height))
    same = whole[top + 10 : top + 10 + height, left + 10 : left + 10 + width]
    np.testing.assert_allclose(part, same, atol=ROUNDING)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_the_way_round_does_not_matter(seed):
    points = star(np.random.default_rng(seed), middle=(8.0, 8.0), reach=9.0)
    one = Sides.of([points]).coverage(columns=(0, 16), rows=(0, 16))
    np.testing.assert_allclose(
        one, Sides.of([points[::-1]]).coverage(columns=(0, 16), rows=(0, 16)), atol=ROUNDING
    )


def test_whole_pixels_are_exactly_full_and_bare():
    square = np.array([(2.0, 3.0), (7.0, 3.0), (7.0, 5.0), (2.0, 5.0)])
    covered = Sides.of([square]).coverage(columns=(0, 10), rows=(0, 10))
    wanted = np.zeros((10, 10))
    wanted[3:5, 2:7] = 1.0
    np.testing.assert_array_equal(covered, wanted)
