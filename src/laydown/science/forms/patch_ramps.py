"""Ramps from bare paper to full ink, and the search for the darkest patch."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.patch_levels import MIDDLE_CODE, NEUTRAL_BEND, SURFACE_BEND, refined_levels
from laydown.science.forms.patch_set import FULL_CODE, RGB, PatchSet, is_light, patches_of

NEAR_BLACK_STEP = Constant(
    12, "codes of 255", "our own choice: a lost shadow step is about as long", "computed"
)
_INK_STEP = 26  # a tenth of full ink: what an ink limit is set by


def neutral_patches(count: int, *, channels: Sequence[str] = RGB, given: PatchSet | None = None) -> PatchSet:
    """The neutral ramp, finer near black and near white.

    Parameters
    ----------
    count : steps, bare paper and black included, 2 or more
    channels : RGB: R = G = B; with a black ink: that ink alone; otherwise equal amounts of all inks
    given : patches that are printed already; their neutrals become steps of the ramp

    Returns
    -------
    PatchSet of role "neutral", ascending by code

    Checked against
    ---------------
    ``tone.neutral_ramp`` finds every step; steps at the ends are less than half those in the middle.
    """
    names = tuple(channels)
    moving = (names.index("K"),) if "K" in names else tuple(range(len(names)))
    levels = refined_levels(_levels_along(given, moving, 0), count, bend=NEUTRAL_BEND.value)
    return patches_of(_along(levels, moving, len(names), rest=0), "neutral", channels=names)


def primary_patches(count: int, *, channels: Sequence[str] = RGB, given: PatchSet | None = None) -> PatchSet:
    """Ramps from bare paper to each primary, and to each secondary of RGB and of C, M and Y.

    Parameters
    ----------
    count : steps of one ramp, bare paper and the solid included, 2 or more
    channels : names of the channels
    given : patches that are printed already; those of a ramp become steps of it

    Returns
    -------
    PatchSet of role "primary"

    Checked against
    ---------------
    ``tone.primary_ramps`` finds each ramp and every step of it.
    """
    names = tuple(channels)
    light = is_light(names)
    rest = FULL_CODE if light else 0
    mixing = [at for at, name in enumerate(names) if light or name in ("C", "M", "Y")]
    moving: list[tuple[int, ...]] = [(at,) for at in range(len(names))]
    moving += list(itertools.combinations(mixing, 2))
    ramps = []
    for which in moving:
        levels = refined_levels(_levels_along(given, which, rest), count, bend=SURFACE_BEND.value)
        ramps.append(_along(levels, which, len(names), rest=rest))
    return patches_of(_once(np.concatenate(ramps)), "primary", channels=names)


def near_black_patches(levels: int, *, channels: Sequence[str] = RGB) -> PatchSet:
    """A small lattice about black, since the darkest patch is not always the one with most ink.

    Parameters
    ----------
    levels : steps of each channel, 1 for black alone
    channels : names of the channels

    Returns
    -------
    PatchSet of role "near black"

    Raises
    ------
    BadSetting
        if a channel has no room for so many.

    Notes
    -----
    RGB: every combination of 6, 18, 30 and so on. With a black ink: full black with C, M and Y each at none,
    half and full; then black a tenth lower each level with the three at 40 and 80 %.
    Other inks: all full and a tenth lower each level. But for full black nothing lies on the surface, whose
    faces stay full grids.

    Checked against
    ---------------
    The number of points of the lattice; no channel farther from black than stated.
    """
    names = tuple(channels)
    if is_light(names):
        step = int(NEAR_BLACK_STEP.value)
        return patches_of(_lattice([step * np.arange(levels) + step // 2] * 3), "near black", channels=names)
    if "K" not in names:
        fall = FULL_CODE - _INK_STEP * np.arange(levels)
        return patches_of(np.repeat(fall[:, None], len(names), axis=1), "near black", channels=names)
    under = [at for at, name in enumerate(names) if name in ("C", "M", "Y")]
    tables = []
    for level in range(levels):
        axis = np.array([0, MIDDLE_CODE, FULL_CODE] if level == 0 else [102, 204])
        lattice = _lattice([axis] * len(under))
        table = np.zeros((len(lattice), len(names)), dtype=np.int64)
        table[:, under] = lattice
        table[:, names.index("K")] = FULL_CODE - _INK_STEP * level
        tables.append(table)
    return patches_of(np.concatenate(tables), "near black", channels=names)


def _levels_along(given: PatchSet | None, moving: tuple[int, ...], rest: int) -> Ints:
    """Levels of a ramp that a set holds already: those channels alike, every other at rest."""
    if given is None:
        return np.array([MIDDLE_CODE])
    together = given.codes[:, list(moving)]
    others = np.delete(given.codes, list(moving), axis=1)
    on = (together == together[:, :1]).all(axis=1) & (others == rest).all(axis=1)
    return np.asarray(together[on, 0])


def _along(levels: Ints, moving: tuple[int, ...], channels: int, *, rest: int) -> Ints:
    codes = np.full((len(levels), channels), rest, dtype=np.int64)
    codes[:, list(moving)] = levels[:, None]
    return codes


def _lattice(axes: Sequence[Ints]) -> Ints:
    if not axes:
        return np.zeros((1, 0), dtype=np.int64)
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes)).astype(np.int64)


def _once(codes: Ints) -> Ints:
    """Each colour once, where it first comes."""
    _, first = np.unique(codes, axis=0, return_index=True)
    return codes[np.sort(first)]
