"""Slices at one lightness and volumes by hue."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.gamut import (
    columns,
    hue_sector_volumes,
    outline_area,
    reference_bodies,
    slice_outline,
    volume,
)


def area_by_columns(vertices, triangles, level: float, step: float = 0.25) -> float:
    cut = columns(vertices, triangles, step=step)
    return float(step**2 * np.count_nonzero((cut.low < level) & (cut.high > level)))


@pytest.mark.parametrize("level", [0.0, 2.5, 5.0, 7.5])
def test_slices_of_a_box_even_through_its_vertices(meshes, level: float) -> None:
    cube = meshes.cube(4)
    outlines = slice_outline(cube.vertices * 10.0, cube.triangles, level)
    assert len(outlines) == (1 if level > 0.0 else 0)
    # A vertex on the plane counts as above it: the bottom face is not cut, inner levels are, the top is.
    if level > 0.0:
        assert outline_area(outlines) == pytest.approx(100.0, rel=1e-12)


def test_top_is_cut_and_beyond_is_empty(meshes) -> None:
    cube = meshes.cube(4)
    assert outline_area(slice_outline(cube.vertices * 10.0, cube.triangles, 10.0)) == pytest.approx(100.0)
    assert slice_outline(cube.vertices * 10.0, cube.triangles, 10.01) == ()
    assert slice_outline(cube.vertices * 10.0, cube.triangles, -0.01) == ()


def test_slice_of_a_ball_is_a_circle_turning_left(meshes) -> None:
    ball = meshes.ball(40, radius=30.0, centre=(50.0, 5.0, -7.0))
    (outline,) = slice_outline(ball.vertices, ball.triangles, 62.0)
    radius = math.sqrt(30.0**2 - 12.0**2)
    # Chords of the triangles lie inside the ball by up to (edge / 2)^2 / (2 r), about 0.02 here.
    np.testing.assert_allclose(np.linalg.norm(outline - [5.0, -7.0], axis=1), radius, atol=0.05)
    assert outline_area((outline,)) == pytest.approx(math.pi * radius**2, rel=5e-3)
    mirrored = ball.triangles[:, ::-1]
    assert outline_area(slice_outline(ball.vertices, mirrored, 62.0)) > 0.0


def test_several_loops_and_holes(meshes) -> None:
    cube = meshes.cube(2)
    outer, hole, apart = (
        cube.vertices * 10.0,
        cube.vertices * 4.0 + 3.0,
        cube.vertices * 10.0 + [0.0, 30.0, 0.0],
    )
    size = len(outer)
    triangles = np.concatenate([cube.triangles, cube.triangles[:, ::-1] + size, cube.triangles + 2 * size])
    outlines = slice_outline(np.concatenate([outer, hole, apart]), triangles, 5.0)
    assert len(outlines) == 3
    assert outline_area(outlines) == pytest.approx(100.0 - 16.0 + 100.0, rel=1e-12)
    assert sorted(round(outline_area((line,))) for line in outlines) == [-16, 100, 100]


@pytest.mark.parametrize("name", sorted(reference_bodies()))
@pytest.mark.parametrize("level", [35.0, 50.0, 75.0])
def test_areas_agree_with_columns(name: str, level: float) -> None:
    vertices, triangles = reference_bodies()[name]
    area = outline_area(slice_outline(vertices, triangles, level))
    assert area == pytest.approx(area_by_columns(vertices, triangles, level), rel=5e-3)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(-9, 9))
def test_outlines_close_on_rounded_meshes(meshes, seed: int, level: int) -> None:
    ball = meshes.ball(4, radius=10.0)
    places = np.round(ball.vertices + np.random.default_rng(seed).normal(size=ball.vertices.shape) * 0.4)
    outlines = slice_outline(places, ball.triangles, float(level))
    for line in outlines:
        assert len(line) > 2
        assert (line != np.roll(line, 1, axis=0)).any(axis=1).all()
    just_below = slice_outline(places, ball.triangles, level - 1e-9)
    assert outline_area(outlines) == pytest.approx(outline_area(just_below), abs=1e-5)


def test_slices_add_up_to_the_volume() -> None:
    vertices, triangles = reference_bodies()["sRGB"]
    areas = [
        outline_area(slice_outline(vertices, triangles, level + 0.25)) for level in np.arange(0, 100, 0.5)
    ]
    assert 0.5 * sum(areas) == pytest.approx(float(volume(vertices, triangles)), rel=1e-3)


@pytest.mark.parametrize("sectors", [3, 6, 7, 12])
@pytest.mark.parametrize("name", sorted(reference_bodies()))
def test_sectors_add_up_to_the_volume(name: str, sectors: int) -> None:
    vertices, triangles = reference_bodies()[name]
    split = hue_sector_volumes(vertices, triangles, sectors=sectors)
    assert split.volume.shape == (sectors,)
    assert float(split.volume.sum()) == pytest.approx(float(volume(vertices, triangles)), rel=1e-12)
    assert (split.volume > 0.0).all()


def test_sectors_agree_with_columns() -> None:
    vertices, triangles = reference_bodies()["Adobe RGB (1998)"]
    # Edges away from 45 degrees, where whole diagonals of columns would fall to one side.
    split = hue_sector_volumes(vertices, triangles, start=350.0)
    cut = columns(vertices, triangles, step=0.5)
    hue = np.degrees(np.arctan2(cut.row + 0.5, cut.column + 0.5))
    sector = ((hue - 350.0) % 360.0 / 30.0).astype(int)
    by_columns = 0.25 * np.bincount(sector, weights=cut.high - cut.low, minlength=12)
    np.testing.assert_allclose(split.volume, by_columns, rtol=5e-3)


def test_a_ball_on_the_axis_has_equal_sectors(meshes) -> None:
    # Quarter turns carry the mesh of a cube into itself, but for the diagonals of its cells.
    ball = meshes.ball(12, radius=40.0, centre=(50.0, 0.0, 0.0))
    split = hue_sector_volumes(ball.vertices, ball.triangles, sectors=4, start=20.0)
    np.testing.assert_allclose(split.volume, split.volume.mean(), rtol=5e-4)


def test_a_body_beside_the_axis_lies_in_one_sector(meshes) -> None:
    ball = meshes.ball(6, radius=10.0, centre=(50.0, 0.0, 60.0))
    split = hue_sector_volumes(ball.vertices, ball.triangles)
    assert split.names[0] == "345-15 deg"
    assert split.names[3] == "75-105 deg"
    expected = np.zeros(12)
    expected[3] = float(volume(ball.vertices, ball.triangles))
    np.testing.assert_allclose(split.volume, expected, atol=1e-9)


def test_turning_the_body_by_a_sector_moves_the_volumes_by_one() -> None:
    vertices, triangles = reference_bodies()["sRGB"]
    turn = math.radians(30.0)
    rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    turned = np.column_stack([vertices[:, 0], vertices[:, 1:] @ rotation.T])
    before = hue_sector_volumes(vertices, triangles).volume
    np.testing.assert_allclose(hue_sector_volumes(turned, triangles).volume, np.roll(before, 1), rtol=1e-9)


def test_stacked_sheets_equal_a_loop_and_winding_does_not_matter(meshes, rng: np.random.Generator) -> None:
    ball = meshes.ball(4, radius=40.0, centre=(50.0, 2.0, 3.0))
    sheets = ball.vertices + rng.normal(size=(2, 2, *ball.vertices.shape))
    together = hue_sector_volumes(sheets, ball.triangles).volume
    assert together.shape == (2, 2, 12)
    for index in np.ndindex(2, 2):
        alone = hue_sector_volumes(sheets[index], ball.triangles[:, ::-1]).volume
        np.testing.assert_allclose(together[index], alone, rtol=1e-12)


def test_refusals(meshes) -> None:
    cube = meshes.cube(2)
    with pytest.raises(BadSetting, match="three sectors"):
        hue_sector_volumes(cube.vertices, cube.triangles, sectors=2)
    with pytest.raises(BadSetting, match="do not close"):
        hue_sector_volumes(cube.vertices, cube.triangles[1:])
    with pytest.raises(BadSetting, match="do not close"):
        slice_outline(cube.vertices, cube.triangles[1:], 0.5)
    holed = cube.vertices.copy()
    holed[0] = np.nan
    with pytest.raises(NotEnoughData, match="1 colours"):
        slice_outline(holed, cube.triangles, 0.5)
