"""Which colours a gamut holds."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.gamut.mesh import checked_mesh

# Points handled at once: keeps the work arrays of a 1500-triangle mesh near 50 MB.
_POINTS_AT_ONCE = 512


def inside(points: Floats, lab: Floats, triangles: Ints) -> Bools:
    """Tell which colours lie inside a closed mesh.

    For asking whether a corporate or picture colour can be printed. A colour on the very surface may come
    out either way; leave a margin of a few tenths.

    Parameters
    ----------
    points : (..., 3) L*, a*, b* of the colours asked for
    lab : (v, 3) L*, a*, b* of the vertices
    triangles : (f, 3) vertex numbers of a closed, consistently wound mesh

    Returns
    -------
    (...) True inside; False outside and for NaN

    Raises
    ------
    BadSetting
        if the mesh is not closed.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    Winding number by solid angles; inside where it is not zero, as in ``columns``. Cost: points times
    triangles.

    References
    ----------
    van Oosterom, Strackee (1983), IEEE Trans. Biomed. Eng. 30, 125-126.

    Checked against
    ---------------
    A ball and a cube; the intervals of ``columns``.
    """
    vertices = checked_mesh(lab, triangles)
    asked = np.asarray(points, dtype=np.float64)
    flat = asked.reshape(-1, 3)
    winding = np.zeros(len(flat))
    for first in range(0, len(flat), _POINTS_AT_ONCE):
        some = slice(first, first + _POINTS_AT_ONCE)
        winding[some] = _winding(flat[some], vertices[triangles])
    with np.errstate(invalid="ignore"):
        return np.asarray(np.abs(winding) > 0.5).reshape(asked.shape[:-1])


def _winding(points: Floats, corners: Floats) -> Floats:
    """How often the surface winds around each point."""
    a, b, c = np.moveaxis(corners[None] - points[:, None, None], 2, 0)
    la, lb, lc = (np.sqrt(np.einsum("pfi,pfi->pf", v, v)) for v in (a, b, c))
    top = np.einsum("pfi,pfi->pf", a, np.cross(b, c))
    below = la * lb * lc
    for u, v, length in ((a, b, lc), (b, c, la), (c, a, lb)):
        below += np.einsum("pfi,pfi->pf", u, v) * length
    angles: Floats = 2.0 * np.arctan2(top, below)
    total: Floats = angles.sum(axis=1) / (4.0 * np.pi)
    return total
