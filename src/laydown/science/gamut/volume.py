"""Gamut volume: of a closed mesh, and of the convex hull as an upper bound."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import NotEnoughData
from laydown.science.gamut.mesh import signed_volume


def volume(lab: Floats, triangles: Ints) -> Floats:
    """Volume enclosed by a closed mesh, by adding up signed tetrahedra.

    The number of Lab cubic units a medium can print. It depends on chart, ink limit, measuring condition
    and triangulation: compare it only between sheets of the same chart read alike.

    Parameters
    ----------
    lab : (..., v, 3) L*, a*, b* of the vertices; sheets may be stacked in front
    triangles : (f, 3) vertex numbers of a closed, consistently wound mesh, shared by all sheets

    Returns
    -------
    (...) volume in Lab cubic units, never negative

    Raises
    ------
    BadSetting
        if the mesh is not closed.
    NotEnoughData
        if a vertex that is used has no colour; the message says how many.

    Notes
    -----
    V = |sum over faces of (a - d) . ((b - d) x (c - d))| / 6. With a closed mesh the point d cancels, so
    any d gives the same volume; the mean vertex is used here. Where a mesh crosses itself (near black it
    often does, a little) a part turned inside out counts negative; ``columns`` counts it as occupied.

    References
    ----------
    ISO/TS 18621-11:2022, clause 4.4.2 (rule read in a public data file).

    Checked against
    ---------------
    Unit cube, sphere, seven RGB spaces (table of reference volumes), manifold3d.

    Examples
    --------
    >>> corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    >>> round(float(volume(corners, faces)), 6)
    0.166667
    """
    return np.abs(signed_volume(lab, triangles))


def hull_volume(lab: Floats) -> Floats:
    """Volume of the convex hull of all readings: an upper bound of the gamut.

    A print gamut is dented, above all between the primaries, so the hull is too large (by 5 to 13 %
    on eighteen measured charts) and hides just the dents by which media differ. Use it only where the chart
    gives no device-space surface.

    Parameters
    ----------
    lab : (..., n, 3) L*, a*, b*; rows with NaN are left out

    Returns
    -------
    (...) volume in Lab cubic units

    Raises
    ------
    NotEnoughData
        if fewer than four readings are there, or all lie in one plane.

    Notes
    -----
    Quickhull, n log n.

    References
    ----------
    Barber, Dobkin, Huhdanpaa (1996), ACM TOMS 22(4) 469-483.

    Checked against
    ---------------
    The reference hull volumes of six measured charts.
    """
    sheets = np.asarray(lab, dtype=np.float64)
    flat = sheets.reshape(-1, *sheets.shape[-2:])
    volumes = np.array([_hull(one)[0] for one in flat], dtype=np.float64)
    return volumes.reshape(sheets.shape[:-2])


def hull_triangles(lab: Floats) -> Ints:
    """Triangles of the convex hull of one sheet's readings, wound outward in (L*, a*, b*).

    For showing and intersecting a gamut whose chart gives no device-space surface. Never mix it in one
    comparison with meshes from a device-space surface: it is larger by construction.

    Parameters
    ----------
    lab : (n, 3) L*, a*, b*; rows with NaN are left out

    Returns
    -------
    (f, 3) row numbers of ``lab``

    Raises
    ------
    NotEnoughData
        if fewer than four readings are there, or all lie in one plane.

    Notes
    -----
    Points inside are simply not named.

    References
    ----------
    Barber, Dobkin, Huhdanpaa (1996), ACM TOMS 22(4) 469-483.

    Checked against
    ---------------
    ``volume`` of these triangles equals ``hull_volume``.
    """
    return _hull(np.asarray(lab, dtype=np.float64))[1]


def _hull(lab: Floats) -> tuple[float, Ints]:
    from scipy.spatial import ConvexHull, QhullError

    rows = np.flatnonzero(np.isfinite(lab).all(axis=-1))
    todo = "Read more patches."
    if len(rows) < 4:
        what = f"A gamut needs at least four colours; only {len(rows)} have a reading."
        raise NotEnoughData(what, todo=todo)
    try:
        hull = ConvexHull(lab[rows])
    except QhullError as failure:
        what = "All readings lie in one plane, so they enclose no volume."
        raise NotEnoughData(what, todo=todo) from failure
    faces = np.asarray(hull.simplices, dtype=np.int64)
    a, b, c = np.moveaxis(lab[rows][faces], 1, 0)
    inward = np.einsum("fi,fi->f", np.cross(b - a, c - a), hull.equations[:, :3]) < 0.0
    faces = np.where(inward[:, None], faces[:, ::-1], faces)
    return float(hull.volume), rows[faces].astype(np.int64)
