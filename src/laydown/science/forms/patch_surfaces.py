"""Patches on the outside of device space, which bound the gamut."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.science.forms.patch_levels import placed_levels
from laydown.science.forms.patch_set import CMYK, FULL_CODE, RGB, PatchSet, is_light, patches_of


def surface_patches(levels: int, *, channels: Sequence[str] = RGB) -> PatchSet:
    """Patches over the outside of device space, each once.

    Parameters
    ----------
    levels : steps along an edge, 2 or more
    channels : ("R", "G", "B"), ("C", "M", "Y", "K") or other inks

    Returns
    -------
    PatchSet of role "surface", sorted by code

    Raises
    ------
    BadSetting
        if there are fewer than two levels, or more than fit.

    Notes
    -----
    RGB and three inks: ``levels`` x ``levels`` on each face of the cube, 6 (levels - 1)^2 + 2 in all. CMYK:
    the three faces without black on which a colour ink is zero and the six walls on which black rises from
    the circuit of solid colours, both as grids; of the three faces with full black, which are nearly one
    colour, none, half and full. Other inks: every plane of two inks; no closed surface is known
    for them, and their gamut is judged by its hull.

    References
    ----------
    ISO/TS 18621-11:2022 for RGB; the CMYK faces: common practice, no source.

    Checked against
    ---------------
    The number of points on the faces of a cube; ``gamut.device_surface`` closes over RGB, CMY and CMYK.
    """
    names = tuple(channels)
    steps = placed_levels(levels, light=is_light(names))
    if len(names) == 3:
        codes = _cube(steps)
    elif names == CMYK:
        codes = _cmyk(steps)
    else:
        codes = _planes(steps, len(names))
    return patches_of(np.unique(codes, axis=0), "surface", channels=names)


def _cube(steps: Ints) -> Ints:
    cube = _grid(steps, steps, steps)
    return np.asarray(cube[((cube == 0) | (cube == FULL_CODE)).any(axis=1)])


def _cmyk(steps: Ints) -> Ints:
    none, full = np.zeros(1, dtype=np.int64), np.full(1, FULL_CODE)
    few = placed_levels(min(len(steps), 3))
    # From paper to primaries and secondaries; the walls from there to black; the dark end.
    light = [_grid(*_put([steps, steps], {bare: none, 3: none})) for bare in range(3)]
    circuit = itertools.permutations(range(3), 2)
    walls = [_grid(*_put([steps, steps], {low: none, high: full})) for low, high in circuit]
    dark = _grid(few, few, few, full)
    return np.concatenate([*light, *walls, dark[(dark[:, :3] == FULL_CODE).any(axis=1)]])


def _planes(steps: Ints, inks: int) -> Ints:
    none = np.zeros(1, dtype=np.int64)
    pairs = itertools.combinations(range(inks), 2)
    faces = [_grid(*(steps if ink in pair else none for ink in range(inks))) for pair in pairs]
    return np.concatenate(faces) if faces else steps[:, None]


def _put(free: Iterable[Ints], fixed: dict[int, Ints]) -> list[Ints]:
    """Four axes: the fixed ones where they belong, the free ones in the places left."""
    rest = iter(free)
    return [fixed[axis] if axis in fixed else next(rest) for axis in range(4)]


def _grid(*axes: Ints) -> Ints:
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes)).astype(np.int64)
