"""The outside of a chart in device space, as a closed mesh of triangles between its patches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.errors import BadSetting
from laydown.science.gamut.mesh import is_closed
from laydown.science.gamut.unique import SAME_LEVEL

Fixed = tuple[tuple[int, float], ...]

# Cyan, magenta and yellow 120 degrees apart: looking down the grey axis the solid colours make a hexagon.
_HEXAGON = np.array([[1.0, 0.0], [-0.5, np.sqrt(0.75)], [-0.5, -np.sqrt(0.75)]])


@dataclass(frozen=True, slots=True, eq=False)
class DeviceSurface:
    """A closed mesh over the outside of device space.

    ``triangles`` (f, 3) are rows of the device table it was made from, wound outward in device space.
    ``vertices`` are the rows used, ascending. ``longest_edge`` is the longest side of a triangle as a
    fraction of full scale: how coarse the chart is (1 means a face with nothing between its corners).
    """

    triangles: Ints
    vertices: Ints
    longest_edge: float


@dataclass(frozen=True, slots=True)
class NoSurface:
    """Why a chart has no device-space surface, in a sentence for the reader."""

    reason: str


def device_surface(device: Floats, *, channels: Sequence[str] = ()) -> DeviceSurface | None:
    """Triangulate the outside of device space, or return None where the chart does not show it.

    Two colours that are neighbours in device space are neighbours on the print, so a mesh made there
    follows the dents of the gamut that a hull in Lab would bridge. Only for three channels (RGB or three
    inks) and for CMYK; use ``hull_volume`` otherwise and say so.

    Parameters
    ----------
    device : (u, k) different device colours, 0 to 1 (see ``unique_colours``); CMYK in that order
    channels : names of the k columns; where given, four channels must be C, M, Y, K

    Returns
    -------
    DeviceSurface, or None (``explain_surface`` tells why)

    Raises
    ------
    BadSetting
        if ``device`` is not a table of colours by channels.

    Notes
    -----
    Three channels: the six faces of the cube. CMYK: the three faces without black on which at least one
    colour ink is zero (paper to primaries and secondaries); the six walls on which black rises from the
    circuit cyan, blue, magenta, red, yellow, green; and the three faces with full black on which at least
    one colour ink is full. A face printed as a full grid is cut cell by cell, always along the diagonal
    from its low-low to its high-high corner; any other face by Delaunay triangulation of its points. Faces
    share the patches on their common edges, so the mesh closes; it is checked. Leave out colours without a
    reading beforehand, and the mesh is made from their neighbours.

    References
    ----------
    ISO/TS 18621-11:2022 (device-space triangulation; scope RGB and CMYK). The CMYK faces: common practice,
    no source.

    Checked against
    ---------------
    Reference volumes of seven RGB spaces; two measured RGB charts; sixteen CMYK data sets.
    """
    found = explain_surface(device, channels=channels)
    return found if isinstance(found, DeviceSurface) else None


def explain_surface(device: Floats, *, channels: Sequence[str] = ()) -> DeviceSurface | NoSurface:
    """Do as ``device_surface`` does, but return the reason where there is no surface.

    For the sentence beside a gamut that had to be a hull.

    Parameters
    ----------
    device : (u, k) different device colours, 0 to 1
    channels : names of the k columns

    Returns
    -------
    DeviceSurface or NoSurface

    Raises
    ------
    BadSetting
        if ``device`` is not a table of colours by channels.

    Notes
    -----
    See ``device_surface``.

    References
    ----------
    See ``device_surface``.

    Checked against
    ---------------
    Charts with a corner, an edge or a face taken out.
    """
    table = np.asarray(device, dtype=np.float64)
    if table.ndim != 2:
        what = f"Device values must be a table of colours by channels; got {table.ndim} axes."
        raise BadSetting(what)
    count = table.shape[1]
    names = tuple(name.upper()[:1] for name in channels)
    if count not in {3, 4}:
        return NoSurface(f"A surface is only known for three channels and for CMYK; this chart has {count}.")
    if count == 4 and names and names != ("C", "M", "Y", "K"):
        return NoSurface(f"Four channels must be C, M, Y, K; this chart has {', '.join(channels)}.")
    faces = _cube_faces() if count == 3 else _cmyk_faces()
    corners = _missing_corners(table, faces)
    if corners:
        wanted = ", ".join("(" + ", ".join(f"{v:.0%}" for v in c) + ")" for c in corners[:3])
        more = f" and {len(corners) - 3} more" if len(corners) > 3 else ""
        return NoSurface(f"The chart has no patch (or no reading) at full-scale corner {wanted}{more}.")
    triangles = np.concatenate([_face_triangles(table, fixed) for fixed in faces])
    triangles = _wound_outward(triangles, table if count == 3 else _prism(table))
    if not is_closed(triangles):
        return NoSurface("The patches on the faces of device space do not join up into a closed surface.")
    corners_of = table[triangles]
    sides = np.abs(corners_of - np.roll(corners_of, -1, axis=1)).max(axis=-1)
    return DeviceSurface(triangles, np.unique(triangles), float(sides.max()))


def _cube_faces() -> list[Fixed]:
    return [((channel, end),) for channel in range(3) for end in (0.0, 1.0)]


def _cmyk_faces() -> list[Fixed]:
    """Light cap, dark cap and the six walls between them."""
    light: list[Fixed] = [((channel, 0.0), (3, 0.0)) for channel in range(3)]
    dark: list[Fixed] = [((channel, 1.0), (3, 1.0)) for channel in range(3)]
    walls: list[Fixed] = [((low, 0.0), (high, 1.0)) for low, high in itertools.permutations(range(3), 2)]
    return [*light, *walls, *dark]


def _on_face(table: Floats, fixed: Fixed) -> Bools:
    on = np.ones(len(table), dtype=np.bool_)
    for channel, end in fixed:
        on &= np.abs(table[:, channel] - end) <= SAME_LEVEL.value
    return on


def _missing_corners(table: Floats, faces: list[Fixed]) -> list[tuple[float, ...]]:
    """Corners of the faces that no patch shows."""
    count = table.shape[1]
    wanted = {
        corner
        for corner in itertools.product((0.0, 1.0), repeat=count)
        for fixed in faces
        if all(corner[channel] == end for channel, end in fixed)
    }
    return sorted(c for c in wanted if not _on_face(table, tuple(enumerate(c))).any())


def _face_triangles(table: Floats, fixed: Fixed) -> Ints:
    """Triangles of one flat face, as rows of the table; their winding is settled later."""
    rows = np.flatnonzero(_on_face(table, fixed))
    free = [channel for channel in range(table.shape[1]) if channel not in dict(fixed)]
    points = table[rows][:, free]
    # Exact ends keep the points of an edge in one line, which Delaunay needs to use every one of them.
    for end in (0.0, 1.0):
        points[np.abs(points - end) <= SAME_LEVEL.value] = end
    levels = [np.unique(points[:, axis], return_inverse=True) for axis in (0, 1)]
    first, second = len(levels[0][0]), len(levels[1][0])
    if first * second == len(rows):
        grid = np.empty((first, second), dtype=np.int64)
        grid[levels[0][1].reshape(-1), levels[1][1].reshape(-1)] = rows
        return _grid_triangles(grid)
    from scipy.spatial import Delaunay

    return rows[Delaunay(points).simplices].astype(np.int64)


def _grid_triangles(grid: Ints) -> Ints:
    """Two triangles per cell of a grid (r, c) of vertex numbers, cut from low-low to high-high corner."""
    low, right, up, across = grid[:-1, :-1], grid[1:, :-1], grid[:-1, 1:], grid[1:, 1:]
    halves = [np.stack([low, right, across], axis=-1), np.stack([low, across, up], axis=-1)]
    return np.concatenate([half.reshape(-1, 3) for half in halves])


def _prism(table: Floats) -> Floats:
    """CMYK laid out as a six-sided prism, paper side up, so that outward has a meaning."""
    return np.column_stack([table[:, :3] @ _HEXAGON, -table[:, 3]])


def _wound_outward(triangles: Ints, places: Floats) -> Ints:
    """Triangles of a convex body turned to face away from its middle."""
    middle = 0.5 * (places[np.unique(triangles)].min(axis=0) + places[np.unique(triangles)].max(axis=0))
    a, b, c = np.moveaxis(places[triangles], 1, 0)
    inward = np.einsum("fi,fi->f", np.cross(b - a, c - a), (a + b + c) / 3.0 - middle) < 0.0
    turned: Ints = np.where(inward[:, None], triangles[:, ::-1], triangles)
    return turned
