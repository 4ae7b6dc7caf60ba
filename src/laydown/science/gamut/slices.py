"""A gamut cut at one lightness: its outlines in the a*, b* plane."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.gamut.mesh import checked_mesh, outward


def slice_outline(lab: Floats, triangles: Ints, level: float) -> tuple[Floats, ...]:
    """Cut a closed mesh at one L* and return its closed outlines.

    For drawing where one medium reaches further than another. Read areas from it with care: a slice shows
    one lightness, a volume all of them.

    Parameters
    ----------
    lab : (v, 3) L*, a*, b* of the vertices
    triangles : (f, 3) vertex numbers of a closed, consistently wound mesh
    level : L* to cut at

    Returns
    -------
    tuple of (p, 2) a*, b* outlines, longest first, counterclockwise around what is inside (holes and folds
    run clockwise); the last point is joined to the first. Empty where the gamut does not reach ``level``.

    Raises
    ------
    BadSetting
        if the mesh is not closed.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    A vertex exactly at the level counts as above it, so the outline never branches: every crossed edge
    belongs to two crossed triangles and has one way in and one way out.

    References
    ----------
    None: geometry.

    Checked against
    ---------------
    Cubes and balls; areas from ``columns``; levels through vertices.
    """
    vertices = checked_mesh(lab, triangles)
    faces = outward(vertices, np.asarray(triangles, dtype=np.int64))
    above = vertices[:, 0] >= level
    inside = above[faces]
    faces = faces[inside.any(axis=1) & ~inside.all(axis=1)]
    if not len(faces):
        return ()
    rising, falling = _crossed_edge(faces, above, rising=True), _crossed_edge(faces, above, rising=False)
    edges, number = np.unique(np.concatenate([rising, falling]), axis=0, return_inverse=True)
    number = number.reshape(-1)
    following = np.empty(len(edges), dtype=np.int64)
    following[number[len(faces) :]] = number[: len(faces)]
    start, end = vertices[edges[:, 0]], vertices[edges[:, 1]]
    share = (level - start[:, :1]) / (end[:, :1] - start[:, :1])
    points = start[:, 1:] + share * (end[:, 1:] - start[:, 1:])
    outlines = [_without_repeats(points[loop]) for loop in _loops(following)]
    return tuple(sorted((line for line in outlines if len(line) > 2), key=len, reverse=True))


def outline_area(outlines: tuple[Floats, ...]) -> float:
    """Area inside a set of outlines, holes and folds taken off.

    The size of one slice.

    Parameters
    ----------
    outlines : as returned by ``slice_outline``

    Returns
    -------
    area in Lab square units

    Raises
    ------
    Nothing.

    Notes
    -----
    Shoelace rule.

    References
    ----------
    None: geometry.

    Checked against
    ---------------
    Slices of a cube and a ball; areas from ``columns``.
    """
    total = 0.0
    for line in outlines:
        x, y = (line - line.mean(axis=0)).T
        total += 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
    return total


def _crossed_edge(faces: Ints, above: Bools, *, rising: bool) -> Ints:
    """The edge along which each triangle rises (or falls) through the level, smaller vertex first."""
    start, end = above[faces], above[np.roll(faces, -1, axis=1)]
    which = (~start & end if rising else start & ~end).argmax(axis=1)
    lines = np.arange(len(faces))
    return np.sort(np.column_stack([faces[lines, which], faces[lines, (which + 1) % 3]]), axis=1)


def _loops(following: Ints) -> list[list[int]]:
    """Cycles of a permutation."""
    ahead, seen, loops = following.tolist(), [False] * len(following), []
    for first in range(len(ahead)):
        loop, place = [], first
        while not seen[place]:
            seen[place] = True
            loop.append(place)
            place = ahead[place]
        if loop:
            loops.append(loop)
    return loops


def _without_repeats(line: Floats) -> Floats:
    """An outline without points equal to the one before, which vertices on the level leave behind."""
    kept: Floats = line[(line != np.roll(line, 1, axis=0)).any(axis=1)]
    return kept
