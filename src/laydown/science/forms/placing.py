"""Where a page lies in a scan of it: from mm of the form to pixels of the scan, and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.science.forms.markers import FoundMark
from laydown.science.forms.page import Box
from laydown.science.forms.page_maps import (
    Way,
    depth_in,
    mirrored,
    outline,
    pixels_per_mm,
    plane_map,
    through_plane,
)

WANTED_MM = Constant(0.1, "mm", "chosen here: half of what the finest patches leave as a margin", "computed")
#: Before any mark is looked at, a page is taken to bend by so much between marks, with the weight of a few
#: marks: few of them can agree by luck.
USUAL_BEND_MM = Constant(
    0.04, "mm", "chosen here: simulated scans with four to six marks were said too sure below it", "computed"
)
FEWEST_MARKS = 4
#: What is tried, the plainest first: seen from a slant or flat, bent by powers up to which degree. Few marks
#: fix a flat scan far better than one that may be slanted.
_WAYS = ((False, 0), (True, 0), (True, 2), (True, 3))
_DETERMINED = (
    0.1  # singular values of the terms at the marks, each within 1: below it a term hangs in the air
)
_GAIN = 0.8  # a bend is believed if it lowers the error at marks it has not seen to this share
_OUTLIER_MM = 1.0  # a mark twice this far from where the others put it is not where the form has it
_ODD_SHAPE = 0.005  # of its sides: marks differ by as much in noise and heavy JPEG (simulated scans)
_ODD_TIMES = 3.5  # the usual difference between the marks of a scan
_MOSTLY = 0.6  # of the marks found must agree
_BEYOND = 1.0  # an element may lie outside the marks by this share of the usual distance between them
_SLACK_MM = 1.0  # by which an element may reach beyond the marks found where more were drawn
_BESIDE = 0.5  # of the usual distance between marks: as far a mark that was not found speaks against the page
_CONFIDENCE = 0.95
_NEAREST = 3  # marks about a place that speak for it beside all the others
_PRIOR_WEIGHT = 4.0  # degrees of freedom that the usual bend is given
# A side of a mark is a line; its slope moves corners, its offset the middle. From the variances of both in a
# straight-line fit over three quarters of a side: a twentieth of what makes a square no parallelogram.
_NOISE_SHARE = 0.05
_LEAST_SPREAD_MM = 0.01  # marks agree better only by luck: a printer's pixel is 0.035 to 0.085 mm


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """How the page lies in the scan.

    ``plane`` (3, 3) takes mm (x, y, 1) to pixels; ``bend`` (k, 2) adds a smooth departure from it, in
    pixels, from the powers that ``way`` has. ``marks`` were used, ``left_out`` were found but contradict
    them.

    ``error_mm`` is how far a mark lies from where all others put it, at worst but one in twenty;
    ``spread_mm`` is how far marks lie from where the map puts them (standard deviation, each way), and
    ``local_mm`` what of that is not the scan's noise, but the page's own bends between marks. Both hold what
    pages usually bend by.

    ``hull_mm`` (h, 2) is the outline of the marks used and ``drawn_hull_mm`` that of all the page has;
    ``middles_mm`` and ``middles`` (n, 2) are where used marks lie on the page and, in pixels, in the scan,
    ``contradicted_mm`` (m, 2) where marks were drawn that lie elsewhere in the scan, ``missing_mm`` those
    that were not found in it.
    """

    plane: Floats
    bend: Floats
    way: Way
    marks: tuple[int, ...]
    left_out: tuple[int, ...]
    error_mm: float
    spread_mm: float
    local_mm: float
    pixels_per_mm: float
    hull_mm: Floats
    drawn_hull_mm: Floats
    spacing_mm: float
    middles_mm: Floats
    middles: Floats
    contradicted_mm: Floats
    missing_mm: Floats

    def to_pixels(self, points_mm: Floats) -> Floats:
        """Where places of the page lie in the scan, (n, 2) mm to (n, 2) pixels."""
        return self.way.put(self.plane, self.bend, np.atleast_2d(np.asarray(points_mm, dtype=np.float64)))

    def to_mm(self, pixels: Floats) -> Floats:
        """Where pixels of the scan lie on the page, (n, 2) pixels to (n, 2) mm."""
        wanted = np.atleast_2d(np.asarray(pixels, dtype=np.float64))
        points = through_plane(np.asarray(np.linalg.inv(self.plane), dtype=np.float64), wanted)
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

        It grows away from the marks, the fewer they are, and where the nearest do not lie where the map puts
        them; infinite where there are too few to tell.
        """
        points = np.atleast_2d(points_mm)
        at_marks, at = self.way.terms(self.middles_mm), self.way.terms(points)
        free = len(at_marks) - at_marks.shape[1]
        if free <= 0 or np.linalg.matrix_rank(at_marks) < at_marks.shape[1]:
            return np.full(len(at), np.inf)
        leverage = np.sum((at @ np.linalg.inv(at_marks.T @ at_marks)) * at, axis=1)
        from scipy.stats import f as f_distribution

        times = np.sqrt(2.0 * f_distribution.ppf(_CONFIDENCE, 2, 2 * free + _PRIOR_WEIGHT))
        everywhere = times * np.sqrt(self.local_mm**2 + self.spread_mm**2 * leverage)
        return np.asarray(np.maximum(everywhere, self._error_nearby(points)))

    def _error_nearby(self, points: Floats) -> Floats:
        """Twice what the marks nearest to places are off: a fold or a taped tear is off in one part only."""
        off = np.linalg.norm(self.to_pixels(self.middles_mm) - self.middles, axis=1) / self.pixels_per_mm
        away = np.linalg.norm(points[:, None] - self.middles_mm[None], axis=2)
        nearest = np.argsort(away, axis=1)[:, :_NEAREST]
        return np.asarray(2.0 * np.sqrt(np.mean(off[nearest] ** 2, axis=1)))

    def doubts(self, boxes: Sequence[Box], *, within_mm: float = WANTED_MM.value) -> tuple[str, ...]:
        """For each element why it is not placed well enough, in words; empty where it is."""
        corners = np.array([box.corners() for box in boxes]).reshape(-1, 2)
        depth = depth_in(self.hull_mm, corners)
        drawn = np.minimum(depth_in(self.drawn_hull_mm, corners), 0.0)
        outside = (depth < drawn - _SLACK_MM) | (depth < -_BEYOND * self.spacing_mm)
        contradicted = _near(corners, self.contradicted_mm, self.spacing_mm)
        bare = _near(corners, self.missing_mm, _BESIDE * self.spacing_mm)
        unknown = ~(self.error_at(corners) <= within_mm)
        said = []
        for one in range(0, len(corners), 4):
            four = slice(one, one + 4)
            if outside[four].any():
                said.append(
                    "the marks about it were not found: that part is torn, covered or beyond the scan"
                )
            elif contradicted[four].any():
                said.append(
                    "a mark near it is out of place or shape: it is folded, torn, curled or covered there"
                )
            elif bare[four].any():
                said.append("the mark beside it was not found: something may lie there, or it is damaged")
            elif unknown[four].any():
                said.append(
                    f"its place is not known to {within_mm:g} mm: the marks disagree or are too few there"
                )
            else:
                said.append("")
        return tuple(said)

    def sure_of(self, box: Box, *, within_mm: float = WANTED_MM.value) -> bool:
        """Whether an element is placed well enough: among the marks, and they agree."""
        return not self.doubts([box], within_mm=within_mm)[0]


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
    Marks that lie elsewhere than the others say, or are out of shape, are left out, and speak against what
    lies about them.

    Parameters
    ----------
    found : marks found in the scan, with refined corners
    squares_mm : for each mark of the page, the box of its dark square

    Returns
    -------
    Placement, or NotPlaced

    Notes
    -----
    What marks are off is pooled with what pages usually bend by, weighted as four degrees of freedom: a few
    marks may agree by luck, and nothing of a page is sure from four.

    References
    ----------
    Keeping out one mark at a time is cross-validation; pooling with a usual value is the conjugate estimate
    of a variance (common practice of statistics).

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
    if good.sum() >= FEWEST_MARKS:
        good[good] = _in_shape(mm[good], pixels[good])
    if good.sum() < FEWEST_MARKS or good.sum() < _MOSTLY * len(known):
        return NotPlaced(
            f"only {int(good.sum())} of the {len(known)} marks found agree on where the page lies.",
            "Check that this is one page of this form, flat and scanned in one piece.",
        )
    if np.median(mirrored(mm[good], pixels[good])) > 0.5:
        return NotPlaced(
            "the page lies in the scan as in a mirror.",
            "Scan it from the printed side, without mirroring.",
        )
    middles = mm[good].mean(axis=1)
    if np.linalg.matrix_rank(middles - middles.mean(axis=0), tol=5.0) < 2:
        return NotPlaced("the marks found lie on one line.", "Scan more of the page.")
    return _placed(mm, pixels, good, [one.number for one in known], squares_mm)


def _placed(
    mm: Floats, pixels: Floats, good: Bools, numbers: Sequence[int], squares_mm: Mapping[int, Box]
) -> Placement:
    used_mm, used_px = mm[good], pixels[good]
    every = used_mm.reshape(-1, 2)
    scale = pixels_per_mm(used_mm, used_px)
    way, error = _best_way(used_mm, used_px, scale)
    plane, bend = way.fit(used_mm, used_px)
    off = (way.put(plane, bend, every).reshape(used_px.shape) - used_px) / scale
    middle_off = off.mean(axis=1)
    middles = used_mm.mean(axis=1)
    free = max(2 * (len(middles) - way.terms(middles).shape[1]), 0)
    usual = USUAL_BEND_MM.value
    spread = (np.sum(middle_off**2) + _PRIOR_WEIGHT * usual**2) / (free + _PRIOR_WEIGHT)
    skew = (off[:, 0] - off[:, 1] + off[:, 2] - off[:, 3]) / 2.0
    noise = _NOISE_SHARE * np.mean(skew**2)
    lost = [box.middle_mm for number, box in squares_mm.items() if number not in numbers]
    away = np.linalg.norm(middles[:, None] - middles[None], axis=-1)
    away[np.diag_indices(len(away))] = np.inf
    return Placement(
        plane=plane,
        bend=bend,
        way=way,
        marks=tuple(n for n, ok in zip(numbers, good, strict=True) if ok),
        left_out=tuple(n for n, ok in zip(numbers, good, strict=True) if not ok),
        error_mm=error,
        spread_mm=max(float(np.sqrt(spread)), _LEAST_SPREAD_MM),
        local_mm=max(float(np.sqrt(max(spread - noise, 0.0))), _LEAST_SPREAD_MM),
        pixels_per_mm=scale,
        hull_mm=outline(every),
        drawn_hull_mm=outline(np.concatenate([box.corners() for box in squares_mm.values()])),
        spacing_mm=float(np.median(away.min(axis=1))),
        middles_mm=middles,
        middles=used_px.mean(axis=1),
        contradicted_mm=mm[~good].mean(axis=1).reshape(-1, 2),
        missing_mm=np.array(lost).reshape(-1, 2),
    )


def _best_way(mm: Floats, pixels: Floats, scale: float) -> tuple[Way, float]:
    """The plainest map that places marks kept out of the fit, and by how many mm it misses them.

    Maps that the middles of the marks do not determine are not tried: three columns say nothing of a cube.
    """
    every = mm.reshape(-1, 2)
    middle = (every.min(axis=0) + every.max(axis=0)) / 2.0
    reach = float(np.abs(every - middle).max())
    best, least = Way(False, 0, middle, reach), np.inf
    for slanted, degree in _WAYS:
        way = Way(slanted, degree, middle, reach)
        terms = way.terms(mm.mean(axis=1))
        if len(terms) <= terms.shape[1] or np.linalg.matrix_rank(terms, tol=_DETERMINED) < terms.shape[1]:
            continue
        error = way.unseen_error(mm, pixels) / scale
        if error < _GAIN * least:
            best, least = way, error
    return best, float(least)


def _agreeing(mm: Floats, pixels: Floats) -> Bools:
    """Marks that agree with the largest group; each pair of marks is tried as the truth."""
    best = np.zeros(len(mm), dtype=bool)
    pairs = list(combinations(range(len(mm)), 2))
    step = max(len(pairs) // 300, 1)
    for one, other in pairs[::step]:
        chosen = [one, other]
        plane = plane_map(mm[chosen].reshape(-1, 2), pixels[chosen].reshape(-1, 2))
        scale = pixels_per_mm(mm[chosen], pixels[chosen])
        away = np.linalg.norm(through_plane(plane, mm.reshape(-1, 2)) - pixels.reshape(-1, 2), axis=1)
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
        plane = plane_map(mm[best].reshape(-1, 2), pixels[best].reshape(-1, 2))
        away = np.linalg.norm(through_plane(plane, mm.reshape(-1, 2)) - pixels.reshape(-1, 2), axis=1)
        best = away.reshape(-1, 4).max(axis=1) < 2.0 * _OUTLIER_MM * pixels_per_mm(mm[best], pixels[best])
    return np.asarray(best)


def _in_shape(mm: Floats, pixels: Floats) -> Bools:
    """Marks whose sides are to each other as those of the others are: of one that curls they are not.

    A page shrinks and is seen from a slant alike at all its marks; light and ink make one larger or smaller
    both ways. What lies along one side of a mark moves this side, and nothing else gives it away.
    """
    back = np.linalg.inv(plane_map(mm.reshape(-1, 2), pixels.reshape(-1, 2)))
    seen = through_plane(np.asarray(back), pixels.reshape(-1, 2)).reshape(mm.shape)
    drawn, seen = (corners - corners.mean(axis=1, keepdims=True) for corners in (mm, seen))
    shapes = np.linalg.solve(np.swapaxes(drawn, 1, 2) @ drawn, np.swapaxes(drawn, 1, 2) @ seen)
    shapes = shapes - np.trace(shapes, axis1=1, axis2=2)[:, None, None] / 2.0 * np.eye(2)
    odd = 2.0 * np.linalg.norm(shapes - np.median(shapes, axis=0), ord=2, axis=(1, 2))
    return np.asarray(odd <= max(_ODD_SHAPE, _ODD_TIMES * float(np.median(odd))))


def _near(points: Floats, others: Floats, reach: float) -> Bools:
    """Which points lie nearer than ``reach`` to one of the others."""
    return np.asarray((np.linalg.norm(points[:, None] - others[None], axis=2) < reach).any(axis=1))
