"""Where the cells of many lines begin and end in a byte buffer, found for all lines at once.

The quick way serves chunks whose every line has the same number of plain cells; the patient way says which
lines have and leaves the others to be split one by one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Ints
from laydown.science.readings.byte_windows import FRONT_PADDING
from laydown.science.readings.line_splitting import Separator

_BLANK, _TAB, _LINE_FEED = 32, 9, 10
_Buffer = NDArray[np.uint8]


def regular_cells(
    buffer: _Buffer, breaks: Ints, *, separator: Separator, fields: int
) -> tuple[Ints, Ints] | None:
    """Starts and ends (lines, fields) of a chunk where every line is regular; None where any is not.

    Parameters
    ----------
    buffer : bytes with ``FRONT_PADDING`` line feeds before the first line, ending with a line feed.
    breaks : positions of the line feeds that end lines.
    separator, fields : how lines are written.

    Returns
    -------
    Positions of every cell, blanks trimmed, or None.

    Checked against
    ---------------
    Random tables, good and broken, split line by line (``test_number_grid.py``).
    """
    if separator == "blank":
        return _runs(buffer, breaks, fields)
    signs = _signs(buffer, separator)
    # One more separator than needed: the last cell of each line must be empty.
    trailing = signs.size == breaks.size * (fields + 1)
    if not trailing and signs.size != breaks.size * fields:
        return None
    rows = signs.reshape(breaks.size, -1)
    if not (rows[:, -1] == breaks).all() or (trailing and not (rows[:, -2] == breaks - 1).all()):
        return None
    between = breaks.size + (signs.size - breaks.size if separator == "\t" else 0)
    if np.count_nonzero(buffer <= _BLANK) == FRONT_PADDING + between:
        starts = np.empty_like(signs)
        starts[0] = FRONT_PADDING
        np.add(signs[:-1], 1, out=starts[1:])
        starts = starts.reshape(rows.shape)
        return (starts[:, :fields], rows[:, :fields]) if trailing else (starts, rows)
    runs = _runs(buffer, breaks, fields, also=ord(separator))
    if runs is None:
        return None
    starts, ends = runs
    inside = (ends <= rows[:, :fields]).all() and (starts[:, 1:] > rows[:, : fields - 1]).all()
    return (starts, ends) if inside else None


def some_cells(
    buffer: _Buffer, breaks: Ints, *, separator: Separator, fields: int, slow: Bools
) -> tuple[Ints, Ints, Bools]:
    """Starts and ends of the lines that have the right number of cells.

    Parameters
    ----------
    buffer, breaks, separator, fields : as in ``regular_cells``.
    slow : (lines,) lines to leave aside whatever they hold.

    Returns
    -------
    starts, ends : (good lines, fields), blanks trimmed; a cell may be empty.
    good : (lines,) which lines those are.

    Checked against
    ---------------
    Random tables, good and broken, split line by line (``test_number_grid.py``).
    """
    if separator == "blank":
        inked = buffer > _BLANK
        edges = np.flatnonzero(inked[1:] != inked[:-1]) + 1
        starts, ends = edges[0::2], edges[1::2]
        firsts = np.searchsorted(starts, np.concatenate(([FRONT_PADDING], breaks[:-1] + 1)))
        counts = np.diff(np.append(firsts, starts.size))
        good = (counts == fields) & ~slow
        cells = firsts[good][:, np.newaxis] + np.arange(fields)
        return starts[cells], ends[cells], good
    ends = _signs(buffer, separator)
    starts = np.concatenate(([FRONT_PADDING], ends[:-1] + 1))
    lasts = np.searchsorted(ends, breaks)
    firsts = np.concatenate(([0], lasts[:-1] + 1))
    counts = lasts - firsts + 1
    trailing = (counts == fields + 1) & (ends[lasts] == starts[lasts])
    good = ((counts == fields) | trailing) & ~slow
    cells = firsts[good][:, np.newaxis] + np.arange(fields)
    starts, ends = _trim(buffer, starts[cells], ends[cells])
    # A line of nothing but separators is an empty line, not a row of empty cells.
    filled = (ends > starts).any(axis=1)
    good[np.flatnonzero(good)[~filled]] = False
    return starts[filled], ends[filled], good


def _signs(buffer: _Buffer, separator: Separator) -> Ints:
    """Positions of separators and line feeds after the padding."""
    return np.flatnonzero((buffer == ord(separator)) | (buffer == _LINE_FEED))[FRONT_PADDING:]


def _runs(buffer: _Buffer, breaks: Ints, fields: int, *, also: int = _TAB) -> tuple[Ints, Ints] | None:
    """Runs of ink between blanks, tabs and ``also``, where every line has ``fields`` of them."""
    inked = buffer > _BLANK
    if also > _BLANK:
        inked &= buffer != also
    edges = np.flatnonzero(inked[1:] != inked[:-1])
    if edges.size != 2 * fields * breaks.size:
        return None
    edges += 1
    starts, ends = edges[0::2].reshape(-1, fields), edges[1::2].reshape(-1, fields)
    if not (ends[:, -1] <= breaks).all() or not (starts[1:, 0] > breaks[:-1]).all():
        return None
    return starts, ends


def _trim(buffer: _Buffer, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Take blanks off both sides of every cell."""
    while (blank := (buffer[starts] <= _BLANK) & (starts < ends)).any():
        starts = starts + blank
    while (blank := (buffer[ends - 1] <= _BLANK) & (starts < ends)).any():
        ends = ends - blank
    return starts, ends
