"""What a list of triangles must be before anything is computed from it: closed, and wound one way."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import BadSetting, NotEnoughData


def is_closed(triangles: Ints) -> bool:
    """Tell whether every edge is shared by exactly two triangles that run along it in opposite directions.

    Only such a mesh encloses a volume. It says nothing about the mesh crossing itself in space.

    Parameters
    ----------
    triangles : (f, 3) vertex numbers

    Returns
    -------
    bool; False for no triangles at all

    Raises
    ------
    Nothing.

    Notes
    -----
    Each directed edge must occur once, and so must its reverse.

    References
    ----------
    None: definition of a closed oriented surface.

    Checked against
    ---------------
    Cubes with a face missing, a face turned, and an extra face.
    """
    faces = np.asarray(triangles, dtype=np.int64)
    if faces.size == 0:
        return False
    start = faces.reshape(-1)
    end = np.roll(faces, -1, axis=1).reshape(-1)
    width = int(faces.max()) + 1
    forward = np.sort(start * width + end)
    backward = np.sort(end * width + start)
    return bool((start != end).all() and (np.diff(forward) > 0).all() and np.array_equal(forward, backward))


def checked_mesh(lab: Floats, triangles: Ints, *, stacked: bool = False) -> Floats:
    """The vertices as float64, after refusing a mesh that is open or uses a vertex without a colour.

    Every function here that takes a mesh begins with it.

    Parameters
    ----------
    lab : (v, 3) L*, a*, b*, or (..., v, 3) where ``stacked``
    triangles : (f, 3) vertex numbers
    stacked : whether sheets may be stacked in front

    Returns
    -------
    the vertices, Lab units; the same array if it was float64 already

    Raises
    ------
    BadSetting
        if the mesh is not closed, or names vertices that are not there.
    NotEnoughData
        if a vertex that is used has no colour; the message says how many.

    Notes
    -----
    Vertices that no triangle uses may be NaN.

    References
    ----------
    None.

    Checked against
    ---------------
    Meshes with each of these faults.
    """
    if not is_closed(triangles):
        what = "The triangles do not close around a volume."
        raise BadSetting(what, todo="Every edge must be shared by exactly two triangles, wound alike.")
    vertices = np.asarray(lab, dtype=np.float64)
    if vertices.ndim < 2 or vertices.shape[-1] != 3 or (vertices.ndim > 2 and not stacked):
        what = f"A mesh needs a table of vertices by L*, a*, b*; got shape {vertices.shape}."
        raise BadSetting(what)
    used = np.unique(triangles)
    if used.size and (used[0] < 0 or used[-1] >= vertices.shape[-2]):
        what = f"The triangles name vertex {used[-1]} but there are only {vertices.shape[-2]} vertices."
        raise BadSetting(what)
    missing = int(np.count_nonzero(~np.isfinite(vertices[..., used, :]).all(axis=-1)))
    if missing:
        what = f"{missing} colours on the surface of the gamut have no reading."
        todo = "Leave those colours out before the surface is built, or read the patches again."
        raise NotEnoughData(what, todo=todo)
    return vertices


def outward(lab: Floats, triangles: Ints) -> Ints:
    """Turn a closed mesh so that its signed volume in (L*, a*, b*) is positive.

    A mesh wound outward in device space may come out inside-out in Lab (it does for inks, not for light).
    Drawing wants it outward; volumes here do not care.

    Parameters
    ----------
    lab : (v, 3) L*, a*, b*
    triangles : (f, 3) vertex numbers

    Returns
    -------
    (f, 3) the same triangles, each reversed if need be

    Raises
    ------
    BadSetting
        if the mesh is not closed.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    Axes in the order L*, a*, b*, taken as right-handed.

    References
    ----------
    None: definition of winding.

    Checked against
    ---------------
    A cube and its mirror image.
    """
    return triangles if signed_volume(lab, triangles) >= 0.0 else triangles[:, ::-1]


def signed_volume(lab: Floats, triangles: Ints) -> Floats:
    """Volume of closed meshes with its sign: positive where they are wound outward in (L*, a*, b*).

    For telling which way a mesh is wound; ask ``volume`` how large a gamut is.

    Parameters
    ----------
    lab : (..., v, 3) L*, a*, b* of the vertices
    triangles : (f, 3) vertex numbers, shared by all

    Returns
    -------
    (...) Lab cubic units

    Raises
    ------
    BadSetting
        if the mesh is not closed.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    See ``volume``.

    References
    ----------
    ISO/TS 18621-11:2022, clause 4.4.2 (rule read in a public data file).

    Checked against
    ---------------
    A cube and its mirror image.
    """
    vertices = checked_mesh(lab, triangles, stacked=True)
    # A point near the middle keeps the tetrahedra small, so that little is lost by cancelling.
    middle = vertices[..., np.unique(triangles), :].mean(axis=-2, keepdims=True)
    a, b, c = np.moveaxis((vertices - middle)[..., triangles, :], -2, 0)
    total: Floats = np.einsum("...i,...i->...", a, np.cross(b, c)).sum(axis=-1) / 6.0
    return total
