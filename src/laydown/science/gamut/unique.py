"""Device colours that a chart prints more than once: find them, and average their readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting

SAME_LEVEL = Constant(
    2e-5,
    "fraction of full scale",
    "above the rounding of a 16-bit or four-decimal device value and far below an 8-bit step",
    "common practice, no source",
)


@dataclass(frozen=True, slots=True, eq=False)
class UniqueColours:
    """The different device colours of a chart.

    ``device`` (u, k) in lexicographic order; ``inverse`` (n,) says which of them each patch is, -1 where a
    patch has no device value.
    """

    device: Floats
    inverse: Ints


def unique_colours(device: Floats, *, tolerance: float = SAME_LEVEL.value) -> UniqueColours:
    """Find the different colours among patches, taking values closer than ``tolerance`` as one level.

    Charts repeat white, black and the primaries; averaging the repeats first keeps a mesh from having two
    vertices at one place. Levels are told apart channel by channel, so float noise such as 0.2999999999
    beside 0.3 does no harm. Not for readings: two patches of one colour are two readings.

    Parameters
    ----------
    device : (n, k) device values, 0 to 1
    tolerance : largest step, as a fraction of full scale, that counts as no step

    Returns
    -------
    UniqueColours

    Raises
    ------
    BadSetting
        if ``device`` is not a table of patches by channels.

    Notes
    -----
    A level is reported as the mean of the values merged into it. Cost n log n.

    References
    ----------
    None: bookkeeping.

    Checked against
    ---------------
    numpy.unique on whole numbers; the counts of different colours on two measured charts.
    """
    table = np.asarray(device, dtype=np.float64)
    if table.ndim != 2:
        what = f"Device values must be a table of patches by channels; got {table.ndim} axes."
        raise BadSetting(what)
    known = ~np.isnan(table).any(axis=1)
    snapped = np.empty_like(table[known])
    for channel in range(table.shape[1]):
        snapped[:, channel] = _merge_levels(table[known, channel], tolerance)
    colours, which = np.unique(snapped, axis=0, return_inverse=True)
    inverse = np.full(len(table), -1, dtype=np.int64)
    inverse[known] = which.reshape(-1)
    return UniqueColours(device=colours, inverse=inverse)


def average_by_colour(values: Floats, unique: UniqueColours) -> Floats:
    """Average the readings of each device colour, leaving out readings with a missing number.

    Use it on XYZ, Lab or reflectance before building a mesh; an average of Lab is good enough because
    repeats of one colour lie within about one unit of each other.

    Parameters
    ----------
    values : (..., n, d) one row per patch, any unit; sheets may be stacked in front
    unique : the colours of those n patches

    Returns
    -------
    (..., u, d) in the unit of ``values``; NaN for a colour that was read nowhere

    Raises
    ------
    BadSetting
        if the number of patches differs from that of ``unique``.

    Notes
    -----
    A row with any NaN is left out whole: half a colour is not a colour.

    References
    ----------
    None: arithmetic mean.

    Checked against
    ---------------
    A plain loop.
    """
    rows = np.asarray(values, dtype=np.float64)
    if rows.ndim < 2 or rows.shape[-2] != len(unique.inverse):
        what = (
            f"There are {len(unique.inverse)} patches in the chart but the readings have shape {rows.shape}."
        )
        raise BadSetting(what, todo="Give one row of readings per patch.")
    order = np.argsort(unique.inverse, kind="stable")
    order = order[np.count_nonzero(unique.inverse < 0) :]
    if not len(order):
        return np.full((*rows.shape[:-2], len(unique.device), rows.shape[-1]), np.nan)
    # Only colours that are there: reduceat gives an empty stretch the element after it.
    present, starts = np.unique(unique.inverse[order], return_index=True)
    rows = rows[..., order, :]
    whole = ~np.isnan(rows).any(axis=-1, keepdims=True)
    total = np.add.reduceat(np.where(whole, rows, 0.0), starts, axis=-2)
    count = np.add.reduceat(whole.astype(np.float64), starts, axis=-2)
    mean = np.full((*rows.shape[:-2], len(unique.device), rows.shape[-1]), np.nan)
    mean[..., present, :] = np.divide(total, count, out=np.full_like(total, np.nan), where=count > 0)
    return mean


def _merge_levels(values: Floats, tolerance: float) -> Floats:
    """Each value replaced by the mean of the run of near-equal levels it belongs to."""
    levels, which = np.unique(values, return_inverse=True)
    if not len(levels):
        return values
    run = np.concatenate(([0], np.cumsum(np.diff(levels) > tolerance)))
    means = np.bincount(run, weights=levels) / np.bincount(run)
    merged: Floats = np.where(np.bincount(run)[run] == 1, levels, means[run])
    return merged[which.reshape(-1)]
