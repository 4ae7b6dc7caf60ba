"""Ramps from bare paper to full ink, found by device values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData

FEWEST_STEPS = Constant(5.0, "steps", "fewer say nothing of a tone curve", "common practice, no source")
SAME_LEVEL = Constant(0.002, "of full", "half a step of 8 bits, for rounding in files", "computed")
NEARLY_NEUTRAL = Constant(
    0.03, "of full", "how unequal R, G and B may be in a stand-in for a neutral", "computed"
)

RGB = ("R", "G", "B")
CMYK = ("C", "M", "Y", "K")
#: Which channels move together in each ramp of an RGB chart (falling) and of a CMYK chart (rising).
_RGB_RAMPS = {"C": (0,), "M": (1,), "Y": (2,), "R": (1, 2), "G": (0, 2), "B": (0, 1)}
_CMYK_RAMPS = {"C": (0,), "M": (1,), "Y": (2,), "K": (3,), "R": (1, 2), "G": (0, 2), "B": (0, 1)}


@dataclass(frozen=True, slots=True, eq=False)
class Ramp:
    """Rows of the device table from paper to full ink.

    ``rows`` (s,) indexes the table that was searched; ``steps`` (s,) is 0 for paper and 1 for full ink,
    ascending; ``kind`` says in words how the ramp was found.
    """

    name: str
    rows: Ints
    steps: Floats
    kind: str

    def __len__(self) -> int:
        return int(self.rows.size)


def neutral_ramp(device: Floats, *, channels: Sequence[str] = RGB) -> Ramp:
    """The neutral ramp of a chart.

    On an RGB chart the patches with R = G = B; failing these, patches that are nearly so. On a chart of inks
    the black ramp; failing that, equal amounts of cyan, magenta and yellow. The kind of ramp is named,
    because greys made in different ways are not to be compared.

    Parameters
    ----------
    device : array (u, k), 0-1
        RGB: 1 = full light. Inks: 1 = full ink. A device value that comes twice is used once.
    channels : names of the columns, such as ("R", "G", "B")

    Returns
    -------
    Ramp, ordered from paper to full ink.

    Raises
    ------
    NotEnoughData
        The chart has no neutral ramp of at least five steps.

    Notes
    -----
    Nearly neutral means that the channels differ by 3 % of full at most; the step is their mean.

    Checked against
    ---------------
    Planted ramps of every kind; the 43 greys of a real matte chart.
    """
    values = np.asarray(device, dtype=np.float64)
    names = tuple(channels)
    if names == RGB:
        found = _nearest_to_equal(values, light=True)
    elif "K" in names:
        ink = names.index("K")
        found = _ramp("neutral", values, moving=(ink,), light=False, kind="black ink alone")
        if len(found) < FEWEST_STEPS.value and names == CMYK:
            without_black = np.flatnonzero(values[:, ink] <= SAME_LEVEL.value)
            greys = _nearest_to_equal(values[without_black][:, :3], light=False)
            found = Ramp("neutral", without_black[greys.rows], greys.steps, greys.kind)
    elif len(names) == 3:
        found = _nearest_to_equal(values, light=False)
    else:
        found = Ramp("neutral", np.zeros(0, dtype=np.int64), np.zeros(0), "")
    if len(found) < FEWEST_STEPS.value:
        raise NotEnoughData(
            f"the chart has no neutral ramp of at least {FEWEST_STEPS.value:g} steps.",
            todo="Measure a chart with a grey ramp (R = G = B, or black ink alone).",
        )
    return found


def primary_ramps(device: Floats, *, channels: Sequence[str] = RGB) -> dict[str, Ramp]:
    """Ramps from paper to each primary and secondary that the chart holds.

    Parameters
    ----------
    device : array (u, k), 0-1
        RGB: 1 = full light. Inks: 1 = full ink.
    channels : names of the columns

    Returns
    -------
    dict from C, M, Y, R, G, B (and K, or any other ink's name) to a Ramp of at least five steps; ramps
    the chart does not hold are not in it.

    Checked against
    ---------------
    Planted ramps; the demonstration chart; offset characterisation data.
    """
    values = np.asarray(device, dtype=np.float64)
    names = tuple(channels)
    light = names == RGB
    if light:
        moving: dict[str, tuple[int, ...]] = _RGB_RAMPS
    elif names == CMYK:
        moving = _CMYK_RAMPS
    else:
        moving = {name: (index,) for index, name in enumerate(names)}
    words = "the other channels full" if light else "no other ink"
    ramps = {
        name: _ramp(name, values, moving=which, light=light, kind=words) for name, which in moving.items()
    }
    return {name: ramp for name, ramp in ramps.items() if len(ramp) >= FEWEST_STEPS.value}


def _ramp(name: str, values: Floats, *, moving: tuple[int, ...], light: bool, kind: str) -> Ramp:
    """Rows in which only some channels move, all of them alike, and the rest leave the paper bare."""
    ink = 1.0 - values if light else values
    rest = [index for index in range(values.shape[1]) if index not in moving]
    together = ink[:, list(moving)]
    alike = together.max(axis=1) - together.min(axis=1) <= SAME_LEVEL.value
    bare = (ink[:, rest] <= SAME_LEVEL.value).all(axis=1)
    return _ordered(name, together.mean(axis=1), alike & bare, kind=kind)


def _nearest_to_equal(values: Floats, *, light: bool) -> Ramp:
    """Rows with equal channels; where there are too few, rows with nearly equal ones."""
    ink = 1.0 - values if light else values
    apart = ink.max(axis=1) - ink.min(axis=1) if len(ink) else np.zeros(0)
    word = "R = G = B" if light else "C = M = Y"
    level = ink.mean(axis=1)
    exact = _ordered("neutral", level, apart <= SAME_LEVEL.value, kind=word)
    if len(exact) >= FEWEST_STEPS.value:
        return exact
    return _ordered("neutral", level, apart <= NEARLY_NEUTRAL.value, kind=f"nearest to {word}")


def _ordered(name: str, level: Floats, chosen: Bools, *, kind: str) -> Ramp:
    """Chosen rows in ascending order of ink, each level once (its first row)."""
    rows = np.flatnonzero(chosen)
    rows = rows[np.argsort(level[rows], kind="stable")]
    if rows.size:
        new = np.concatenate([[True], np.diff(level[rows]) > SAME_LEVEL.value / 2.0])
        rows = rows[new]
    return Ramp(name, rows, level[rows], kind)
