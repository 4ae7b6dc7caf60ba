"""Finds the page of a form that a measurement file was read from, and in which order it was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import Costs, align, alignment_scores
from laydown.science.forms.geometry import PageGeometry
from laydown.science.forms.match_words import matched_words
from laydown.science.forms.rank_scores import score_distances
from laydown.science.forms.reading_ways import IN_ORDER, Way, every_way, order_of

_SIMULATED = "false matches and missed ones in simulation, docs/methods/patch-sets.md"
FEWEST_ROWS = Constant(20, "patches", "our own judgement: fewer fit too many things by chance", "computed")
ENOUGH_COLOUR = Constant(0.45, "score", _SIMULATED, "computed")
ENOUGH_DEVICE = Constant(0.60, "score", "our own judgement: six in ten patches of both lists", "computed")
LEAST_MARGIN = Constant(0.10, "score", _SIMULATED, "computed")
SAME_DEVICE = Constant(0.0055, "of full scale", "rounding to whole percent, and a hair", "computed")
SKIP = Constant(0.25, "standard deviations for each column of values", _SIMULATED, "computed")
_NO_MATCH = 2.0  # times the cost of leaving out: never taken for the same
_TODO = "Check the file and the form, or say yourself which page it is."


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedPage:
    """A page as it was printed: n places in reading order.

    ``device`` (n, k) 0 to 1; ``positions`` (n, 2) row and column; ``names`` of the places. ``values`` (n, d) are
    what its patches should roughly look like, in whatever rises and falls with what is measured, or None.
    """

    form: str
    page: str
    channels: tuple[str, ...]
    device: Floats
    positions: Ints
    names: tuple[str, ...]
    values: Floats | None = None

    def __len__(self) -> int:
        return len(self.names)

    @property
    def title(self) -> str:
        """How it is called in a sentence."""
        return f"page {self.page} of form {self.form}"


@dataclass(frozen=True, slots=True, eq=False)
class Matched:
    """The page a file was read from, and where each of its rows belongs.

    ``source`` (n,) is the row of the file for each place of the page in reading order, -1 where none was read:
    values taken in this order are mended. ``way`` is None where the file lists its patches in no order of
    places, and device values alone say which is which. ``missing`` are places, ``extra`` rows of the file.
    ``turned`` names rows of the page that were read against the others. ``score`` is 1 for a perfect fit,
    ``margin`` how far the next best page or order lies behind. ``told_by`` is what decided.
    """

    page: ExpectedPage
    way: Way | None
    source: Ints
    missing: Ints
    extra: Ints
    turned: tuple[str, ...]
    score: float
    margin: float
    told_by: Literal["device values", "colours", "device values and colours"]
    words: str = field(default="")

    @property
    def needs_consent(self) -> bool:
        """Whether anything has to be put right, which nobody does unasked."""
        return self.way != IN_ORDER or bool(len(self.missing) or len(self.extra) or self.turned)


@dataclass(frozen=True, slots=True)
class NotMatched:
    """Why a file is not taken for any page, and what to do; ``score`` is that of the best page."""

    reason: str
    todo: str = _TODO
    score: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """One page in one order."""

    page: ExpectedPage
    way: Way | None
    order: Ints
    score: float


def expected_page(geometry: PageGeometry, *, values: Floats | None = None) -> ExpectedPage:
    """A page as its geometry file describes it.

    Parameters
    ----------
    geometry : PageGeometry
    values : (n, d) what its patches should roughly look like, in reading order

    Returns
    -------
    ExpectedPage

    Checked against
    ---------------
    Pages that were laid out.
    """
    patches = geometry.patches
    device = np.array([one.device for one in patches], dtype=np.float64)
    return ExpectedPage(
        form=geometry.form,
        page=geometry.page,
        channels=geometry.channels,
        device=device.reshape(len(patches), len(geometry.channels)),
        positions=np.array([one.place for one in patches], dtype=np.int64).reshape(-1, 2),
        names=tuple(one.name for one in patches),
        values=values,
    )


def match_pages(
    pages: Sequence[ExpectedPage],
    *,
    channels: Sequence[str] = (),
    device: Floats | None = None,
    values: Floats | None = None,
) -> Matched | NotMatched:
    """Say which page the rows of a file are of, and in which order they were read; or that it cannot be said.

    Device values in a file say what its program took the patches for; colours say what was under the reader.
    Where both are there both are asked, and colours that clearly fit another order win. Nothing is changed:
    what is found is put to the user.

    Parameters
    ----------
    pages : what may have been read; those of one form are tried together too, as one reading
    channels : names of the file's device values
    device : (m, k) device values of the file's rows, or None
    values : (m, d) what was measured: Lab, or anything else that rises and falls with the pages' values

    Returns
    -------
    Matched or NotMatched

    Notes
    -----
    Orders: along rows or columns, from either end, each line forwards, backwards, or there and back. In each the
    readings are aligned with the places so that patches and whole lines may be missing or come twice. Colours
    are compared as ranks, column by column, turned into normal scores, so that only their order counts and no
    model of the ink is needed. A page is claimed from ``ENOUGH_COLOUR`` on (``ENOUGH_DEVICE`` by device values)
    and with ``LEAST_MARGIN`` before the next one.

    References
    ----------
    Needleman and Wunsch, J. Mol. Biol. 48 (1970) 443-453, from memory.

    Checked against
    ---------------
    Every measured file at hand, read in every order and with lines missing and double; pages that were not read.
    """
    rows = len(device) if device is not None else len(values) if values is not None else 0
    if not rows:
        return NotMatched("the file has neither device values nor colours to go by.", "Export it with either.")
    every = [*pages, *_whole_forms(pages)]
    if device is not None and np.isfinite(device).all(axis=1).any():
        by_device = _by_device(every, tuple(channels), device)
        if isinstance(by_device, NotMatched) or values is None or by_device.page.values is None:
            return by_device
        return _held_against_colours(by_device, values)
    if values is None:
        return NotMatched("the file's device values are all empty.", "Export it with device values or colours.")
    return _by_colour(every, values)


def _whole_forms(pages: Sequence[ExpectedPage]) -> list[ExpectedPage]:
    """Forms of several pages as one long page, for files that hold all of them."""
    whole = []
    for form in dict.fromkeys(page.form for page in pages):
        own = [page for page in pages if page.form == form]
        if len(own) < 2 or len({page.channels for page in own}) > 1:
            continue
        first = np.cumsum([0, *(int(page.positions[:, 0].max(initial=0)) + 1 for page in own)])
        positions = [page.positions + (above, 0) for page, above in zip(own, first, strict=False)]
        known = [page.values for page in own if page.values is not None]
        whole.append(
            ExpectedPage(
                form=form,
                page=" and ".join(page.page for page in own),
                channels=own[0].channels,
                device=np.concatenate([page.device for page in own]),
                positions=np.concatenate(positions),
                names=tuple(name for page in own for name in page.names),
                values=np.concatenate(known) if len(known) == len(own) else None,
            )
        )
    return whole


def _by_device(
    pages: Sequence[ExpectedPage], channels: tuple[str, ...], device: Floats
) -> Matched | NotMatched:
    """By device values alone."""
    fits: list[_Fit] = []
    costs: dict[int, Costs] = {}
    for number, page in enumerate(pages):
        if page.device.shape[1] != device.shape[1] or (channels and channels != page.channels):
            continue
        costs[number] = _device_costs(device, page.device)
        fits += _fits(page, costs[number], skip=1.0)
        listed = _listed(page, costs[number])
        # The same patches in any order at all: only where no way of reading the page is nearly as good.
        if listed.score > max(fit.score for fit in fits if fit.page is page) + LEAST_MARGIN.value:
            fits.append(listed)
    if not fits:
        return NotMatched(
            f"its device values are {'/'.join(channels) or 'of other channels'}; no page of the form has such.",
            "Check that the file is of this form.",
        )
    best, margin = _best(fits)
    number = next(at for at, page in enumerate(pages) if page is best.page)
    met = round(best.score * (len(device) + len(best.page)) / 2.0)
    part = met >= 0.9 * len(device) and met >= max(FEWEST_ROWS.value, 0.25 * len(best.page))
    if best.score < ENOUGH_DEVICE.value and not part:
        return NotMatched(
            f"only {met} of its {len(device)} patches have device values of {best.page.title}, "
            "which fits best.",
            "Check that the file is of this form.",
            best.score,
        )
    if margin < LEAST_MARGIN.value / 2.0:
        return NotMatched("its device values fit two pages or orders equally well.", _TODO, best.score)
    if best.way is None:
        source = _listed_source(costs[number])
    else:
        source = align(costs[number], best.order, skip=1.0)
    return _matched(best, source, margin, rows=len(device), told_by="device values")


def _by_colour(pages: Sequence[ExpectedPage], values: Floats) -> Matched | NotMatched:
    """By colours alone."""
    known = int(np.isfinite(values).all(axis=1).sum())
    if known < FEWEST_ROWS.value:
        return NotMatched(
            f"{known} patches with a colour and without device values fit too many things.",
            f"Read {FEWEST_ROWS.value:g} or more, or export the file with device values.",
        )
    fits: list[_Fit] = []
    costs: dict[str, Costs] = {}
    skip = SKIP.value * values.shape[1]
    for page in pages:
        if page.values is None or page.values.shape[1] != values.shape[1]:
            continue
        costs[page.title] = score_distances(values, page.values)
        fits += _fits(page, costs[page.title], skip=skip)
    if not fits:
        return NotMatched("it has no device values, and no page has expected colours to hold it against.")
    best, margin = _best(fits)
    refusal = _refused(best, margin)
    if refusal is not None:
        return refusal
    source = align(costs[best.page.title], best.order, skip=skip)
    source, turned = _turn_lines(source, best, costs[best.page.title], skip)
    return _matched(best, source, margin, rows=len(values), told_by="colours", turned=turned)


def _refused(best: _Fit, margin: float) -> NotMatched | None:
    if best.score < ENOUGH_COLOUR.value:
        return NotMatched(
            f"its colours are not those of any page in any order; nearest is {best.page.title}.",
            "Check that the file is of this form, or export it with device values.",
            best.score,
        )
    if margin < LEAST_MARGIN.value:
        return NotMatched(
            f"its colours fit {best.page.title} in more than one order, or another page as well.",
            "Export the file with device values, or say yourself which page and order it is.",
            best.score,
        )
    return None


def _held_against_colours(found: Matched, values: Floats) -> Matched | NotMatched:
    """What device values say, where colours do not contradict it; otherwise what the colours say."""
    page = found.page
    assert page.values is not None
    if page.values.shape[1] != values.shape[1] or np.isfinite(values).all(axis=1).sum() < FEWEST_ROWS.value:
        return found
    skip = SKIP.value * values.shape[1]
    costs = score_distances(values, page.values, met=found.source)
    there = np.flatnonzero(found.source >= 0)
    apart = np.minimum(costs[found.source[there], there], _NO_MATCH * skip)
    as_filed = float(1.0 - apart.mean() / (_NO_MATCH * skip)) * found.score
    by_colour = _by_colour([page], values)
    if isinstance(by_colour, Matched) and by_colour.score >= as_filed + LEAST_MARGIN.value:
        return by_colour
    if as_filed < ENOUGH_COLOUR.value * found.score:
        return NotMatched(
            f"its device values are those of {page.title}, but its colours are not like them in any order.",
            "Check that this is the measurement of the form and not of another print.",
            as_filed,
        )
    told: Literal["device values and colours"] = "device values and colours"
    best = _Fit(page, found.way, np.arange(len(page)), found.score)
    return _matched(best, found.source, found.margin, rows=len(values), told_by=told)


def _fits(page: ExpectedPage, costs: Costs, *, skip: float) -> list[_Fit]:
    """The page in every order that differs from the others."""
    different: dict[bytes, tuple[Way, Ints]] = {}
    for way in every_way():
        order = order_of(way, page.positions)
        different.setdefault(order.tobytes(), (way, order))
    ways = list(different.values())
    scores = alignment_scores(costs, np.stack([order for _, order in ways]), skip=skip)
    return [_Fit(page, way, order, float(score)) for (way, order), score in zip(ways, scores, strict=True)]


def _best(fits: Sequence[_Fit]) -> tuple[_Fit, float]:
    """The best fit, and how far the next one lies behind."""
    ranked = sorted(fits, key=lambda fit: -fit.score)
    behind = ranked[0].score - ranked[1].score if len(ranked) > 1 else ranked[0].score
    return ranked[0], behind


def _device_costs(device: Floats, page: Floats) -> Costs:
    """0 where a row has the device values of a place, else more than leaving out both."""
    from scipy.spatial import cKDTree

    colours, of_place = np.unique(np.round(page, 6), axis=0, return_inverse=True)
    apart, nearest = cKDTree(colours).query(np.nan_to_num(device, nan=9.0), p=np.inf)
    label = np.where(np.asarray(apart) <= SAME_DEVICE.value, nearest, -1)
    same = label[:, None] == of_place.reshape(-1)[None]
    return np.where(same, 0.0, _NO_MATCH * 1.5).astype(np.float32)


def _listed(page: ExpectedPage, costs: Costs) -> _Fit:
    """How many patches are there, in whatever order."""
    met = int((_listed_source(costs) >= 0).sum())
    score = 2.0 * met / max(sum(costs.shape), 1)
    return _Fit(page, None, np.arange(len(page)), score)


def _listed_source(costs: Costs) -> Ints:
    """The row of each place by its device values; repeats of a colour in the order they come."""
    source = np.full(costs.shape[1], -1, dtype=np.int64)
    free = np.ones(costs.shape[0], dtype=np.bool_)
    for place in range(costs.shape[1]):
        rows = np.flatnonzero((costs[:, place] == 0.0) & free)
        if len(rows):
            source[place] = rows[0]
            free[rows[0]] = False
    return source


def _turn_lines(source: Ints, best: _Fit, costs: Costs, skip: float) -> tuple[Ints, tuple[str, ...]]:
    """Lines that fit only backwards, turned round."""
    assert best.way is not None
    across = 0 if best.way.along == "rows" else 1
    step = np.argsort(best.order)  # when each place is read
    mended, turned = source.copy(), []
    for number in np.unique(best.page.positions[:, across]):
        line = np.flatnonzero(best.page.positions[:, across] == number)
        line = line[np.argsort(step[line])]
        before = source[best.order[: step[line[0]]]].max(initial=-1)
        later = source[best.order[step[line[-1]] + 1 :]]
        after = int(later[later >= 0].min(initial=len(costs)))
        block = np.arange(before + 1, after)
        if len(block) != len(line) or len(line) < 4:
            continue
        forth = np.minimum(costs[block, line], _NO_MATCH * skip).mean()
        back = np.minimum(costs[block[::-1], line], _NO_MATCH * skip).mean()
        if back < 0.5 * forth and back < skip:
            mended[line] = block[::-1]
            turned.append(best.page.names[line[0]].rstrip("0123456789") if across == 0 else str(number))
    return mended, tuple(turned)


def _matched(
    best: _Fit,
    source: Ints,
    margin: float,
    *,
    rows: int,
    told_by: Literal["device values", "colours", "device values and colours"],
    turned: tuple[str, ...] = (),
) -> Matched:
    missing = np.flatnonzero(source < 0).astype(np.int64)
    extra = np.setdiff1d(np.arange(rows), source)
    words = matched_words(
        title=best.page.title,
        way=best.way,
        names=best.page.names,
        positions=best.page.positions,
        source=source,
        extra=extra,
        turned=turned,
        told_by=told_by,
    )
    return Matched(best.page, best.way, source, missing, extra, turned, best.score, margin, told_by, words)
