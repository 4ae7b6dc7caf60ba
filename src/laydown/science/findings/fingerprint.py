"""Whether two readings were taken on one sheet, from the scatter of its patches.

Two sheets of one medium differ a little, patch by patch, and those small differences are the same whichever
measuring condition reads them: they are the sheet's fingerprint.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.findings.chart import same_chart
from laydown.science.findings.reduction import Reduced
from laydown.science.numeric.known_mean import known_mean

_CHANCE = "with fewer, chance makes strangers look alike"
FEWEST_REPEATS = Constant(14, "degrees of freedom", _CHANCE, "computed")
FEWEST_COLOURS = Constant(60, "colours", _CHANCE, "computed")

# Simulated strangers reach 0.4 by chance with the fewest repeats, 0.2 over all colours; pairs have about 0.7.
ALIKE = Constant(0.45, "correlation", "between simulated strangers and pairs", "computed")

_STEPS = 510.0  # half 8-bit levels: coarse enough for rounding in files, fine enough to tell colours apart


def fingerprint_likeness(first: Sequence[Reduced], second: Sequence[Reduced]) -> Floats:
    """How alike the fingerprints are of readings under one condition and readings under another.

    Repeats of a colour on a sheet scatter about their mean; on one sheet that pattern is the same under every
    condition, on another it is another. Charts with few repeats are compared over all their colours instead,
    each sheet against the middle one of all, which needs several sheets. What cannot be told is told so.

    Parameters
    ----------
    first, second
        Readings of f and s sheets, with device values.

    Returns
    -------
    (f, s) array
        Correlation, -1 to 1; above ``ALIKE`` it is one sheet. -1 where nothing can be said.

    Notes
    -----
    Repeats are matched in the order of their files, which one pass of an instrument writes alike for every
    condition; in another order a pair is not recognised, and never a wrong one made.

    Checked against: simulated sheets with known pairs, strangers and unequal noise, in the tests.
    """
    table = np.full((len(first), len(second)), -1.0)
    rough = _rough([*first, *second])
    for row, column in np.ndindex(*table.shape):
        one, two = first[row], second[column]
        if not same_chart(one, two):
            continue
        by_repeats = _by_repeats(one, two)
        if by_repeats is not None:
            table[row, column] = by_repeats
        elif rough is not None:
            table[row, column] = _correlation(rough[row], rough[len(first) + column])
    return table


def _by_repeats(first: Reduced, second: Reduced) -> float | None:
    """Correlation of the repeats' departures from their colour's mean; None where there are too few."""
    (first_rows, first_keys), (second_rows, second_keys) = _in_order(first), _in_order(second)
    keys, in_first, in_second = np.intersect1d(first_keys, second_keys, return_indices=True)
    _, group, count = np.unique(keys // _MOST_REPEATS, return_inverse=True, return_counts=True)
    if int(np.sum(count - 1)) < FEWEST_REPEATS.value:
        return None
    repeated = count[group] > 1
    patterns = []
    for item, rows in ((first, first_rows[in_first]), (second, second_rows[in_second])):
        lab = np.where(np.isnan(item.lab[rows]), known_mean(item.lab[rows]), item.lab[rows])
        means = (
            np.stack([np.bincount(group, weights=lab[:, axis]) for axis in range(3)], axis=1) / count[:, None]
        )
        apart = (lab - means[group])[repeated]
        spread = np.sqrt(np.mean(apart**2, axis=0))
        patterns.append(np.divide(apart, spread, out=np.zeros_like(apart), where=spread > 0.0).ravel())
    return _correlation(patterns[0], patterns[1])


_MOST_REPEATS = 4096


def _in_order(item: Reduced) -> tuple[Ints, Ints]:
    """Rows sorted by colour, file order within a colour; and a number for (colour, nth patch of it)."""
    levels = _levels(item)
    weights = np.array([1024**place for place in range(min(levels.shape[1], 4))], dtype=np.int64)
    colour = levels[:, : len(weights)] @ weights
    order = np.argsort(colour, kind="stable").astype(np.int64)
    ordered = colour[order]
    nth = np.arange(len(ordered)) - np.searchsorted(ordered, ordered)
    return order, np.asarray(ordered * _MOST_REPEATS + nth)


def _rough(items: Sequence[Reduced]) -> Floats | None:
    """L* of the colours all have, less the middle sheet's; None for too few sheets or colours."""
    if len(items) < 4:
        return None
    tables = [_in_order(item) for item in items]
    keys = tables[0][1]
    for _, places in tables[1:]:
        keys = np.intersect1d(keys, places)
    if len(keys) < FEWEST_COLOURS.value:
        return None
    lightness = np.stack(
        [item.lab[rows[np.searchsorted(places, keys)], 0] for item, (rows, places) in zip(items, tables)]
    )
    lightness = np.where(np.isnan(lightness), np.nanmean(lightness, axis=0), lightness)
    first = _smooth_free(
        lightness, _levels(items[0])[tables[0][0][np.searchsorted(tables[0][1], keys)]] / _STEPS
    )
    return np.asarray(first - np.median(first, axis=0))


def _smooth_free(lightness: Floats, device: Floats) -> Floats:
    """What is left of (sheets, colours) once a quadratic in device colour is taken off.

    What one condition adds to another, a brightener's glow, is smooth in device space.
    """
    terms = [np.ones(len(device)), *device.T]
    terms += [device[:, i] * device[:, j] for i in range(device.shape[1]) for j in range(i, device.shape[1])]
    smooth, _ = np.linalg.qr(np.column_stack(terms))
    return np.asarray(lightness - (lightness @ smooth) @ smooth.T)


def _correlation(first: Floats, second: Floats) -> float:
    """Correlation about zero; -1 where one of them does not vary."""
    size = float(np.linalg.norm(first) * np.linalg.norm(second))
    return float(first @ second) / size if size > 0.0 else -1.0


def _levels(item: Reduced) -> Ints:
    """Device values as whole steps, the same for a colour however its file rounded it."""
    assert item.device is not None
    return np.rint(item.device * _STEPS).astype(np.int64)
