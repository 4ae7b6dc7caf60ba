"""An own test chart: which device colours, how often, and where on the page."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints

_FULL = 255.0
#: Corners and mid-points that are printed again and again to tell scatter on one sheet.
ANCHORS = {
    "white": (255, 255, 255),
    "mid grey": (128, 128, 128),
    "black": (0, 0, 0),
    "cyan": (0, 255, 255),
    "magenta": (255, 0, 255),
    "yellow": (255, 255, 0),
    "skin": (214, 164, 138),
    "dark blue": (40, 48, 96),
    "leaf green": (88, 128, 64),
}
_OFTEN = ("white", "mid grey", "black")


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """n patches in reading order, row by row.

    ``device_rgb`` (n, 3) is 0-1 (1 = full light), exact multiples of 1/255; ``positions`` (n, 2) holds row
    and column from 0; ``ids`` are column letters and row numbers such as A1; ``across`` (n,) runs from -1
    at the left edge to 1 at the right.
    """

    device_rgb: Floats
    positions: Ints
    ids: tuple[str, ...]

    @property
    def across(self) -> Floats:
        """Where each patch lies between the left (-1) and the right edge (1)."""
        last = max(int(self.positions[:, 1].max()), 1)
        return np.asarray(2.0 * self.positions[:, 1] / last - 1.0)

    def __len__(self) -> int:
        return len(self.ids)


def neutral_levels() -> Ints:
    """Levels of the neutral ramp: fives near black and white, tens between.

    Returns
    -------
    array (33,), 0-255, ascending.

    Checked against
    ---------------
    The list of levels it was designed to hold.
    """
    return np.concatenate([np.arange(0, 31, 5), np.arange(40, 221, 10), np.arange(225, 256, 5)])


def surface_colours(levels: int = 9) -> Ints:
    """Device colours on the six faces of the RGB cube, each once.

    Parameters
    ----------
    levels : int
        Steps along an edge, 2 or more.

    Returns
    -------
    array (levels^3 - (levels - 2)^3, 3), 0-255, sorted.

    Checked against
    ---------------
    The number of grid points on the faces of a cube; no point inside.
    """
    steps = np.rint(np.linspace(0.0, _FULL, levels)).astype(np.int64)
    cube = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    return np.asarray(cube[((cube == 0) | (cube == 255)).any(axis=1)])


def primary_ramp_colours(levels: int = 17) -> Ints:
    """Ramps from paper to each of cyan, magenta, yellow, red, green and blue.

    Parameters
    ----------
    levels : int
        Steps of one ramp, paper included.

    Returns
    -------
    array (6 * levels, 3), 0-255.

    Checked against
    ---------------
    Each ramp found again by device values, 17 steps long.
    """
    fall = np.rint(np.linspace(_FULL, 0.0, levels)).astype(np.int64)
    masks = ((1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 1, 1), (1, 0, 1), (1, 1, 0))
    return np.concatenate([np.where(np.array(mask, dtype=bool), fall[:, None], 255) for mask in masks])


def demonstration_chart(
    *, rng: np.random.Generator, columns: int = 27, anchor_repeats: int = 8, often_repeats: int = 24
) -> Chart:
    """A compact chart: cube faces, fine neutral and primary ramps, a coarse inside, repeats over the page.

    Every colour once, and the anchors as often as stated, in a random order. Repeats are spread:
    one falls in each equal stretch of the reading order. Made for demonstration and studies; a chart for
    profiling would need more colours inside the cube.

    Parameters
    ----------
    rng : numpy Generator
        For the order; the same state gives the same chart.
    columns : int
        Patches in one row of the page.
    anchor_repeats, often_repeats : int
        How often each anchor is printed in all; white, mid grey and black come ``often_repeats`` times.

    Returns
    -------
    Chart, about 750 patches with the defaults.

    Checked against
    ---------------
    Its promises: colours, repeats, their spread over the page, ids, order per seed.
    """
    neutrals = np.repeat(neutral_levels()[:, None], 3, axis=1)
    steps = np.array([43, 85, 128, 170, 213])
    inside = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    every = np.concatenate([surface_colours(), neutrals, primary_ramp_colours(), inside])
    anchors = np.array(list(ANCHORS.values()))
    single = np.unique(every, axis=0)
    single = single[~(single[:, None, :] == anchors[None]).all(axis=-1).any(axis=1)]
    colours, keys = [single], [rng.random(len(single))]
    for name, colour in ANCHORS.items():
        times = often_repeats if name in _OFTEN else anchor_repeats
        colours.append(np.tile(np.array(colour), (times, 1)))
        keys.append((np.arange(times) + rng.random(times)) / times)
    order = np.argsort(np.concatenate(keys), kind="stable")
    device = np.concatenate(colours)[order] / _FULL
    place = np.arange(len(device))
    positions = np.stack([place // columns, place % columns], axis=1)
    ids = tuple(f"{_column_letters(int(column))}{row + 1}" for row, column in positions)
    return Chart(device_rgb=device, positions=positions, ids=ids)


def _column_letters(column: int) -> str:
    """Letters of a column counted from 0: A ... Z, then AA, AB and on."""
    letters = ""
    rest = column + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters
