"""What measured colours say of the patches that the device values in a file name."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import BREAK_AT_LINES
from laydown.science.forms.explanations import LEAST_MARGIN_EACH
from laydown.science.forms.fitted_gains import fitted_gains
from laydown.science.forms.matched import Matched
from laydown.science.forms.rank_scores import score_gains

ENOUGH_AS_FILED = Constant(0.5, "of the readings", "our own judgement", "computed")
STRANGE = Constant(4, "patches in a row", "our own judgement: fewer may be misread", "computed")


@dataclass(frozen=True, slots=True, eq=False)
class Witness:
    """How well colours fit where device values put them, for r readings in file order.

    ``by_rank`` (r,) needs no model; ``kinder`` (r,) is the better of that and of an expectation bent to this
    medium, which is only worth something where most are right. ``places`` (r,) of the page.
    """

    by_rank: Floats
    kinder: Floats
    places: Ints

    @property
    def agrees(self) -> bool:
        """Whether colours are by and large those of the patches."""
        return bool(self.by_rank.sum() >= ENOUGH_AS_FILED.value * len(self.by_rank))

    @property
    def agrees_throughout(self) -> bool:
        """Whether they fit so well everywhere that no other order can fit better.

        Taking stretches elsewhere costs three breaks for two of them at least, and gains at most 1 each.
        """
        misfit = np.concatenate([[0.0], np.cumsum(1.0 - LEAST_MARGIN_EACH.value - self.kinder)])
        worst = float((misfit - np.minimum.accumulate(misfit)).max())
        return self.agrees and worst < 1.5 * BREAK_AT_LINES.value


def witness(found: Matched, values: Floats) -> Witness | None:
    """Hold the colours of a file against what its device values say.

    Parameters
    ----------
    found : what device values say
    values : (m, d) what was measured

    Returns
    -------
    Witness, None where the page has no such colours to hold it against

    Checked against
    ---------------
    Sheets filed in order and read otherwise.
    """
    page = found.page
    if page.values is None or page.values.shape[1] != values.shape[1]:
        return None
    place_of = np.full(len(values), -1, dtype=np.int64)
    there = np.flatnonzero(found.source >= 0)
    place_of[found.source[there]] = there
    rows = np.flatnonzero((place_of >= 0) & np.isfinite(values).all(axis=1))
    places = place_of[rows]
    by_rank = score_gains(values, page.values, met=found.source)[rows, places].astype(np.float64)
    bent = fitted_gains(values, page.values, place_of)
    kinder = by_rank if bent is None else np.maximum(by_rank, bent[rows, places])
    return Witness(by_rank, np.asarray(kinder, dtype=np.float64), places)


def without_strange(found: Matched, told: Witness) -> Matched:
    """A match without stretches whose colours are clearly not theirs: where they belong is not known.

    Parameters
    ----------
    found : what device values say
    told : what colours say of it

    Returns
    -------
    Matched; places of such stretches are left empty

    Checked against
    ---------------
    A short row read from its other end and filed in order.
    """
    strange = np.flatnonzero(told.kinder < 0.0)
    stretches = np.split(strange, np.flatnonzero(np.diff(strange) > 1) + 1)
    worst = [at for at in stretches if len(at) >= STRANGE.value and -told.kinder[at].mean() > 0.5]
    if not worst:
        return found
    empty = np.sort(told.places[np.concatenate(worst)])
    source = found.source.copy()
    source[empty] = -1
    return replace(found, source=source, doubtful=np.union1d(found.doubtful, empty))


def told_otherwise(one: Matched, other: Matched, rows: int) -> int:
    """How many readings two matches give to patches of unlike device values.

    Parameters
    ----------
    one, other : about the same file
    rows : how many readings it has

    Returns
    -------
    int; one that only one of them gives anywhere is not counted

    Checked against
    ---------------
    Sheets filed in order and read otherwise.
    """
    if one.page.channels != other.page.channels:
        return rows
    given = np.full((2, rows, len(one.page.channels)), np.nan)
    for values, found in zip(given, (one, other), strict=True):
        there = np.flatnonzero(found.source >= 0)
        values[found.source[there]] = found.page.device[there]
    with np.errstate(invalid="ignore"):
        return int(np.count_nonzero((np.abs(given[0] - given[1]) > 1e-6).any(axis=1)))
