"""Takes off the quotes that change nothing, so that quoted names do not slow a whole table down."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Ints
from laydown.science.readings.line_splitting import Separator

_QUOTE, _HASH, _LAST_BLANK = 34, 35, 32
_SEPARATORS: dict[Separator, bytes] = {"blank": b" \t", "\t": b"\t", ",": b",", ";": b";"}


def without_plain_quotes(
    buffer: NDArray[np.uint8], breaks: Ints, *, separator: Separator, comments: bool
) -> tuple[NDArray[np.uint8], Ints, Bools]:
    """The bytes without the quotes around whole, ordinary cells, and which lines need careful reading.

    A pair of quotes is plain when it holds something that neither begins nor ends with a blank, encloses a
    whole cell, and has no separator, quote or comment sign inside: ``"A1"`` is the cell ``A1`` with or
    without it. A line with any other quote, or with a comment sign, is left as it is and marked.

    Parameters
    ----------
    buffer : (b,) bytes of whole lines, each ended by a line feed; one more stands before the first line.
    breaks : (l,) places of the line feeds.
    separator : the sign between cells, or "blank".
    comments : whether ``#`` starts a comment.

    Returns
    -------
    The bytes, the places of the line feeds among them (l,), and the marked lines (l,).

    Notes
    -----
    Where nothing is taken off the buffer comes back as it was. Quotes alternate between opening and closing
    within a line; a line with an odd number of them is marked.

    Checked against
    ---------------
    ``split_line`` on every kind of quoted cell (``test_plain_quotes.py``).
    """
    careful = np.zeros(breaks.size, dtype=np.bool_)
    if comments:
        careful[np.searchsorted(breaks, np.flatnonzero(buffer == _HASH))] = True
    quotes = np.flatnonzero(buffer == _QUOTE)
    if not quotes.size:
        return buffer, breaks, careful
    line = np.searchsorted(breaks, quotes)
    per_line = np.bincount(line, minlength=breaks.size)
    careful |= per_line % 2 == 1
    even = ~careful[line]
    quotes, line = quotes[even], line[even]
    opens, closes = quotes[0::2], quotes[1::2]
    edge = np.isin(buffer, np.frombuffer(_SEPARATORS[separator] + b"\n", np.uint8))
    inside = np.concatenate(([0], np.cumsum(edge)))
    plain = (closes - opens > 1) & edge[opens - 1] & edge[closes + 1] & (inside[closes] == inside[opens])
    plain &= (buffer[opens + 1] > _LAST_BLANK) & (buffer[closes - 1] > _LAST_BLANK)
    careful[line[0::2][~plain]] = True
    taken = quotes[~careful[line]]
    kept = np.ones(buffer.size, dtype=np.bool_)
    kept[taken] = False
    return buffer[kept], breaks - np.searchsorted(taken, breaks), careful
