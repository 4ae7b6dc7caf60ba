"""Finds the page of a form that a measurement file was read from, and in which order it was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import BREAK_AT_LINES, Gains
from laydown.science.forms.colour_witness import told_otherwise, without_strange, witness
from laydown.science.forms.device_gains import device_gains, listed, rounding, shared_colours
from laydown.science.forms.expected_pages import Candidate, ExpectedPage, candidates
from laydown.science.forms.explanations import (
    FEWEST_ROWS,
    LEAST_MARGIN_EACH,
    Explanation,
    Fit,
    Rules,
    best_of,
    every_fit,
    explained,
    leading,
    settled,
    settled_anew,
    unbroken,
)
from laydown.science.forms.fitted_gains import fitted_gains
from laydown.science.forms.match_words import change_words, found_words
from laydown.science.forms.matched import Matched, NotMatched, ToldBy, laid_down
from laydown.science.forms.rank_scores import score_gains

_SIMULATED = "false matches and missed ones in simulation, docs/methods/test-form.md"
ENOUGH = Constant(0.3, "of the readings explained by colours", _SIMULATED, "computed")
ENOUGH_DEVICE = Constant(0.5, "of the readings explained", "our own judgement", "computed")
ENOUGH_LISTED = Constant(
    0.95, "of the readings, and of the places", "our own judgement: no order speaks for it", "computed"
)
LEAST_MARGIN = Constant(6.0, "patches that fit", _SIMULATED, "computed")
LEAST_MARGIN_DEVICE = Constant(0.5, "patches", "device values are the same or not", "computed")
DOUBT = Constant(2.5, "patches that fit, once the medium is known", _SIMULATED, "computed")
UNLIKE = Constant(-2.0, "patches that fit, once the medium is known", _SIMULATED, "computed")
_DOUBT_BEFORE = 1.0
_SAME = 1e-6


def match_pages(
    pages: Sequence[ExpectedPage],
    *,
    channels: Sequence[str] = (),
    device: Floats | None = None,
    values: Floats | None = None,
    positions: Ints | None = None,
    stated: bool = False,
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
    positions : (m, 2) row and column of the file's rows, where it says so; they vouch for a file that lists
        its patches in no order of reading
    stated : the user says that it is one of these pages: the control strip alone, or a list in no order, will
        do

    Returns
    -------
    Matched or NotMatched

    Notes
    -----
    Orders: along rows or columns, from either end, each line forwards, backwards, or there and back. Within
    each, unbroken runs of readings are laid on unbroken runs of places (``align``), so that lines and patches
    may be missing, come twice, out of turn or from their other end. Colours are compared as ranks, column by
    column, turned into normal scores, so that only their order counts and no model of the ink is needed; once
    page and order are believed, single readings are settled by an expectation bent to this medium. A page is
    claimed where ``ENOUGH`` of the readings are explained, ``FEWEST_ROWS`` of them beyond the control strip,
    and no explanation that gives readings other device values comes within ``LEAST_MARGIN`` patches' worth.

    Checked against
    ---------------
    Every measured file at hand, read in every order and with lines missing and double; pages that were not
    read.
    """
    rows = len(device) if device is not None else len(values) if values is not None else 0
    if not rows:
        return NotMatched(
            "the file has neither device values nor colours to go by.", "Export it with either."
        )
    every = candidates(pages)
    if device is None or not np.isfinite(device).all(axis=1).any():
        if values is None:
            return NotMatched(
                "the file's device values are all empty.", "Export it with device values or colours."
            )
        return _by_colours(every, values, told_by="colours", stated=stated)
    found = _by_device(every, tuple(channels), device, positions=positions, stated=stated)
    return (
        found if values is None or _too_few(values) else _held_against_colours(every, found, values, stated)
    )


def _by_device(
    every: Sequence[Candidate],
    channels: tuple[str, ...],
    device: Floats,
    *,
    positions: Ints | None,
    stated: bool,
) -> Matched | NotMatched:
    """By device values alone."""
    known: Bools = np.asarray(np.isfinite(device).all(axis=1))
    of_kind = [
        one
        for one in every
        if one.page.device.shape[1] == device.shape[1] and (not channels or channels == one.page.channels)
    ]
    todo = "Check that the file is of this form."
    if not of_kind:
        named = "/".join(channels) or "of other channels"
        return NotMatched(f"its device values are {named}; no page of the form has such.", todo)
    shared = [int(np.count_nonzero(shared_colours(device, one.page.device) & known)) for one in of_kind]
    enough = ENOUGH_DEVICE.value * int(known.sum())
    if max(shared) < enough:
        page = of_kind[int(np.argmax(shared))].page
        reason = f"only {max(shared)} of its {len(device)} patches have device values of {page.title}"
        return NotMatched(f"{reason}, which fits best.", todo, max(shared) / int(known.sum()))
    rules = Rules(
        told_by="device values",
        enough=ENOUGH_DEVICE.value,
        margin=LEAST_MARGIN_DEVICE.value,
        within=rounding(device),
        doubt=_DOUBT_BEFORE,
        todo=todo,
        stated=stated,
    )
    gains = {
        one: device_gains(device, one.page.device)
        for one, count in zip(of_kind, shared, strict=True)
        if count >= enough
    }
    whole = [found for one, table in gains.items() for found in unbroken(one, table)]
    if any(found.total > len(device) - BREAK_AT_LINES.value + rules.margin for found in whole):
        near = len(device) - BREAK_AT_LINES.value
        return _decided([found for found in whole if found.total > near], known, rules)
    fits = [fit for one, table in gains.items() for fit in every_fit(one, table)]
    if max(fit.total for fit in fits) < enough:
        return _by_list(gains, known, rules, positions)
    return _decided(
        [explained(fit, gains[fit.of]) for fit in leading(fits, len(known), rules.margin)], known, rules
    )


def _by_list(
    gains: dict[Candidate, Gains], known: Bools, rules: Rules, positions: Ints | None
) -> Matched | NotMatched:
    """By the device values of each row for itself, where the file is in no order that a page is read in."""
    whole, vouched = [], []
    for one, table in gains.items():
        place_of = listed(table)
        there = np.flatnonzero(place_of >= 0)
        if len(there) < ENOUGH_LISTED.value * max(len(known), len(one.page)):
            continue
        fit = Fit(one, None, np.arange(len(one.page)), np.ones(len(one.page), dtype=np.bool_), 0.0)
        total = float(table[there, place_of[there]].sum())
        found = Explanation(fit, table, place_of, total, np.zeros(len(known), dtype=np.bool_))
        whole.append(found)
        by_place = None if positions is None else _by_position(found, positions)
        if by_place is not None or rules.stated:
            vouched.append(found if by_place is None else replace(found, place_of=by_place))
    if vouched:
        return _decided(vouched, known, rules)
    if whole:
        return NotMatched(
            f"it lists the patches of {whole[0].fit.of.page.title}, but in no order the page is read in, and "
            "without saying where they lie; another form may have the same patches.",
            "Export it in the order of reading or with the row and column of each patch, or say that it is "
            "this page.",
        )
    return NotMatched("its device values are not those of any page in any order.", rules.todo)


def _by_position(found: Explanation, positions: Ints) -> Ints | None:
    """The place (m,) of each row by the row and column in the file, where device values bear it out."""
    page = found.fit.of.page
    there = np.flatnonzero(found.place_of >= 0)
    apart, count = np.unique(
        page.positions[found.place_of[there]] - positions[there], axis=0, return_counts=True
    )
    lookup = {(int(row), int(column)): place for place, (row, column) in enumerate(page.positions)}
    shifted = positions + apart[count.argmax()]
    place_of = np.array([lookup.get((int(row), int(column)), -1) for row, column in shifted], dtype=np.int64)
    fits = (place_of >= 0) & (found.gains[np.arange(len(place_of)), place_of] > 0.0)
    return place_of if fits.sum() >= ENOUGH_LISTED.value * len(place_of) else None


def _by_colours(
    every: Sequence[Candidate], values: Floats, *, told_by: ToldBy, stated: bool
) -> Matched | NotMatched:
    """By colours alone."""
    known: Bools = np.asarray(np.isfinite(values).all(axis=1))
    if _too_few(values):
        return NotMatched(
            f"{int(known.sum())} patches with a colour and without device values fit too many things.",
            f"Read {FEWEST_ROWS.value:g} or more, or export the file with device values.",
        )
    gains = {
        one: score_gains(values, one.page.values)
        for one in every
        if one.page.values is not None and one.page.values.shape[1] == values.shape[1]
    }
    if not gains:
        return NotMatched("it has no device values, and no page has expected colours to hold it against.")
    rules = Rules(
        told_by=told_by,
        enough=ENOUGH.value,
        margin=LEAST_MARGIN.value,
        within=_SAME,
        doubt=_DOUBT_BEFORE,
        todo="Export the file with device values, or say yourself which page and order it is.",
        stated=stated,
    )
    fits = [fit for one, table in gains.items() for fit in every_fit(one, table)]
    near = leading(fits, int(known.sum()), rules.margin)
    return _decided([explained(fit, gains[fit.of]) for fit in near], known, rules, values=values)


def _decided(
    every: Sequence[Explanation], known: Bools, rules: Rules, *, values: Floats | None = None
) -> Matched | NotMatched:
    """The best explanation in words; by colours, with single readings settled once the medium is known."""
    found = best_of(every, known, rules)
    if isinstance(found, NotMatched):
        return found
    page = found.fit.of.page
    if values is None or page.values is None:
        found = settled(found, rules)
    else:
        sharper = fitted_gains(values, page.values, found.place_of)
        surer = replace(rules, doubt=DOUBT.value if sharper is not None else rules.doubt)
        gains = found.gains if sharper is None else sharper
        found = settled_anew(found, gains, surer, unlike=UNLIKE.value)
    return _worded(
        laid_down(
            page,
            found.fit.way,
            found.place_of,
            doubted=found.doubted,
            known=known,
            also=found.also,
            score=found.total / max(int(known.sum()), 1),
            margin=found.margin,
            told_by=rules.told_by,
        )
    )


def _too_few(values: Floats) -> bool:
    return int(np.isfinite(values).all(axis=1).sum()) < FEWEST_ROWS.value


def _held_against_colours(
    every: Sequence[Candidate], found: Matched | NotMatched, values: Floats, stated: bool
) -> Matched | NotMatched:
    """What device values say, where colours do not contradict it; otherwise what the colours say."""
    told = None if isinstance(found, NotMatched) else witness(found, values)
    if isinstance(found, Matched):
        if told is None:
            return found
        if told.agrees_throughout:
            return _worded(replace(found, told_by="device values and colours"))
    by_colours = _by_colours(every, values, told_by="colours against device values", stated=stated)
    if isinstance(found, NotMatched) or told is None:
        return by_colours if isinstance(by_colours, Matched) else found
    if isinstance(by_colours, Matched):
        others = told_otherwise(found, by_colours, len(values))
        won = by_colours.score * int(np.isfinite(values).all(axis=1).sum()) - float(told.by_rank.sum())
        if others and won >= max(LEAST_MARGIN.value, LEAST_MARGIN_EACH.value * others):
            return by_colours
    if not told.agrees:
        return NotMatched(
            f"its device values are those of {found.page.title}, but its colours are not like them in any "
            "order.",
            "Check that this is the measurement of the form and not of another print.",
            float(told.by_rank.mean()),
        )
    return _worded(without_strange(replace(found, told_by="device values and colours"), told))


def _worded(found: Matched) -> Matched:
    return replace(found, words=found_words(found), changes=change_words(found))
