"""Whether the colours of a sheet fit its chart better in another order than they were read in.

A strip reader files what passes under it; a sheet turned upside down, a strip pulled the wrong way, read
twice or left out gives good readings of the wrong patches. Each such slip is a known rearrangement of rows,
which can be tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.colour import delta_e_2000, lab_from_reflectance
from laydown.science.prints import MATTE_COTTON, WAVELENGTHS_NM, reflectance

OrderKind = Literal[
    "upside_down",
    "rows_last_to_first",
    "reversed_rows",
    "row_left_out",
    "row_read_twice",
    "rows_exchanged",
    "patches_shifted",
]
Along = Literal["row", "column", "list"]

FEWEST_MOVED = Constant(
    4, "patches", "our own judgement: fewer fit elsewhere by chance", "common practice, no source"
)
FEWEST_SHIFTED = Constant(
    8, "patches", "our own judgement: a stretch is looked for anywhere", "common practice, no source"
)
STANDS_OUT = Constant(
    1.5, "times the usual distance", "our own judgement, from measured charts", "common practice, no source"
)
SAME_STRIP = Constant(
    1.5,
    "dE76",
    "our own judgement: a strip read twice gives the same twice",
    "common practice, no source",
)
VARIED = Constant(
    8.0,
    "dE76",
    "our own judgement: a strip of one colour is like its neighbour",
    "common practice, no source",
)
_FARTHEST = 50.0  # dE76 beyond which a patch is simply somewhere else
_SHARED = 0.6  # of the patches of a row that have to be compared when rows are of unlike length


@dataclass(frozen=True, slots=True)
class Closeness:
    """What an expectation allows to be claimed, in mean dE76 over the patches moved.

    A rearrangement has to fit ``ratio`` times better than the order as read, by ``least`` at least and by
    ``STANDS_OUT`` times what is usual on the rest of the sheet, and then no worse than ``most`` or twice what
    is usual.
    """

    ratio: float
    least: float
    most: float


_CHOSEN = "set by simulation and on measured charts, docs/methods/mix-ups.md"
#: Against the mean of other sheets of the medium.
BY_SHEETS = Closeness(ratio=2.5, least=2.0, most=5.0)
#: Against what any print of such device values looks like, roughly.
BY_ANY_PRINT = Closeness(ratio=2.0, least=8.0, most=22.0)


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """A rearrangement under which the colours fit.

    ``source`` (n,) is the row of the reading that belongs in each place, -1 where nothing was read; ``moved``
    the places as read whose colour belongs elsewhere. ``lines`` are the rows (or columns, as ``along``
    says) concerned, counted from 0; for ``patches_shifted`` first and last place of the stretch. ``as_read``
    and ``mended`` are mean dE00 from the expectation over what was moved.
    """

    kind: OrderKind
    source: Ints
    moved: Ints
    along: Along
    lines: tuple[int, ...]
    as_read: float
    mended: float


class _Try(NamedTuple):
    """One slip: where each line as read belongs (-1: nowhere), and whether it was read backwards."""

    kind: OrderKind
    belongs: Ints
    backwards: Bools
    named: tuple[int, ...]


def any_print(device: Floats, *, channels: Sequence[str]) -> Floats | None:
    """Roughly what any print of these device values looks like.

    Good enough to tell a wrong order from a right one, and for nothing else.

    Parameters
    ----------
    device : (n, k) array
        0-1.
    channels : sequence of str
        RGB, CMYK or black alone; others cannot be foretold.

    Returns
    -------
    (n, 3) array or None
        CIELAB of a perfect print on an invented matte paper; None for other channels.

    Notes
    -----
    Of CMYK, ``(1 - C)(1 - K)`` and so on are taken for RGB.

    Checked against
    ---------------
    Measured charts: 5-7 dE76 on average once fitted (``fitted_to``), where a wrong order gives 12-48.
    """
    rgb = as_light(device, channels=channels)
    if rgb is None:
        return None
    known = np.isfinite(rgb).all(axis=1)
    lab = np.full((len(rgb), 3), np.nan)
    spectra = reflectance(np.clip(rgb[known], 0.0, 1.0), medium=MATTE_COTTON)
    lab[known] = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    return lab


def as_light(device: Floats, *, channels: Sequence[str]) -> Floats | None:
    """RGB that stand in for device values of other channels, where there are any.

    A stand-in for the model of printing, which takes RGB; no conversion of colours.

    Parameters
    ----------
    device : (n, k) array
        0-1.
    channels : sequence of str
        RGB, CMYK or black alone.

    Returns
    -------
    (n, 3) array or None
        RGB 0-1, ``(1 - C)(1 - K)`` and so on for inks; None for other channels.

    Checked against
    ---------------
    Corners of each set of channels.
    """
    names = tuple(channels)
    if names == ("R", "G", "B"):
        return device
    if names == ("C", "M", "Y", "K"):
        return np.asarray((1.0 - device[:, :3]) * (1.0 - device[:, 3:]))
    if names == ("K",):
        return np.repeat(1.0 - device, 3, axis=1)
    return None


def fitted_to(lab: Floats, expected: Floats) -> Floats:
    """An expectation brought to the range of a sheet: L*, a* and b* each stretched and moved.

    By mean and standard deviation, which no order of the patches changes: a sheet read backwards cannot be
    fitted away.

    Parameters
    ----------
    lab, expected : (n, 3) array
        Colours of the sheet and what was expected; NaN where unknown.

    Returns
    -------
    (n, 3) array
        Each stretch held between 0.4 and 1.8.

    Checked against
    ---------------
    Stretched and moved colours in any order, which it gives back.
    """
    known = np.isfinite(lab).all(axis=1) & np.isfinite(expected).all(axis=1)
    if not known.any():
        return expected
    middle, spread = expected[known].mean(axis=0), expected[known].std(axis=0)
    stretch = np.clip(lab[known].std(axis=0) / np.maximum(spread, 1e-9), 0.4, 1.8)
    return np.asarray(lab[known].mean(axis=0) + stretch * (expected - middle))


def find_order(
    lab: Floats,
    expected: Floats,
    *,
    rows: Sequence[Ints] = (),
    columns: Sequence[Ints] = (),
    closeness: Closeness,
) -> Order | None:
    """The rearrangement that fits an expectation clearly better than the order as read, if there is one.

    Parameters
    ----------
    lab : (n, 3) array
        Colours in the order of the file; NaN where not read.
    expected : (n, 3) array
        What each place of the file should roughly hold; NaN where unknown.
    rows, columns : sequence of arrays of int
        Places of each line of the chart, in order along it; empty where not known.
    closeness : Closeness
        What the expectation allows to be claimed.

    Returns
    -------
    Order or None
        None where the order as read is as good as any, or where it cannot be told.

    Notes
    -----
    Tried are: the list backwards; along rows and along columns the lines from last to first, each forwards or
    backwards; single lines backwards; from some line on one line early (a line was left out) or late (one was
    read twice); one line in place of another; two lines exchanged; and a stretch of patches one place early
    or late. Of those that are good enough the one that improves most is taken. Two slips at once are not
    looked for. Cost is about 0.1 s for 3000 patches in 100 rows.

    Checked against
    ---------------
    Slips planted in simulated and measured charts of 24 to 3190 patches; see ``docs/methods/mix-ups.md``.
    """
    every = np.arange(len(lab))
    turned = _Move("upside_down", every[::-1], every, every[::-1], "list", ())
    found = _if_better(lab, expected, turned, closeness)
    places: dict[Along, Sequence[Ints]] = {"row": rows, "column": columns}
    for along, lines in places.items():
        if len(lines) >= 2:
            for slip in _slips(_Table(lab, expected, lines), closeness):
                found += _if_better(lab, expected, _move(slip, lines, along, len(lab)), closeness)
    found += _shifted(lab, expected, closeness)
    if not found:
        return None
    best = max(gain for gain, _ in found)
    # Of equals the first: the simplest slip that explains as much.
    return next(order for gain, order in found if gain >= best - 1e-9 * max(best, 1.0))


@dataclass(frozen=True, slots=True, eq=False)
class _Move:
    """Reading ``sent`` (m,) belongs in place ``to`` (m,); ``source`` is the whole sheet mended."""

    kind: OrderKind
    source: Ints
    sent: Ints
    to: Ints
    along: Along
    lines: tuple[int, ...]


def _if_better(lab: Floats, expected: Floats, move: _Move, closeness: Closeness) -> list[tuple[float, Order]]:
    """The order with its gain, where it fits clearly better than the order as read."""
    before = _apart(lab[move.sent], expected[move.sent])
    after = _apart(lab[move.sent], expected[move.to])
    both = np.isfinite(before) & np.isfinite(after)
    fewest = FEWEST_SHIFTED if move.kind == "patches_shifted" else FEWEST_MOVED
    if np.count_nonzero(both) < fewest.value:
        return []
    as_read, mended = float(before[both].mean()), float(after[both].mean())
    rest = np.ones(len(lab), dtype=np.bool_)
    rest[move.sent] = False
    others = _apart(lab[rest], expected[rest])
    others = others[np.isfinite(others)]
    usual = float(np.median(others)) if others.size >= FEWEST_MOVED.value else 0.0
    least = max(closeness.least, STANDS_OUT.value * usual)
    enough = as_read >= closeness.ratio * mended and as_read - mended >= least
    if not enough or mended > max(closeness.most, 2.0 * usual):
        return []
    sent, to = move.sent[both], move.to[both]
    order = Order(
        kind=move.kind,
        source=move.source,
        moved=move.sent,
        along=move.along,
        lines=move.lines,
        as_read=float(delta_e_2000(lab[sent], expected[sent]).mean()),
        mended=float(delta_e_2000(lab[sent], expected[to]).mean()),
    )
    return [(float((before[both] - after[both]).sum()), order)]


def _apart(lab: Floats, expected: Floats) -> Floats:
    """dE76, no larger than ``_FARTHEST``; NaN where either is unknown."""
    return np.asarray(np.minimum(np.linalg.norm(lab - expected, axis=-1), _FARTHEST))


class _Table:
    """How far each line as read lies from each line of the chart, (r, r) means, forwards and backwards.

    ``same`` (r, r) marks neighbouring lines that were read alike, patch by patch, and are not of one colour.
    """

    def __init__(self, lab: Floats, expected: Floats, lines: Sequence[Ints]) -> None:
        self.lengths = np.array([line.size for line in lines])
        wide = int(self.lengths.max())
        read = np.full((len(lines), wide, 3), np.nan)
        back, chart = read.copy(), read.copy()
        for number, line in enumerate(lines):
            read[number, : line.size] = lab[line]
            back[number, : line.size] = lab[line[::-1]]
            chart[number, : line.size] = expected[line]
        needed = _SHARED * self.lengths[:, np.newaxis]
        self.forwards = _mean_apart(read, chart, needed)
        self.backwards = _mean_apart(back, chart, needed)
        # A line turned round only makes sense against one of its own length.
        unlike = self.lengths[:, np.newaxis] != self.lengths
        self.backwards[unlike] = np.inf
        self.count = len(lines)
        self.same = _read_alike(read)


def _read_alike(read: Floats) -> Bools:
    """Neighbouring lines (r, r) whose readings (r, w, 3) are the same but for noise, in several colours."""
    alike = np.zeros((len(read), len(read)), dtype=np.bool_)
    for number in range(len(read) - 1):
        apart = np.linalg.norm(read[number] - read[number + 1], axis=-1)
        known = np.isfinite(apart)
        if np.count_nonzero(known) < FEWEST_MOVED.value:
            continue
        varied = float(np.linalg.norm(read[number][known].std(axis=0)))
        same = float(apart[known].mean()) <= SAME_STRIP.value and varied >= VARIED.value
        alike[number, number + 1] = alike[number + 1, number] = same
    return alike


def _mean_apart(read: Floats, chart: Floats, needed: Floats) -> Floats:
    """Mean capped distance (r, r) of every line from every other; infinite where too little is known."""
    squares = (
        (read**2).sum(axis=-1)[:, np.newaxis]
        + (chart**2).sum(axis=-1)
        - 2.0 * np.einsum("iwc,jwc->ijw", read, chart)
    )
    apart = np.minimum(np.sqrt(np.maximum(squares, 0.0)), _FARTHEST)
    known = np.isfinite(apart)
    count = known.sum(axis=-1)
    total = np.where(known, apart, 0.0).sum(axis=-1)
    mean = np.full(count.shape, np.inf)
    np.divide(total, count, out=mean, where=count >= np.maximum(needed, 1.0))
    return mean


def _slips(table: _Table, closeness: Closeness) -> Iterator[_Try]:
    """Everything that may have happened to the lines, the simplest first."""
    r = table.count
    numbers = np.arange(r)
    as_read = np.diagonal(table.forwards)
    forth, back = np.zeros(r, dtype=np.bool_), np.ones(r, dtype=np.bool_)
    yield _Try("upside_down", numbers[::-1], back, ())
    yield _Try("rows_last_to_first", numbers[::-1], forth, ())
    turned = np.diagonal(table.backwards)
    with np.errstate(invalid="ignore"):
        wrong = (as_read >= closeness.ratio * turned) & (as_read - turned >= closeness.least)
    if wrong.any():
        yield _Try("reversed_rows", numbers, wrong, tuple(np.flatnonzero(wrong).tolist()))
    first = _best_start(as_read[:-1], np.diagonal(table.forwards, 1))
    if first is not None:
        early = np.where(numbers >= first, numbers + 1, numbers)
        early[-1] = -1
        yield _Try("row_left_out", early, forth, (first,))
    second = _best_start(as_read[1:], np.diagonal(table.forwards, -1))
    if second is not None and second < r - 2:
        late = np.where(numbers > second, numbers - 1, numbers)
        yield _Try("row_read_twice", late, forth, (second, second + 1))
    yield from _one_for_another(table, numbers, forth)


def _best_start(as_read: Floats, moved: Floats) -> int | None:
    """From which line on a move by one gains most; None where it gains nothing."""
    usable = np.isfinite(as_read) & np.isfinite(moved)
    gain = np.where(usable, np.where(usable, as_read, 0.0) - np.where(usable, moved, 0.0), 0.0)
    from_here = np.cumsum(gain[::-1])[::-1]
    best = int(np.argmax(from_here)) if from_here.size else 0
    return best if from_here.size and from_here[best] > 0.0 else None


def _one_for_another(table: _Table, numbers: Ints, forth: Bools) -> Iterator[_Try]:
    """The line that gains most as its neighbour read again, and the pair that gains most by an exchange."""
    as_read = np.diagonal(table.forwards)
    usable = np.isfinite(table.forwards) & np.isfinite(as_read)[:, np.newaxis]
    gain = np.where(usable, as_read[:, np.newaxis], 0.0) - np.where(usable, table.forwards, 0.0)
    # In a chart sorted by colour some line is like another; only a strip read twice is the same twice.
    again = np.where(table.same, gain, 0.0)
    i, j = (int(place) for place in np.unravel_index(int(np.argmax(again)), again.shape))
    if again[i, j] > 0.0:
        belongs = numbers.copy()
        belongs[i] = j
        yield _Try("row_read_twice", belongs, forth, (j, i))
    both = np.minimum(gain, gain.T)
    i, j = (int(place) for place in np.unravel_index(int(np.argmax(both)), both.shape))
    if both[i, j] > 0.0:
        belongs = numbers.copy()
        belongs[[i, j]] = j, i
        yield _Try("rows_exchanged", belongs, forth, (min(i, j), max(i, j)))


def _move(slip: _Try, lines: Sequence[Ints], along: Along, n: int) -> _Move:
    """A slip of lines as a rearrangement of patches."""
    source = np.arange(n)
    sent, to = [], []
    stays = (slip.belongs == np.arange(len(lines))) & ~slip.backwards
    for number, line in enumerate(lines):
        if not stays[number]:
            source[line] = -1
    for number, (goal, turned) in enumerate(zip(slip.belongs.tolist(), slip.backwards.tolist(), strict=True)):
        if stays[number] or goal < 0:
            continue
        read = lines[number][::-1] if turned else lines[number]
        shared = min(read.size, lines[goal].size)
        sent.append(read[:shared])
        to.append(lines[goal][:shared])
        if not stays[goal]:
            # A line that was read twice and is right in its own place needs nothing from elsewhere.
            source[to[-1]] = sent[-1]
    nothing = np.empty(0, dtype=np.int64)
    return _Move(
        slip.kind,
        source,
        np.concatenate([nothing, *sent]),
        np.concatenate([nothing, *to]),
        along,
        slip.named,
    )


def _shifted(lab: Floats, expected: Floats, closeness: Closeness) -> list[tuple[float, Order]]:
    """The stretch of the list that gains most by moving one place, either way."""
    found: list[tuple[float, Order]] = []
    n = len(lab)
    as_read = _apart(lab, expected)
    for step in (1, -1):
        read = np.arange(n)[:-1] if step > 0 else np.arange(n)[1:]
        gain = as_read[read] - _apart(lab[read], expected[read + step])
        stretch = _best_stretch(np.where(np.isfinite(gain), gain, 0.0))
        if stretch is None:
            continue
        sent = read[stretch]
        source = np.arange(n)
        source[sent] = -1
        source[sent + step] = sent
        move = _Move("patches_shifted", source, sent, sent + step, "list", (int(sent[0]), int(sent[-1])))
        found += _if_better(lab, expected, move, closeness)
    return found


def _best_stretch(gain: Floats) -> slice | None:
    """The stretch with the largest sum, None where no element is above 0."""
    if not gain.size or gain.max() <= 0.0:
        return None
    total = np.concatenate([[0.0], np.cumsum(gain)])
    lowest = np.minimum.accumulate(total)
    end = int(np.argmax(total - lowest))
    start = int(np.flatnonzero(total[:end] == lowest[end])[-1])
    return slice(start, end)
