"""The outside of a chart in device space."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.gamut import (
    DeviceSurface,
    NoSurface,
    average_by_colour,
    cube_faces,
    device_surface,
    explain_surface,
    hull_volume,
    is_closed,
    unique_colours,
    volume,
)

IRREGULAR = [0.0, 0.1, 0.35, 0.4, 0.9, 1.0]


def cube_volume(device: np.ndarray, surface: DeviceSurface) -> float:
    return float(volume(device, surface.triangles))


@pytest.mark.parametrize("cells", [1, 2, 5, 8])
def test_a_grid_gives_the_counts_of_a_cube(cells: int) -> None:
    # A 9-level RGB surface has 386 vertices and 768 triangles (method notes, section 5).
    device = cube_faces(cells)
    surface = device_surface(device, channels=("R", "G", "B"))
    assert surface is not None
    assert len(device) == len(surface.vertices) == 6 * cells**2 + 2
    assert len(surface.triangles) == 12 * cells**2
    assert surface.longest_edge == pytest.approx(1 / cells)
    assert cube_volume(device, surface) == pytest.approx(1.0, abs=1e-12)


def test_patches_inside_are_left_out(rng: np.random.Generator) -> None:
    device = np.concatenate([rng.uniform(0.1, 0.9, (50, 3)), cube_faces(3)])
    surface = device_surface(device)
    assert surface is not None
    assert surface.vertices.min() == 50


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(0, 30), st.integers(0, 12), st.sampled_from([255, 100, 65535]))
def test_scattered_points_on_faces_and_edges_close(
    seed: int, on_faces: int, on_edges: int, scale: int
) -> None:
    rng = np.random.default_rng(seed)
    faces = rng.integers(0, scale + 1, (on_faces, 3)).astype(np.float64)
    faces[np.arange(on_faces), rng.integers(0, 3, on_faces)] = scale * rng.integers(0, 2, on_faces)
    edges = scale * rng.integers(0, 2, (on_edges, 3)).astype(np.float64)
    edges[np.arange(on_edges), rng.integers(0, 3, on_edges)] = rng.integers(0, scale + 1, on_edges)
    device = unique_colours(np.concatenate([cube_faces(1), faces / scale, edges / scale])).device
    surface = device_surface(device)
    assert surface is not None
    assert len(surface.vertices) == len(device)  # every patch on a face is used
    # Euler: a closed surface without handles has f = 2 v - 4 triangles.
    assert len(surface.triangles) == 2 * len(device) - 4
    assert cube_volume(device, surface) == pytest.approx(1.0, abs=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_order_of_patches_does_not_change_the_mesh_of_a_grid(seed: int) -> None:
    device = cube_faces(4)
    order = np.random.default_rng(seed).permutation(len(device))
    straight, shuffled = device_surface(device), device_surface(device[order])
    assert straight is not None
    assert shuffled is not None
    as_set = {frozenset(t) for t in straight.triangles.tolist()}
    assert as_set == {frozenset(t) for t in order[shuffled.triangles].tolist()}


def test_a_missing_corner_is_named() -> None:
    device = cube_faces(3)
    without_red = device[~(device == [1.0, 0.0, 0.0]).all(axis=1)]
    found = explain_surface(without_red)
    assert isinstance(found, NoSurface)
    assert "(100%, 0%, 0%)" in found.reason
    assert device_surface(without_red) is None


def test_a_face_with_a_patch_missing_is_mended_from_its_neighbours() -> None:
    device = cube_faces(4)
    gone = (device == [1.0, 0.5, 0.25]).all(axis=1)
    assert gone.sum() == 1
    surface = device_surface(device[~gone])
    assert surface is not None
    assert cube_volume(device[~gone], surface) == pytest.approx(1.0, abs=1e-12)
    assert surface.longest_edge > 0.25


def cmyk_chart(levels: list[float]) -> np.ndarray:
    grid = np.stack(np.meshgrid(*[levels] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    return np.asarray(grid, dtype=np.float64)


def prism_lab(device: np.ndarray) -> np.ndarray:
    """An invented print in which only the CMYK surface is on the outside: a grey axis and a hexagon."""
    ink, black = device[:, :3], device[:, 3:]
    mean = ink.mean(axis=1, keepdims=True)
    chroma = 80.0 * (1.0 - 0.9 * black) * (ink @ np.array([[1.0, 0.0], [-0.5, 0.866], [-0.5, -0.866]]))
    lightness = 95.0 - 30.0 * mean - 60.0 * black
    return np.hstack([lightness, chroma])


def test_cmyk_surface_closes_and_lies_between_its_parts() -> None:
    device = unique_colours(cmyk_chart(IRREGULAR)).device
    surface = device_surface(device, channels=("C", "M", "Y", "K"))
    assert surface is not None
    assert is_closed(surface.triangles)
    lab = prism_lab(device)
    assert 0.8 < float(volume(lab, surface.triangles) / hull_volume(lab)) <= 1.0 + 1e-9
    # Every edge-circuit colour is used, and nothing strictly inside device space.
    used = device[surface.vertices]
    assert ((used == 0.0) | (used == 1.0)).any(axis=1).all()
    assert {tuple(c) for c in np.round(used, 9) if set(c) <= {0.0, 1.0}} == {
        c for c in np.ndindex(2, 2, 2, 2) if c not in {(1, 1, 1, 0), (0, 0, 0, 1)}
    }


def test_cmyk_volume_of_a_prism_is_exact() -> None:
    # Lab = the hexagonal prism itself: area of the hexagon of side 1 = 3 sqrt(3) / 2, height 1.
    device = unique_colours(cmyk_chart([0.0, 0.3, 1.0])).device
    surface = device_surface(device)
    assert surface is not None
    hexagon = device[:, :3] @ np.array([[1.0, 0.0], [-0.5, np.sqrt(0.75)], [-0.5, -np.sqrt(0.75)]])
    places = np.column_stack([1.0 - device[:, 3], hexagon])
    assert float(volume(places, surface.triangles)) == pytest.approx(1.5 * np.sqrt(3.0), rel=1e-12)


def test_charts_without_a_known_surface_say_so() -> None:
    six = explain_surface(np.eye(6))
    assert isinstance(six, NoSurface)
    assert "this chart has 6" in six.reason
    light_inks = explain_surface(cmyk_chart([0.0, 1.0]), channels=("C", "M", "Y", "O"))
    assert isinstance(light_inks, NoSurface)
    assert "C, M, Y, O" in light_inks.reason
    no_black = cmyk_chart([0.0, 0.5, 1.0])
    reason = explain_surface(no_black[no_black[:, 3] == 0.0])
    assert isinstance(reason, NoSurface)
    assert "more" in reason.reason
    assert device_surface(np.empty((0, 3))) is None


def test_float_noise_at_the_ends_of_scale_does_not_open_the_mesh(rng: np.random.Generator) -> None:
    # Scattered faces, so that Delaunay is asked, with ends of scale a rounding error away from 0 and 1.
    extra = rng.uniform(0.1, 0.9, (30, 3))
    extra[np.arange(30), np.arange(30) % 3] = np.arange(30) % 2
    edges = np.zeros((24, 3))
    edges[np.arange(24), np.arange(24) % 3] = rng.uniform(0.1, 0.9, 24)
    edges[12:, 0] = np.where(edges[12:, 0] == 0.0, 1.0, edges[12:, 0])
    device = np.concatenate([cube_faces(1), extra, edges])
    noise = rng.uniform(-1e-6, 1e-6, device.shape)
    surface = device_surface(device + noise)
    assert surface is not None
    assert len(surface.vertices) == len(device)
    assert cube_volume(device, surface) == pytest.approx(1.0, abs=1e-9)


def test_wrong_shape_is_refused() -> None:
    with pytest.raises(BadSetting, match="table of colours"):
        device_surface(np.zeros(3))


@pytest.mark.shared_data
@pytest.mark.parametrize("name", ["chart-2033-M0", "chart-2033-M2", "chart-3190-M0", "chart-3190-M2"])
def test_measured_rgb_charts_have_a_surface_inside_their_hull(measured_chart, name: str) -> None:
    chart = measured_chart(f"inkjet-matte/{name}.txt")
    unique = unique_colours(chart.device)
    surface = device_surface(unique.device, channels=chart.channels)
    assert surface is not None
    assert surface.longest_edge < 0.13
    lab = average_by_colour(chart.lab, unique)
    assert 0.85 < float(volume(lab, surface.triangles) / hull_volume(lab)) < 1.0


@pytest.mark.shared_data
def test_two_charts_of_one_paper_agree(measured_chart) -> None:
    # Two prints of the same paper with different charts: regular faces and scattered faces. Tolerance ours.
    volumes = []
    for name in ("chart-2033-M0", "chart-3190-M0"):
        chart = measured_chart(f"inkjet-matte/{name}.txt")
        unique = unique_colours(chart.device)
        surface = device_surface(unique.device)
        assert surface is not None
        volumes.append(float(volume(average_by_colour(chart.lab, unique), surface.triangles)))
    assert volumes[0] == pytest.approx(volumes[1], rel=0.01)


@pytest.mark.shared_data
@pytest.mark.parametrize(
    "name", ["FOGRA28L", "FOGRA39L", "TR002", "TR005", "ISO15339-CRPC1", "ISO15339-CRPC7"]
)
def test_measured_cmyk_charts_have_a_surface_inside_their_hull(measured_chart, name: str) -> None:
    chart = measured_chart(f"standard-conditions/{name}.txt")
    unique = unique_colours(chart.device)
    surface = device_surface(unique.device, channels=chart.channels)
    assert surface is not None
    lab = average_by_colour(chart.lab, unique)
    assert 0.85 < float(volume(lab, surface.triangles) / hull_volume(lab)) < 1.0
