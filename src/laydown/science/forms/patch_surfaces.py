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
    colour, none, half and full. Other inks: no closed surface is known, and their gamut is judged by its
    hull, which hangs on overprints: every plane of two inks in ``levels`` steps, and every three inks as
    solids, from four levels on in none, half and full, from eight on finer. Two inks alone fell 4 to 6 %
    short on model media however many steps they had.

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
        codes = _overprints(steps, len(names))
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


def _overprints(steps: Ints, inks: int) -> Ints:
    """Every two inks in all steps, every three in fewer."""
    if inks == 1:
        return steps[:, None]
    fewer = placed_levels(2 + len(steps) // 4, light=False)
    return np.concatenate([_combined(steps, inks, together=2), _combined(fewer, inks, together=3)])


def _combined(steps: Ints, inks: int, *, together: int) -> Ints:
    """So many inks at a time in these steps, the others bare."""
    none = np.zeros(1, dtype=np.int64)
    chosen = itertools.combinations(range(inks), together)
    faces = [_grid(*(steps if ink in some else none for ink in range(inks))) for some in chosen]
    return np.concatenate(faces) if faces else np.zeros((0, inks), dtype=np.int64)


def _put(free: Iterable[Ints], fixed: dict[int, Ints]) -> list[Ints]:
    """Four axes: the fixed ones where they belong, the free ones in the places left."""
    rest = iter(free)
    return [fixed[axis] if axis in fixed else next(rest) for axis in range(4)]


def _grid(*axes: Ints) -> Ints:
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(axes)).astype(np.int64)
