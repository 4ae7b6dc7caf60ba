"""Where a page lies in a scan of it: from mm of the form to pixels of the scan, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.spatial import ConvexHull
from scipy.stats import f as f_distribution

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.science.forms.markers import FoundMark
from laydown.science.forms.page import Box

WANTED_MM = Constant(0.1, "mm", "chosen here: half of what the finest patches leave as a margin", "computed")
FEWEST_MARKS = 4
#: What is tried, the plainest first: seen from a slant or flat, bent by powers up to which degree, and how
#: many marks that needs. Few marks fix a flat scan far better than one that may be slanted.
_WAYS = ((False, 0, 4), (True, 0, 4), (True, 2, 7), (True, 3, 12))
_GAIN = 0.8  # a bend is believed if it lowers the error at marks it has not seen to this share
_OUTLIER_MM = 1.0  # a mark this far from where the others put it is not the mark it says
_BEYOND = 1.0  # an element may lie outside the marks by this share of the usual distance between them
_CONFIDENCE = 0.95
# What corners of a mark differ by among themselves is noise; lines are shared by two corners, so that as much of
# it stays in their mean. Half of it is taken for noise, so that bends are rather seen than not.
_NOISE_SHARE = 0.5
_LEAST_SPREAD_MM = (
    0.01  # marks that agree better than that do so by luck: a printer's pixel is 0.035 to 0.085 mm
)


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """How the page lies in the scan.

    ``plane`` (3, 3) takes mm (x, y, 1) to pixels; ``bend`` (k, 2) adds a smooth departure from it, in pixels,
    from the powers of the place up to ``degree``. ``marks`` were used, ``left_out`` were found but contradict
    them. ``error_mm`` is how far a mark lies from where all others put it, at worst but one in twenty;
    ``spread_mm`` is how far marks lie from where the map puts them (standard deviation, each way), and
    ``local_mm`` what of that is not the scan's noise, but the page's own bends between marks.
    ``hull_mm`` (h, 2) is the outline of the marks used; ``middles_mm`` and ``middles`` (n, 2) are where they
    lie on the page and, in pixels, in the scan.
    """

    plane: Floats
    bend: Floats
    slanted: bool
    degree: int
    middle_mm: Floats
    reach_mm: float
    marks: tuple[int, ...]
    left_out: tuple[int, ...]
    error_mm: float
    spread_mm: float
    local_mm: float
    pixels_per_mm: float
    hull_mm: Floats
    spacing_mm: float
    middles_mm: Floats
    middles: Floats

    def to_pixels(self, points_mm: Floats) -> Floats:
        """Where places of the page lie in the scan, (n, 2) mm to (n, 2) pixels."""
        points = np.atleast_2d(np.asarray(points_mm, dtype=np.float64))
        flat = _through_plane(self.plane, points)
        return flat + _powers(points, self.degree, self.middle_mm, self.reach_mm) @ self.bend

    def to_mm(self, pixels: Floats) -> Floats:
        """Where pixels of the scan lie on the page, (n, 2) pixels to (n, 2) mm."""
        wanted = np.atleast_2d(np.asarray(pixels, dtype=np.float64))
        points = _through_plane(np.asarray(np.linalg.inv(self.plane), dtype=np.float64), wanted)
        for _ in range(4):
            points = points - (self.to_pixels(points) - wanted) / self.pixels_per_mm @ self._turned_back()
        return np.asarray(points)

    def _turned_back(self) -> Floats:
        """The turn of the page taken back, so that a step in pixels is a step in mm the right way."""
        linear = self.plane[:2, :2] - np.outer(self.plane[:2, 2], self.plane[2, :2]) / self.plane[2, 2]
        u, _, v = np.linalg.svd(linear)
        return np.asarray(u @ v)

    def error_at(self, points_mm: Floats) -> Floats:
        """How far off places of the page may be put, (n,) mm: 95 in 100 are nearer, as far as marks can tell.

        It grows away from the marks, and the fewer they are; infinite where there are too few to tell.
        """
        at_marks, at = self._terms(self.middles_mm), self._terms(np.atleast_2d(points_mm))
        free = len(at_marks) - at_marks.shape[1]
        if free <= 0 or np.linalg.matrix_rank(at_marks) < at_marks.shape[1]:
            return np.full(len(at), np.inf)
        leverage = np.sum((at @ np.linalg.inv(at_marks.T @ at_marks)) * at, axis=1)
        times = np.sqrt(2.0 * f_distribution.ppf(_CONFIDENCE, 2, 2 * free))
        return np.asarray(times * np.sqrt(self.local_mm**2 + self.spread_mm**2 * leverage))

    def _terms(self, points: Floats) -> Floats:
        """What the map is made of at places of the page; a slant is counted as one term more."""
        return _terms(points, _Way(self.slanted, self.degree, self.middle_mm, self.reach_mm))

    def sure_of(self, box: Box, *, within_mm: float = WANTED_MM.value) -> bool:
        """Whether an element is placed well enough: among the marks or near them, and they agree."""
        corners = box.corners()
        near = _near_hull(self.hull_mm, corners, _BEYOND * self.spacing_mm).all()
        return bool(near and (self.error_at(corners) <= within_mm).all())


@dataclass(frozen=True, slots=True)
class NotPlaced:
    """Why a page could not be placed, in a sentence, and what to do."""

    reason: str
    todo: str


def place_page(found: Sequence[FoundMark], squares_mm: Mapping[int, Box]) -> Placement | NotPlaced:
    """Place a page by its marks.

    A scan is turned, and the medium has shrunk, mostly one way: an affine map holds that, and a projective
    one a slant too. What is left bends slowly (a roller that slips, canvas that stretches), and is followed
    by a few powers of the place. Each is taken only if it places marks better that were kept out of the fit.

    Parameters
    ----------
    found : marks found in the scan, with refined corners
    squares_mm : for each mark of the page, the box of its dark square

    Returns
    -------
    Placement, or NotPlaced

    References
    ----------
    The normalised direct linear transform (common practice of photogrammetry); keeping out one mark at a time
    is cross-validation.

    Checked against
    ---------------
    Simulated scans whose true places are known.
    """
    known = [one for one in found if one.number in squares_mm]
    if len(known) < FEWEST_MARKS:
        return NotPlaced(
            f"{len(known)} of its {len(squares_mm)} marks were found; {FEWEST_MARKS} are the least.",
            "Scan the whole page at 300 ppi or more, flat, without reflections.",
        )
    mm = np.array([squares_mm[one.number].corners() for one in known])
    pixels = np.array([one.corners for one in known])
    good = _agreeing(mm, pixels)
    if good.sum() < FEWEST_MARKS or good.sum() < 0.6 * len(known):
        return NotPlaced(
            f"only {int(good.sum())} of the {len(known)} marks found agree on where the page lies.",
            "Check that this is one page of this form, scanned in one piece.",
        )
    if _mirrored(mm[good], pixels[good]):
        return NotPlaced(
            "the page lies in the scan as in a mirror.",
            "Scan it from the printed side, without mirroring.",
        )
    middles = mm[good].mean(axis=1)
    if np.linalg.matrix_rank(middles - middles.mean(axis=0), tol=5.0) < 2:
        return NotPlaced("the marks found lie on one line.", "Scan more of the page.")
    return _placed(mm, pixels, good, [one.number for one in known])


def _placed(mm: Floats, pixels: Floats, good: Bools, numbers: Sequence[int]) -> Placement:
    used_mm, used_px = mm[good], pixels[good]
    every = used_mm.reshape(-1, 2)
    middle = (every.min(axis=0) + every.max(axis=0)) / 2.0
    reach = float(np.abs(every - middle).max())
    scale = _scale(used_mm, used_px)
    best, worst = _Way(False, 0, middle, reach), np.inf
    for slanted, degree, needed in _WAYS:
        way = _Way(slanted, degree, middle, reach)
        error = _unseen_error(used_mm, used_px, way) / scale if len(used_mm) >= needed else np.inf
        if error < _GAIN * worst:
            best, worst = way, error
    plane, bend = _fit(used_mm, used_px, best)
    terms = _terms(used_mm.mean(axis=1), best)
    put = _through_plane(plane, every) + _powers(every, best.degree, middle, reach) @ bend
    off = (put.reshape(used_px.shape) - used_px) / scale
    middle_off = off.mean(axis=1)
    spread = np.sum(middle_off**2) / max(2 * (len(terms) - terms.shape[1]), 1)
    noise = _NOISE_SHARE * np.mean((off - middle_off[:, None]) ** 2)
    middles = used_mm.mean(axis=1)
    hull = every[ConvexHull(every).vertices]
    away = np.linalg.norm(middles[:, None] - middles[None], axis=-1)
    away[np.diag_indices(len(away))] = np.inf
    return Placement(
        plane=plane,
        bend=bend,
        slanted=best.slanted,
        degree=best.degree,
        middle_mm=middle,
        reach_mm=reach,
        marks=tuple(n for n, ok in zip(numbers, good, strict=True) if ok),
        left_out=tuple(n for n, ok in zip(numbers, good, strict=True) if not ok),
        error_mm=float(worst),
        spread_mm=max(float(np.sqrt(spread)), _LEAST_SPREAD_MM),
        local_mm=max(float(np.sqrt(max(spread - noise, 0.0))), _LEAST_SPREAD_MM),
        pixels_per_mm=scale,
        hull_mm=hull,
        spacing_mm=float(np.median(away.min(axis=1))),
        middles_mm=middles,
        middles=used_px.mean(axis=1),
    )


def _agreeing(mm: Floats, pixels: Floats) -> Bools:
    """Marks that agree with the largest group; each pair of marks is tried as the truth."""
    best = np.zeros(len(mm), dtype=bool)
    pairs = list(combinations(range(len(mm)), 2))
    step = max(len(pairs) // 300, 1)
    for one, other in pairs[::step]:
        chosen = [one, other]
        plane = _plane(mm[chosen].reshape(-1, 2), pixels[chosen].reshape(-1, 2))
        scale = _scale(mm[chosen], pixels[chosen])
        away = np.linalg.norm(_through_plane(plane, mm.reshape(-1, 2)) - pixels.reshape(-1, 2), axis=1)
        # Two marks side by side say little about the far end of the page: the limit grows with the distance.
        apart = np.linalg.norm(mm[one].mean(axis=0) - mm[other].mean(axis=0))
        far = np.linalg.norm(mm.mean(axis=1) - mm[chosen].mean(axis=(0, 1)), axis=1)
        limit = _OUTLIER_MM * scale * np.maximum(1.0, far / max(apart, 1.0)) * 3.0
        agreeing = away.reshape(-1, 4).max(axis=1) < limit
        if agreeing.sum() > best.sum():
            best = agreeing
    for _ in range(3):
        if best.sum() < FEWEST_MARKS:
            return best
        plane = _plane(mm[best].reshape(-1, 2), pixels[best].reshape(-1, 2))
        away = np.linalg.norm(_through_plane(plane, mm.reshape(-1, 2)) - pixels.reshape(-1, 2), axis=1)
        best = away.reshape(-1, 4).max(axis=1) < 2.0 * _OUTLIER_MM * _scale(mm[best], pixels[best])
    return np.asarray(best)


def _mirrored(mm: Floats, pixels: Floats) -> bool:
    """Whether corners that go clockwise on the page go the other way in the scan."""
    areas = []
    for corners in (mm, pixels):
        (x, y), (next_x, next_y) = np.moveaxis(corners, 2, 0), np.moveaxis(np.roll(corners, -1, axis=1), 2, 0)
        areas.append(np.sum(x * next_y - y * next_x, axis=1))
    return bool(np.median(areas[0] * areas[1]) < 0.0)


def _scale(mm: Floats, pixels: Floats) -> float:
    """Pixels per mm, from the sides of the marks."""
    sides = np.linalg.norm(np.roll(pixels, -1, axis=1) - pixels, axis=2)
    lengths = np.linalg.norm(np.roll(mm, -1, axis=1) - mm, axis=2)
    return float(np.median(sides / lengths))


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """One way for a page to lie in a scan."""

    slanted: bool
    degree: int
    middle: Floats
    reach: float


def _unseen_error(mm: Floats, pixels: Floats, way: _Way) -> float:
    """How far a mark lies from where the others put it, in pixels; 95 in 100 lie nearer."""
    away = []
    for number in range(len(mm)):
        others = np.arange(len(mm)) != number
        plane, bend = _fit(mm[others], pixels[others], way)
        put = (
            _through_plane(plane, mm[number]) + _powers(mm[number], way.degree, way.middle, way.reach) @ bend
        )
        away.append(float(np.linalg.norm(put.mean(axis=0) - pixels[number].mean(axis=0))))
    return float(np.quantile(away, 0.95))


def _fit(mm: Floats, pixels: Floats, way: _Way) -> tuple[Floats, Floats]:
    points, wanted = mm.reshape(-1, 2), pixels.reshape(-1, 2)
    plane = _plane(points, wanted) if way.slanted else _flat(points, wanted)
    powers = _powers(points, way.degree, way.middle, way.reach)
    bend = np.linalg.lstsq(powers, wanted - _through_plane(plane, points), rcond=None)[0]
    return plane, np.asarray(bend)


def _terms(points: Floats, way: _Way) -> Floats:
    """The powers of a place that a map is made of, (n, k)."""
    x, y = ((points - way.middle) / way.reach).T
    most = max(way.degree, 1)
    terms = [x**i * y**j for i in range(most + 1) for j in range(most + 1 - i)]
    return np.stack([*terms, x * y] if way.slanted and most == 1 else terms, axis=1)


def _powers(points: Floats, degree: int, middle: Floats, reach: float) -> Floats:
    x, y = ((points - middle) / reach).T
    every = [x**i * y**j for i in range(degree + 1) for j in range(degree + 1 - i)] if degree else []
    return np.stack(every, axis=1) if every else np.zeros((len(points), 0))


def _plane(points: Floats, wanted: Floats) -> Floats:
    """The projective map that takes points to what is wanted, by least squares."""
    a, b = _made_even(points), _made_even(wanted)
    p, q = _through_plane(a, points), _through_plane(b, wanted)
    one, none = np.ones(len(p)), np.zeros((len(p), 3))
    row = np.column_stack([p, one])
    upper = np.concatenate([row, none, -q[:, :1] * row], axis=1)
    lower = np.concatenate([none, row, -q[:, 1:] * row], axis=1)
    _, _, v = np.linalg.svd(np.concatenate([upper, lower]), full_matrices=False)
    plane = np.linalg.inv(b) @ v[-1].reshape(3, 3) @ a
    return np.asarray(plane / plane[2, 2])


def _flat(points: Floats, wanted: Floats) -> Floats:
    """The same without a slant: parallel lines stay parallel."""
    map_, *_ = np.linalg.lstsq(np.column_stack([points, np.ones(len(points))]), wanted, rcond=None)
    return np.vstack([map_.T, (0.0, 0.0, 1.0)])


def _made_even(points: Floats) -> Floats:
    """Moves points about the origin and to a mean distance of the square root of 2."""
    middle = points.mean(axis=0)
    size = np.sqrt(2.0) / max(float(np.linalg.norm(points - middle, axis=1).mean()), 1e-12)
    return np.array([[size, 0.0, -size * middle[0]], [0.0, size, -size * middle[1]], [0.0, 0.0, 1.0]])


def _through_plane(plane: Floats, points: Floats) -> Floats:
    at = np.column_stack([points, np.ones(len(points))]) @ plane.T
    return np.asarray(at[:, :2] / at[:, 2:])


def _near_hull(hull: Floats, points: Floats, reach: float) -> Bools:
    """Whether points lie inside a convex outline, or outside by no more than ``reach``."""
    way = np.roll(hull, -1, axis=0) - hull
    normal = np.column_stack([way[:, 1], -way[:, 0]]) / np.linalg.norm(way, axis=1)[:, None]
    inside = np.sign(np.sum(normal * (hull.mean(axis=0) - hull), axis=1))
    depth = np.sum((points[:, None] - hull[None]) * normal[None], axis=2) * inside[None]
    return np.asarray(depth.min(axis=1) >= -reach)
