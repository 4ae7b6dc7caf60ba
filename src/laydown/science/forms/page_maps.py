"""Maps from mm of a page to pixels of a scan: flat, from a slant, and bent by powers of the place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from laydown.kernel.arrays import Bools, Floats


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way for a page to lie in a scan: seen from a slant or flat, and bent by powers up to a degree.

    ``middle`` and ``reach`` (mm) bring places to about -1 to 1 before powers are taken of them.
    """

    slanted: bool
    degree: int
    middle: Floats
    reach: float

    def terms(self, points: Floats) -> Floats:
        """What a map is made of at places of the page, (n, k); a slant is counted as one term more."""
        x, y = ((points - self.middle) / self.reach).T
        most = max(self.degree, 1)
        terms = [x**i * y**j for i in range(most + 1) for j in range(most + 1 - i)]
        return np.stack([*terms, x * y] if self.slanted and most == 1 else terms, axis=1)

    def powers(self, points: Floats) -> Floats:
        """The powers that a bend is made of, (n, k); none where there is no bend."""
        return self.terms(points) if self.degree else np.zeros((len(points), 0))

    def fit(self, mm: Floats, pixels: Floats) -> tuple[Floats, Floats]:
        """The plane (3, 3) and the bend (k, 2) that take corners (n, 4, 2) to pixels, by least squares."""
        points, wanted = mm.reshape(-1, 2), pixels.reshape(-1, 2)
        plane = plane_map(points, wanted) if self.slanted else _flat_map(points, wanted)
        left = wanted - through_plane(plane, points)
        return plane, np.asarray(np.linalg.lstsq(self.powers(points), left, rcond=None)[0])

    def put(self, plane: Floats, bend: Floats, points: Floats) -> Floats:
        """Where a fitted map puts places of the page, (n, 2) pixels."""
        return through_plane(plane, points) + self.powers(points) @ bend

    def unseen_error(self, mm: Floats, pixels: Floats) -> float:
        """How far a mark lies from where the others put it, in pixels; 95 in 100 lie nearer."""
        away = []
        for number in range(len(mm)):
            others = np.arange(len(mm)) != number
            put = self.put(*self.fit(mm[others], pixels[others]), mm[number])
            away.append(float(np.linalg.norm(put.mean(axis=0) - pixels[number].mean(axis=0))))
        return float(np.quantile(away, 0.95))


def plane_map(points: Floats, wanted: Floats) -> Floats:
    """The projective map that takes points to what is wanted, by least squares.

    Parameters
    ----------
    points, wanted : (n, 2), four of them at least

    Returns
    -------
    (3, 3), its last entry 1

    References
    ----------
    The normalised direct linear transform (common practice of photogrammetry).

    Checked against
    ---------------
    Points seen from known slants.
    """
    a, b = _made_even(points), _made_even(wanted)
    p, q = through_plane(a, points), through_plane(b, wanted)
    one, none = np.ones(len(p)), np.zeros((len(p), 3))
    row = np.column_stack([p, one])
    upper = np.concatenate([row, none, -q[:, :1] * row], axis=1)
    lower = np.concatenate([none, row, -q[:, 1:] * row], axis=1)
    _, _, v = np.linalg.svd(np.concatenate([upper, lower]), full_matrices=False)
    plane = np.linalg.inv(b) @ v[-1].reshape(3, 3) @ a
    return np.asarray(plane / plane[2, 2])


def through_plane(plane: Floats, points: Floats) -> Floats:
    """Where a projective map takes points.

    Parameters
    ----------
    plane : (3, 3)
    points : (n, 2)

    Returns
    -------
    (n, 2)

    Checked against
    ---------------
    Points seen from known slants.
    """
    at = np.column_stack([points, np.ones(len(points))]) @ plane.T
    return np.asarray(at[:, :2] / at[:, 2:])


def outline(points: Floats) -> Floats:
    """The convex outline of points.

    Parameters
    ----------
    points : (n, 2), not all on one line

    Returns
    -------
    (h, 2) its corners in order

    Checked against
    ---------------
    Marks in a grid.
    """
    return np.asarray(points[ConvexHull(points).vertices])


def depth_in(hull: Floats, points: Floats) -> Floats:
    """How deep points lie within a convex outline; below 0 they lie outside of one of its sides by so much.

    Parameters
    ----------
    hull : (h, 2) corners in order
    points : (n, 2)

    Returns
    -------
    (n,) in the unit of both

    Checked against
    ---------------
    A square and points about it.
    """
    way = np.roll(hull, -1, axis=0) - hull
    normal = np.column_stack([way[:, 1], -way[:, 0]]) / np.linalg.norm(way, axis=1)[:, None]
    inside = np.sign(np.sum(normal * (hull.mean(axis=0) - hull), axis=1))
    return np.asarray(
        (np.sum((points[:, None] - hull[None]) * normal[None], axis=2) * inside[None]).min(axis=1)
    )


def mirrored(mm: Floats, pixels: Floats) -> Bools:
    """Whether corners that go clockwise on the page go the other way in the scan, for each mark.

    Parameters
    ----------
    mm, pixels : (n, 4, 2)

    Returns
    -------
    (n,)

    Checked against
    ---------------
    Corners exchanged left for right.
    """
    areas = []
    for corners in (mm, pixels):
        (x, y), (next_x, next_y) = np.moveaxis(corners, 2, 0), np.moveaxis(np.roll(corners, -1, axis=1), 2, 0)
        areas.append(np.sum(x * next_y - y * next_x, axis=1))
    return np.asarray(areas[0] * areas[1] < 0.0)


def pixels_per_mm(mm: Floats, pixels: Floats) -> float:
    """The scale of a scan, from the sides of the marks.

    Parameters
    ----------
    mm, pixels : (n, 4, 2) corners of marks

    Returns
    -------
    pixels per mm, the median over all sides

    Checked against
    ---------------
    Simulated scans of known resolution.
    """
    sides = np.linalg.norm(np.roll(pixels, -1, axis=1) - pixels, axis=2)
    lengths = np.linalg.norm(np.roll(mm, -1, axis=1) - mm, axis=2)
    return float(np.median(sides / lengths))


def _flat_map(points: Floats, wanted: Floats) -> Floats:
    """The same without a slant: parallel lines stay parallel."""
    map_, *_ = np.linalg.lstsq(np.column_stack([points, np.ones(len(points))]), wanted, rcond=None)
    return np.vstack([map_.T, (0.0, 0.0, 1.0)])


def _made_even(points: Floats) -> Floats:
    """Moves points about the origin and to a mean distance of the square root of 2."""
    middle = points.mean(axis=0)
    size = np.sqrt(2.0) / max(float(np.linalg.norm(points - middle, axis=1).mean()), 1e-12)
    return np.array([[size, 0.0, -size * middle[0]], [0.0, size, -size * middle[1]], [0.0, 0.0, 1.0]])
