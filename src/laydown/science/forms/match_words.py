"""What was found about a measurement file, in a sentence for the person who read the sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.science.forms.reading_ways import Way


def matched_words(
    *,
    title: str,
    way: Way | None,
    names: Sequence[str],
    positions: Ints,
    source: Ints,
    extra: Ints,
    turned: Sequence[str],
    told_by: str,
) -> str:
    """Say which page it is, how it was read, and what is missing or double.

    Parameters
    ----------
    title : how the page is called
    way : the order it was read in, None where the file is in no order
    names, positions : (n) names and (n, 2) rows and columns of the places
    source : (n,) row of the file for each place, -1 for none
    extra : rows of the file, from 0, that belong to no place
    turned : names of lines that were read against the others
    told_by : what decided

    Returns
    -------
    str

    Checked against
    ---------------
    The sentence of every case, in the tests.
    """
    read = f"read {way.words}" if way is not None else "listed in another order, told by device values"
    parts = [f"It is {title}, {read}"]
    if turned:
        line = "column" if way is not None and way.along == "columns" else "row"
        parts.append(f"{_named(line, turned)} read the other way")
    parts += _missing(names, positions, source)
    if len(extra):
        parts.append(_extra(extra))
    sentence = "; ".join(parts) + "."
    if told_by == "colours":
        sentence += " Told by the colours alone."
    return sentence


def _missing(names: Sequence[str], positions: Ints, source: Ints) -> list[str]:
    """Whole rows that were not read, and single patches."""
    rows, single = [], []
    for row in np.unique(positions[:, 0]):
        line = np.flatnonzero(positions[:, 0] == row)
        gone = line[source[line] < 0]
        if len(gone) == len(line) and len(line) > 1:
            rows.append(names[line[0]].rstrip("0123456789"))
        else:
            single += [names[place] for place in gone]
    told = []
    if rows:
        told.append(f"{_named('row', rows)} not read")
    if single:
        told.append(f"{_named('patch', single)} not read")
    return told


def _extra(extra: Ints) -> str:
    """Rows of the file that belong nowhere, as stretches."""
    ends = np.flatnonzero(np.diff(extra) > 1)
    starts = np.concatenate([[0], ends + 1])
    stops = np.concatenate([ends, [len(extra) - 1]])
    shown = [
        f"{extra[a] + 1}" if a == b else f"{extra[a] + 1} to {extra[b] + 1}"
        for a, b in zip(starts, stops, strict=True)
    ]
    count = len(extra)
    noun = "reading belongs" if count == 1 else "readings belong"
    return f"{count} {noun} nowhere or came twice (number {', '.join(shown)} of the file)"


def _named(noun: str, names: Sequence[str]) -> str:
    """Such as "row C", "rows C and F", "12 patches"."""
    if len(names) == 1:
        return f"{noun} {names[0]}"
    plural = f"{noun}es" if noun.endswith("ch") else f"{noun}s"
    if len(names) > 8:
        return f"{len(names)} {plural}"
    return f"{plural} {', '.join(names[:-1])} and {names[-1]}"
