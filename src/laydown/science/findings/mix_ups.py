"""Was it this sheet, and was it read the right way round? A reading against its chart and its siblings.

Single misread patches are found elsewhere (``readings.suspicious``, ``doubts``); here whole sheets and rows
are in doubt. Nothing is changed: every suspicion is a question with possible answers.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median_low

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.colour import delta_e_2000
from laydown.science.findings.chart import MISSING_ALLOWED
from laydown.science.findings.mix_up_questions import (
    Answer,
    MixUp,
    MixUpKind,
    about_chart,
    about_copy,
    about_order,
    about_owner,
    mend,
)
from laydown.science.findings.reading_order import (
    BY_ANY_PRINT,
    BY_SHEETS,
    Closeness,
    Order,
    any_print,
    find_order,
    fitted_to,
)
from laydown.science.findings.reduction import SAME_COLOUR, Reduced
from laydown.science.numeric.known_mean import known_mean

__all__ = ["Answer", "ExpectedChart", "MixUp", "MixUpKind", "mend", "suspect_mix_ups"]

_OURS = "our own judgement, checked by simulation, docs/methods/mix-ups.md"
FEWEST_PATCHES = Constant(20, "patches", _OURS, "common practice, no source")
SWAP_RATIO = Constant(4.0, "times nearer to the other medium", _OURS, "common practice, no source")
SWAP_RATIO_OF_ONE = Constant(
    6.0, "times nearer, with one sheet to go by", _OURS, "common practice, no source"
)
SWAP_DISTANCE = Constant(1.0, "dE00 from the own sheets", _OURS, "common practice, no source")
ENOUGH_KNOWN = Constant(0.8, "of the patches", _OURS, "common practice, no source")
_STEPS = 510.0  # half 8-bit levels: coarse enough for rounding in files, fine enough to tell colours apart
_PLACE_IN_NAME = re.compile(r"([A-Z]{1,3})(\d{1,3})")


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedChart:
    """The chart that was printed: device values (m, k), 0-1, in reading order.

    ``positions`` (m, 2) is (row, column) where known.
    """

    name: str
    channels: tuple[str, ...]
    device: Floats
    positions: Ints | None = None


def suspect_mix_ups(
    reading: Reduced,
    *,
    medium: str,
    chart: ExpectedChart | None = None,
    siblings: Sequence[Reduced] = (),
    others: Mapping[str, Sequence[Reduced]] | None = None,
) -> tuple[MixUp, ...]:
    """Look for a wrong chart, a wrong order of rows, a sheet of another medium, and a file twice.

    Hand in readings of other sheets under the same measuring condition, age and finish; those under another
    condition are passed over. With fewer than ``FEWEST_PATCHES`` patches nothing is ever claimed.

    Parameters
    ----------
    reading : Reduced
        The reading in doubt, in the order of its file.
    medium : str
        The medium it is filed under.
    chart : ExpectedChart, optional
        The chart that should have been read.
    siblings : sequence of Reduced
        Readings of other sheets of the medium.
    others : mapping of str to sequence of Reduced, optional
        Readings of other media's sheets.

    Returns
    -------
    tuple of MixUp
        Most serious first: chart, order, medium, copy. Empty where nothing looks wrong, which is no proof.

    Notes
    -----
    The order is judged against the mean of the siblings, colour by colour (median from three on); where there
    are none or they suggest nothing, against a rough expectation of any print. What one of the two says is
    dropped where the other clearly says the opposite: a sibling may be the one that was misread, and what all
    sheets show is how the medium prints. Two slips on one sheet are not told apart.

    Checked against
    ---------------
    Slips and swaps planted in simulated sheets, and false alarms on measured charts; rates in
    ``docs/methods/mix-ups.md``.
    """
    known = np.isfinite(reading.lab).all(axis=1)
    if np.count_nonzero(known) < FEWEST_PATCHES.value:
        return ()
    groups = {
        name: [item for item in sheets if _alike(item, reading)] for name, sheets in (others or {}).items()
    }
    mates = [item for item in siblings if _alike(item, reading)]
    found: list[MixUp] = []
    unlike = None if chart is None else _unlike_chart(reading, chart)
    if unlike is not None:
        found.append(unlike)
    device = _device(reading, None if unlike is not None else chart)
    rows, columns = _lines(reading, device, None if unlike is not None else chart)
    lab = reading.lab
    slip = _order(reading, medium, device, mates, rows, columns)
    if slip is not None:
        found.append(slip)
        assert slip.mending is not None
        lab = mend(lab, slip.mending)
    swapped = _owner(reading, medium, lab, device, mates, groups)
    if swapped is not None:
        found.append(swapped)
    copy = _copy(reading, medium, siblings, others or {})
    if copy is not None:
        found.append(copy)
    return tuple(found)


def _alike(item: Reduced, reading: Reduced) -> bool:
    """Whether two readings were taken under one condition, so that their colours may be compared."""
    channels = {item.channels, reading.channels} - {()}
    return item.condition == reading.condition and len(channels) <= 1


def _unlike_chart(reading: Reduced, chart: ExpectedChart) -> MixUp | None:
    """The reading is not of this chart; None where it is, or where that cannot be seen."""
    n, m = len(reading.ids), len(chart.device)
    agree, channels = None, None
    if reading.device is None:
        if n == m:
            return None
    elif reading.channels != chart.channels:
        channels = "/".join(reading.channels), "/".join(chart.channels)
        agree = 0
    else:
        agree = _agreeing(reading.device, chart.device)
        allowed = max(2.0, float(MISSING_ALLOWED) * m)
        if n - agree <= allowed and m - agree <= allowed:
            return None
    return about_chart(
        reading.file, patches=n, chart=chart.name, chart_patches=m, agree=agree, channels=channels
    )


def _agreeing(device: Floats, chart: Floats) -> int:
    """Patches whose device values are on the chart, each patch of the chart counted once."""
    from scipy.spatial import cKDTree

    reach = float(SAME_COLOUR)
    colours, count = np.unique(chart, axis=0, return_counts=True)
    known = device[np.isfinite(device).all(axis=1)]
    apart, nearest = cKDTree(colours).query(known, distance_upper_bound=2.0 * reach, p=np.inf)
    met = np.bincount(np.asarray(nearest)[np.asarray(apart) <= reach], minlength=len(colours))
    return int(np.minimum(met[: len(colours)], count).sum())


def _device(reading: Reduced, chart: ExpectedChart | None) -> Floats | None:
    """Device values in file order: the file's own, else those of the chart in its order."""
    if reading.device is not None:
        return reading.device
    return None if chart is None else chart.device


def _lines(
    reading: Reduced, device: Floats | None, chart: ExpectedChart | None
) -> tuple[tuple[Ints, ...], tuple[Ints, ...]]:
    """Rows and columns of the chart as places in the file; empty where they are not known."""
    positions = reading.positions
    if positions is None:
        positions = _places_in_names(reading.ids)
    if positions is None and chart is not None and chart.positions is not None and device is not None:
        same = device.shape == chart.device.shape and np.allclose(
            device, chart.device, atol=float(SAME_COLOUR)
        )
        positions = chart.positions if same else None
    if positions is None:
        return (), ()
    return _full_lines(positions, 0), _full_lines(positions, 1)


def _places_in_names(ids: tuple[str, ...]) -> Ints | None:
    """(row, column) from names such as B7, where every patch has one of its own."""
    found = [_PLACE_IN_NAME.fullmatch(name) for name in ids]
    if len(set(ids)) < len(ids) or any(match is None for match in found):
        return None
    pairs = [(int(match[2]), _letters(match[1])) for match in found if match is not None]
    return np.asarray(pairs, dtype=np.int64)


def _letters(word: str) -> int:
    """A is 1, Z 26, AA 27."""
    number = 0
    for letter in word:
        number = 26 * number + ord(letter) - 64
    return number


def _full_lines(positions: Ints, axis: int) -> tuple[Ints, ...]:
    """Places of each line in order along it; empty unless all lines are full but for the end of the last."""
    across, along = positions[:, axis], positions[:, 1 - axis]
    steps = np.unique(along)
    lines = []
    for number in np.unique(across):
        line = np.flatnonzero(across == number)
        line = line[np.argsort(along[line], kind="stable")]
        if not np.array_equal(along[line], steps[: line.size]):
            return ()
        lines.append(line)
    # Columns all end in the last row, which may be short: they then differ by one patch.
    short = [line.size < steps.size for line in lines]
    uneven = sum(short) > 1 and min(line.size for line in lines) < steps.size - 1
    return () if uneven else tuple(lines)


def _order(
    reading: Reduced,
    medium: str,
    device: Floats | None,
    mates: Sequence[Reduced],
    rows: Sequence[Ints],
    columns: Sequence[Ints],
) -> MixUp | None:
    """A better order of the patches, if there is one."""
    rough = None if device is None else any_print(device, channels=reading.channels or _channels(device))
    if rough is not None:
        rough = fitted_to(reading.lab, rough)
    by_sheets = _expected(reading, device, mates)
    if by_sheets is not None:
        expected, count = by_sheets
        found = _find(reading, expected, rows, columns, BY_SHEETS)
        if found is not None and (rough is None or not _says_the_opposite(found, reading.lab, rough)):
            base = f"the other sheet of {medium}" if count == 1 else f"the other {count} sheets of {medium}"
            caution = "" if count > 1 or rough is not None else "Or that sheet is the one that was misread."
            return about_order(reading.file, found, base=base, caution=caution)
    if rough is None:
        return None
    # A stray of another medium, read wrongly, fits its siblings in no order.
    found = _find(reading, rough, rows, columns, BY_ANY_PRINT)
    if found is None or (by_sheets is not None and _says_the_opposite(found, reading.lab, by_sheets[0])):
        return None
    return about_order(reading.file, found, base="what a print of such device values looks like")


def _find(
    reading: Reduced, expected: Floats, rows: Sequence[Ints], columns: Sequence[Ints], closeness: Closeness
) -> Order | None:
    return find_order(reading.lab, expected, rows=rows, columns=columns, closeness=closeness)


def _channels(device: Floats) -> tuple[str, ...]:
    """Usual names for so many channels, for a file that has no device values of its own."""
    return {3: ("R", "G", "B"), 4: ("C", "M", "Y", "K"), 1: ("K",)}.get(device.shape[1], ())


def _expected(
    reading: Reduced, device: Floats | None, sheets: Sequence[Reduced]
) -> tuple[Floats, int] | None:
    """Mean colour of other sheets for every place, and how many sheets; None where too little is known."""
    laid = [aligned for item in sheets if (aligned := _laid_beside(reading, device, item)) is not None]
    if not laid:
        return None
    if len(laid) < 3:
        return known_mean(laid), len(laid)
    stack = np.stack(laid)
    middle = known_mean(stack)
    some = np.isfinite(middle).all(axis=1)
    middle[some] = np.nanmedian(stack[:, some], axis=0)
    return middle, len(laid)


def _laid_beside(reading: Reduced, device: Floats | None, item: Reduced) -> Floats | None:
    """Lab of another sheet for every place of the reading, by device colour, else by place."""
    if device is None or item.device is None:
        beside = item.lab if len(item.lab) == len(reading.lab) else None
    elif device.shape[1] != item.device.shape[1]:
        beside = None
    else:
        beside = _by_colour(device, item.device, item.lab)
    if beside is None or np.isfinite(beside).all(axis=1).mean() < ENOUGH_KNOWN.value:
        return None
    return beside


def _by_colour(device: Floats, other: Floats, lab: Floats) -> Floats:
    """Mean Lab of another sheet's patches of each device colour, NaN where it has none."""
    usable = np.isfinite(other).all(axis=1) & np.isfinite(lab).all(axis=1)
    levels = np.rint(np.concatenate([np.nan_to_num(device, nan=-1.0), other[usable]]) * _STEPS)
    _, group = np.unique(levels, axis=0, return_inverse=True)
    group = np.asarray(group).ravel()
    here, there = group[: len(device)], group[len(device) :]
    size = int(group.max()) + 1
    count = np.bincount(there, minlength=size)
    total = np.stack(
        [np.bincount(there, weights=lab[usable, axis], minlength=size) for axis in range(3)], axis=1
    )
    mean = np.full(total.shape, np.nan)
    np.divide(total, count[:, np.newaxis], out=mean, where=count[:, np.newaxis] > 0)
    return np.asarray(mean[here])


def _says_the_opposite(found: Order, lab: Floats, expected: Floats) -> bool:
    """Whether another expectation clearly prefers the order as read."""
    mended = mend(lab, found.source)
    changed = (found.source >= 0) & (found.source != np.arange(len(lab)))
    before = np.linalg.norm(lab[changed] - expected[changed], axis=1)
    after = np.linalg.norm(mended[changed] - expected[changed], axis=1)
    both = np.isfinite(before) & np.isfinite(after)
    return bool(both.any() and before[both].mean() < 0.7 * after[both].mean())


def _owner(
    reading: Reduced,
    medium: str,
    lab: Floats,
    device: Floats | None,
    mates: Sequence[Reduced],
    groups: Mapping[str, Sequence[Reduced]],
) -> MixUp | None:
    """Another medium whose sheets the reading is like, where it is not like those of its own."""
    own = _distances(reading, lab, device, mates)
    there = {
        name: apart for name, sheets in groups.items() if (apart := _distances(reading, lab, device, sheets))
    }
    if not own or not there:
        return None
    other = min(there, key=lambda name: median_low(there[name]))
    distance, nearest = median_low(own), median_low(there[other])
    ratio = SWAP_RATIO_OF_ONE if len(own) == 1 else SWAP_RATIO
    if distance < max(SWAP_DISTANCE.value, ratio.value * nearest):
        return None
    return about_owner(
        reading.file, medium=medium, other=other, own=distance, there=nearest, siblings=len(own)
    )


def _distances(
    reading: Reduced, lab: Floats, device: Floats | None, sheets: Sequence[Reduced]
) -> list[float]:
    """Mean dE00 from each sheet that can be laid beside the reading."""
    found = []
    for item in sheets:
        beside = _laid_beside(reading, device, item)
        if beside is None:
            continue
        known = np.isfinite(lab).all(axis=1) & np.isfinite(beside).all(axis=1)
        if np.count_nonzero(known) >= FEWEST_PATCHES.value:
            found.append(float(delta_e_2000(lab[known], beside[known]).mean()))
    return found


def _copy(
    reading: Reduced,
    medium: str,
    siblings: Sequence[Reduced],
    others: Mapping[str, Sequence[Reduced]],
) -> MixUp | None:
    """The first file with the very same numbers."""
    for other, sheets in {medium: siblings, **{k: v for k, v in others.items() if k != medium}}.items():
        for item in sheets:
            if item.lab.shape == reading.lab.shape and np.array_equal(item.lab, reading.lab, equal_nan=True):
                return about_copy(reading.file, same_as=item.file, medium=medium, other=other)
    return None
