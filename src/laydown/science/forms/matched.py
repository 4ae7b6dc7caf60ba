"""What was found of a measurement file: its page, and which reading belongs to which patch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Bools, Ints
from laydown.science.forms.expected_pages import ExpectedPage
from laydown.science.forms.reading_ways import IN_ORDER, Way, order_of

ToldBy = Literal["device values", "colours", "device values and colours", "colours against device values"]
TODO = "Check the file and the form, or say yourself which page it is."


@dataclass(frozen=True, slots=True, eq=False)
class Matched:
    """The page a file was read from, and where each of its rows belongs.

    ``source`` (n,) is the row of the file for each place of the page in reading order, -1 where there is
    none: values taken in this order are mended. ``way`` is None where the file lists its patches in no order
    of places, and device values alone say which is which. ``missing`` are places that were not read;
    ``doubtful`` places whose reading might as well be another's, left empty. ``extra`` are rows of the file
    that fit nowhere, ``twice`` rows whose place was read again later. ``turned`` names lines that were read
    against the others, ``moved`` lines that were read out of turn. ``also`` are other ways that fit as well
    and give every reading the same device values. ``score`` is the share of the readings that is explained,
    ``margin`` how many patches' worth the next explanation lies behind. ``told_by`` is what decided.
    ``words`` say what was found, ``changes`` what mending does.
    """

    page: ExpectedPage
    way: Way | None
    source: Ints
    missing: Ints
    doubtful: Ints
    extra: Ints
    twice: Ints
    turned: tuple[str, ...]
    moved: tuple[str, ...]
    also: tuple[Way, ...]
    score: float
    margin: float
    told_by: ToldBy
    words: str = ""
    changes: str = ""

    @property
    def needs_consent(self) -> bool:
        """Whether anything is to be put right or cannot be told for certain, which nobody decides unasked."""
        odd = (self.missing, self.doubtful, self.extra, self.twice, self.turned, self.moved, self.also)
        against = self.told_by == "colours against device values"
        return self.way != IN_ORDER or against or any(len(one) for one in odd)


@dataclass(frozen=True, slots=True)
class NotMatched:
    """Why a file is not taken for any page, and what to do; ``score`` is that of the best page."""

    reason: str
    todo: str = TODO
    score: float = 0.0


def laid_down(
    page: ExpectedPage,
    way: Way | None,
    place_of: Ints,
    *,
    doubted: Bools,
    known: Bools,
    also: tuple[Way, ...],
    score: float,
    margin: float,
    told_by: ToldBy,
) -> Matched:
    """What follows from the place of each reading.

    Parameters
    ----------
    page, way : what was found
    place_of : (m,) place of each reading, -1 for none
    doubted : (m,) readings that might as well be of another place of another colour
    known : (m,) readings that have values; of two readings of a place the later known one is taken
    also, score, margin, told_by : see ``Matched``

    Returns
    -------
    Matched, without words

    Checked against
    ---------------
    Planted gaps, repeats, turned and exchanged lines.
    """
    source = np.full(len(page), -1, dtype=np.int64)
    for taken in (np.flatnonzero((place_of >= 0) & ~known), np.flatnonzero((place_of >= 0) & known)):
        source[place_of[taken]] = taken
    missing = np.flatnonzero(source < 0)
    twice = np.setdiff1d(np.flatnonzero(place_of >= 0), source)
    turned, moved = ((), ()) if way is None else _odd_lines(page, way, source)
    doubtful = np.flatnonzero((source >= 0) & doubted[source])
    source[doubtful] = -1
    return Matched(
        page=page,
        way=way,
        source=source,
        missing=missing,
        doubtful=doubtful,
        extra=np.flatnonzero(place_of < 0),
        twice=twice,
        turned=turned,
        moved=moved,
        also=also,
        score=score,
        margin=margin,
        told_by=told_by,
    )


def line_name(page: ExpectedPage, along: str, place: int) -> str:
    """What a row or column is called: by its letter or number beside the patches, else counted from 1.

    Parameters
    ----------
    page : ExpectedPage
    along : "rows" or "columns"
    place : any place on the line

    Returns
    -------
    str

    Checked against
    ---------------
    Pages whose places are named and numbered.
    """
    name = page.names[place]
    letters = name.rstrip("0123456789")
    if letters and letters != name:
        return letters if along == "rows" else name[len(letters) :]
    axis = 0 if along == "rows" else 1
    return str(int(np.unique(page.positions[:, axis]).searchsorted(page.positions[place, axis])) + 1)


def _odd_lines(page: ExpectedPage, way: Way, source: Ints) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Lines read against the way, and lines read out of turn."""
    axis = 0 if way.along == "rows" else 1
    order = order_of(way, page.positions)
    across = page.positions[order, axis]
    turned, when, names = [], [], []
    for line in np.split(order, np.flatnonzero(np.diff(across)) + 1):
        read = source[line][source[line] >= 0]
        if not len(read):
            continue
        name = line_name(page, way.along, int(line[0]))
        if np.count_nonzero(np.diff(read) < 0) * 2 > len(read) - 1:
            turned.append(name)
        when.append(float(np.median(read)))
        names.append(name)
    kept = _longest_rising(when)
    return tuple(turned), tuple(name for at, name in enumerate(names) if at not in kept)


def _longest_rising(values: list[float]) -> set[int]:
    """Which values make the longest list that only rises."""
    best: list[list[int]] = []
    longest: list[int] = []
    for at, value in enumerate(values):
        before = max((chain for chain in best if values[chain[-1]] < value), key=len, default=[])
        best.append([*before, at])
        longest = max(longest, best[-1], key=len)
    return set(longest)
