"""Closed meshes and what they enclose."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.gamut import (
    average_by_colour,
    hull_triangles,
    hull_volume,
    is_closed,
    outward,
    signed_volume,
    unique_colours,
    volume,
)


def test_unit_cube_is_one(meshes) -> None:
    # Mesh sanity: unit cube = 1 (method notes, section 5: recomputed).
    for cells in (1, 3, 8):
        cube = meshes.cube(cells)
        assert float(volume(cube.vertices, cube.triangles)) == pytest.approx(1.0, abs=1e-12)


def test_sphere_from_a_40_cell_cube(meshes) -> None:
    # 4.1856 (method notes, section 5: recomputed; the sphere itself is 4.18879); half a last digit.
    ball = meshes.ball(40)
    assert float(volume(ball.vertices, ball.triangles)) == pytest.approx(4.1856, abs=5e-5)


def test_a_missing_turned_or_extra_face_is_not_closed(meshes) -> None:
    triangles = meshes.cube(2).triangles
    assert is_closed(triangles)
    assert not is_closed(triangles[1:])
    turned = triangles.copy()
    turned[0] = turned[0, ::-1]
    assert not is_closed(turned)
    assert not is_closed(np.concatenate([triangles, triangles[:1]]))
    assert not is_closed(np.empty((0, 3), dtype=np.int64))
    with pytest.raises(BadSetting, match="do not close"):
        volume(meshes.cube(2).vertices, triangles[1:])


def test_two_tetrahedra_beside_each_other_add_up() -> None:
    one = np.array([[0.0, 0, 0], [2, 0, 0], [0, 3, 0], [0, 0, 4]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    both = np.concatenate([one, one + 10.0])
    # A right tetrahedron is a sixth of its box: 2 x 3 x 4 / 6 = 4.
    assert float(volume(one, faces)) == pytest.approx(4.0, abs=1e-12)
    assert float(volume(both, np.concatenate([faces, faces + 4]))) == pytest.approx(8.0, abs=1e-12)


def test_mirror_image_is_turned_outward_again(meshes) -> None:
    cube = meshes.cube(2)
    mirrored = cube.vertices * np.array([1.0, -1.0, 1.0])
    assert float(signed_volume(mirrored, cube.triangles)) == pytest.approx(-1.0)
    assert float(signed_volume(mirrored, outward(mirrored, cube.triangles))) == pytest.approx(1.0)
    assert float(volume(mirrored, cube.triangles)) == pytest.approx(1.0)


def test_stacked_sheets_equal_a_loop(meshes, rng: np.random.Generator) -> None:
    ball = meshes.ball(4, radius=40.0, centre=(50.0, 0.0, 0.0))
    sheets = ball.vertices + rng.normal(size=(2, 3, *ball.vertices.shape))
    together = volume(sheets, ball.triangles)
    assert together.shape == (2, 3)
    for index in np.ndindex(2, 3):
        assert together[index] == pytest.approx(float(volume(sheets[index], ball.triangles)), rel=1e-13)
    hulls = hull_volume(sheets)
    assert hulls.shape == (2, 3)
    assert hulls[1, 2] == float(hull_volume(sheets[1, 2]))


def test_a_missing_colour_is_refused_by_count_but_an_unused_one_does_not_matter(meshes) -> None:
    cube = meshes.cube(2)
    holed = cube.vertices.copy()
    holed[[0, 5]] = np.nan
    with pytest.raises(NotEnoughData, match="2 colours on the surface"):
        volume(holed, cube.triangles)
    extra = np.concatenate([cube.vertices, [[np.nan] * 3]])
    assert float(volume(extra, cube.triangles)) == pytest.approx(1.0)


def test_shapes_that_are_no_mesh_are_refused(meshes) -> None:
    with pytest.raises(BadSetting, match="table of vertices"):
        volume(np.zeros((8, 2)), meshes.cube(1).triangles)
    with pytest.raises(BadSetting, match="only 5 vertices"):
        volume(np.zeros((5, 3)), meshes.cube(1).triangles)


def test_hull_of_a_dented_body_is_larger_and_its_triangles_enclose_it(rng: np.random.Generator) -> None:
    points = np.concatenate([rng.normal(size=(300, 3)) * 20.0, [[np.nan, 0.0, 0.0]]])
    triangles = hull_triangles(points)
    assert is_closed(triangles)
    assert float(signed_volume(points, triangles)) == pytest.approx(float(hull_volume(points)), rel=1e-12)


def test_hull_needs_four_colours_not_in_one_plane() -> None:
    with pytest.raises(NotEnoughData, match="only 3 have"):
        hull_volume(np.eye(3))
    with pytest.raises(NotEnoughData, match="one plane"):
        hull_volume(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [2, 1, 0]]))


angle = st.floats(-math.pi, math.pi)


@settings(max_examples=25, deadline=None)
@given(angle, angle, st.floats(-60, 60), st.floats(0.2, 5.0), st.integers(0, 2**32 - 1))
def test_volume_is_blind_to_place_and_order_and_grows_with_the_cube(
    meshes, turn: float, tilt: float, shift: float, scale: float, seed: int
) -> None:
    ball = meshes.ball(4, radius=30.0)
    rng = np.random.default_rng(seed)
    vertices = ball.vertices + rng.normal(size=ball.vertices.shape)
    before = float(volume(vertices, ball.triangles))
    c, s, d, t = math.cos(turn), math.sin(turn), math.cos(tilt), math.sin(tilt)
    rotation = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, d, -t], [0, t, d]])
    moved = scale * vertices @ rotation.T + shift
    order = rng.permutation(len(ball.triangles))
    assert float(volume(moved, ball.triangles[order][:, ::-1])) == pytest.approx(scale**3 * before, rel=1e-9)


@pytest.mark.shared_data
@pytest.mark.parametrize(
    ("name", "published"),
    # Convex hulls of all patches: reference figures of the measured data's README; asked for within 0.1 %.
    [
        ("inkjet-matte/chart-2033-M0.txt", 536_962),
        ("inkjet-matte/chart-2033-M2.txt", 519_067),
        ("inkjet-matte/chart-3190-M0.txt", 540_708),
        ("inkjet-matte/chart-3190-M2.txt", 522_934),
        ("standard-conditions/FOGRA39L.txt", 436_928),
        ("standard-conditions/TR005.txt", 335_597),
    ],
)
def test_hulls_of_measured_charts(measured_chart, name: str, published: float) -> None:
    assert float(hull_volume(measured_chart(name).lab)) == pytest.approx(published, rel=1e-3)


@pytest.mark.shared_data
def test_averaging_repeats_first_shrinks_a_hull_a_little(measured_chart) -> None:
    chart = measured_chart("inkjet-matte/chart-3190-M0.txt")
    averaged = average_by_colour(chart.lab, unique_colours(chart.device))
    # A hull reaches for the outermost reading of each colour; the mean of repeats lies inside. Bounds ours.
    assert 0.99 < float(hull_volume(averaged) / hull_volume(chart.lab)) < 1.0
