"""Which patch is printed where: at random, but for control strip, repeats and neighbours too much alike."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.forms.patch_set import FULL_CODE, PatchSet, is_light

# The plastic number's powers: points at whole multiples of them fall evenly over a square, and so does any
# run of neighbours among them (Roberts 2018, from memory).
_STEP = np.array([0.7548776662466927, 0.5698402909980532])
_PASSES = 30
_TRIES = 24
_NEAREST_MM = 0.01


def arrange_patches(
    patches: PatchSet,
    places: Floats,
    *,
    neighbours: Ints,
    rng: np.random.Generator,
    ends: Ints | None = None,
    least_contrast: float = 0.0,
) -> Ints:
    """Say which patch of a set goes to each place.

    What a page does from top to bottom or side to side (drying, banding, a worn platen) must not look like a
    property of a colour, so colours lie at random. The control strip keeps its order, in the first places;
    repeats are spread evenly, each colour over all pages; neighbours that a reader could not tell apart are
    exchanged with others.

    Parameters
    ----------
    patches : PatchSet of n patches
    places : (n, 3) page, x and y of each place, in reading order; mm
    neighbours : (m, 2) places that follow each other in a row
    rng : numpy Generator; the same state gives the same arrangement
    ends : places at the end of a row, beside bare paper
    least_contrast : how much neighbours must differ in some channel, as a fraction of full scale; 0 for not

    Returns
    -------
    (n,) row of the set for each place

    Notes
    -----
    The control strip and repeats are not exchanged, so that neighbours on the strip may stay alike.

    Checked against
    ---------------
    Every patch comes once; repeats lie far apart and in every part of the page; neighbours differ.
    """
    order = np.full(len(patches), -1, dtype=np.int64)
    strip = patches.of_role("control")
    order[: len(strip)] = strip
    rest = np.setdiff1d(np.arange(len(patches)), strip)
    bare = np.zeros(0, dtype=np.int64) if ends is None or least_contrast == 0.0 else ends
    for row, place in _spread(patches, rest, places, order, bare):
        order[place] = row
    loose = np.flatnonzero(order < 0)
    order[loose] = rng.permutation(np.setdiff1d(rest, order))
    if least_contrast > 0.0 and len(neighbours):
        _tell_apart(order, loose, neighbours, bare, apparent(patches), rng, least_contrast)
    return order


def alike_neighbours(patches: PatchSet, order: Ints, neighbours: Ints, *, least_contrast: float) -> Bools:
    """Which neighbours a reader may not tell apart.

    Parameters
    ----------
    patches : PatchSet
    order : (n,) row of the set for each place
    neighbours : (m, 2) places
    least_contrast : as for ``arrange_patches``

    Returns
    -------
    (m,) bool

    Checked against
    ---------------
    Rows laid by hand.
    """
    return _alike(apparent(patches)[order], neighbours, least_contrast)


def apparent(patches: PatchSet) -> Floats:
    """Roughly how light each patch looks through three filters, to tell neighbours apart and nothing else.

    Parameters
    ----------
    patches : PatchSet

    Returns
    -------
    (n, 3) 0 to 1; inks other than cyan, magenta and yellow darken all three

    Checked against
    ---------------
    White, black and each ink alone.
    """
    if is_light(patches.channels):
        return patches.device
    light = np.ones((len(patches), 3))
    for at, name in enumerate(patches.channels):
        which = [("C", "M", "Y").index(name)] if name in ("C", "M", "Y") else [0, 1, 2]
        light[:, which] *= 1.0 - patches.codes[:, at : at + 1] / FULL_CODE
    return light


def _alike(light: Floats, neighbours: Ints, least: float) -> Bools:
    apart = np.abs(light[neighbours[:, 0]] - light[neighbours[:, 1]]).max(axis=1)
    return np.asarray(apart < least)


def _spread(patches: PatchSet, rest: Ints, places: Floats, order: Ints, ends: Ints) -> list[tuple[int, int]]:
    """A place for each patch whose colour comes again, spread over the pages and over each page.

    They stay away from ``ends``: bare paper is one of them, and could not be told from the paper beside it.
    """
    free = order < 0
    free[ends] = False
    if not len(rest):
        return []
    _, colour = np.unique(patches.codes[rest], axis=0, return_inverse=True)
    colour = colour.reshape(-1)
    pages = [_EvenPage(np.flatnonzero(places[:, 0] == page), places) for page in np.unique(places[:, 0])]
    chosen: list[tuple[int, int]] = []
    for group in np.flatnonzero(np.bincount(colour) > 1):
        rows = rest[colour == group]
        taken = [0] * len(pages)
        away = [np.full(page.size, np.inf) for page in pages]  # from each place to the nearest of this colour
        for row in rows.tolist():
            if not free.any():
                free = order < 0
                free[[place for _, place in chosen]] = False
            # The page with fewest of this colour for its size.
            shares = [
                (taken[at] + 1.0) / page.size if free[page.here].any() else np.inf
                for at, page in enumerate(pages)
            ]
            at = int(np.argmin(shares))
            place = pages[at].next_place(free, away[at], len(rows) / len(pages))
            taken[at] += 1
            away[at] = np.minimum(away[at], pages[at].distances(place))
            free[place] = False
            chosen.append((row, place))
    return chosen


class _EvenPage:
    """The places of one page, and the next of points that fall evenly over it."""

    def __init__(self, here: Ints, places: Floats) -> None:
        self.here, self.size = here, len(here)
        self.where = places[:, 1:]
        own = self.where[here]
        self.low, self.high = own.min(axis=0), own.max(axis=0)
        gaps = [np.diff(np.unique(np.round(own[:, axis], 3))) for axis in (0, 1)]
        self.step = [float(gap.min()) if len(gap) else 1.0 for gap in gaps]
        self.points = 0

    def distances(self, place: int) -> Floats:
        """From each place of this page to one of them."""
        return np.asarray(np.linalg.norm(self.where[self.here] - self.where[place], axis=1))

    def next_place(self, free: Bools, away: Floats, copies: float) -> int:
        """The free place nearest to the next point, and not near one of the same colour."""
        open_here = np.flatnonzero(free[self.here])
        target = self._target()
        nearness = np.linalg.norm(self.where[self.here[open_here]] - target, axis=1)
        apart = 0.6 * np.sqrt(self.size * self.step[0] * self.step[1] / max(copies, 1.0))
        far = away[open_here]
        while apart > 0.0 and not (far >= apart).any():
            # Where all that is left touches the same colour no distance is small enough.
            apart = 0.8 * apart if apart > _NEAREST_MM else 0.0
        return int(self.here[open_here[np.argmin(np.where(far >= apart, nearness, np.inf))]])

    def _target(self) -> Floats:
        """The next point that falls on a patch; a page may be filled only in part."""
        while True:
            self.points += 1
            target = self.low + ((0.5 + self.points * _STEP) % 1.0) * (self.high - self.low)
            if (np.abs(self.where[self.here] - target) <= self.step).all(axis=1).any():
                return np.asarray(target)


def _tell_apart(
    order: Ints,
    loose: Ints,
    neighbours: Ints,
    ends: Ints,
    light: Floats,
    rng: np.random.Generator,
    least: float,
) -> None:
    """Exchange loose patches until neighbours differ, or no exchange helps any more."""
    movable = np.zeros(len(order), dtype=np.bool_)
    movable[loose] = True
    beside = _beside(neighbours, len(order))
    at_end = np.bincount(ends, minlength=len(order))

    def faults(place: int) -> int:
        apart = np.abs(light[order[beside[place]]] - light[order[place]]).max(axis=1)
        lost_in_paper = (1.0 - light[order[place]]).max() < least
        return int(np.count_nonzero(apart < least) + at_end[place] * lost_in_paper)

    for _ in range(_PASSES):
        alike = neighbours[_alike(light[order], neighbours, least)]
        pale = ends[(1.0 - light[order[ends]]).max(axis=1) < least]
        wrong = [place for place in np.unique(np.append(alike, pale)).tolist() if movable[place]]
        if not wrong:
            return
        for place in wrong:
            if not faults(place):
                continue
            for other in rng.choice(loose, size=min(_TRIES, len(loose)), replace=False).tolist():
                before = faults(place) + faults(other)
                order[[place, other]] = order[[other, place]]
                if faults(place) + faults(other) < before:
                    break
                order[[place, other]] = order[[other, place]]


def _beside(neighbours: Ints, count: int) -> list[list[int]]:
    beside: list[list[int]] = [[] for _ in range(count)]
    for one, other in neighbours.tolist():
        beside[one].append(other)
        beside[other].append(one)
    return beside
