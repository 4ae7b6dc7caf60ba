"""Runs of bytes copied out of a buffer many at a time, by one index over overlapping windows."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Ints

FRONT_PADDING: Final = 528
"""Bytes that precede the first line in a buffer, so that a word or a window may start before it."""
LONGEST_PIECE: Final = 512
_LINE_FEED: Final = 10
_Buffer = NDArray[np.uint8]


def windows(buffer: _Buffer, size: int) -> np.ndarray[tuple[int], np.dtype[np.void]]:
    """Every run of ``size`` bytes of a buffer, overlapping; indexing it copies whole runs.

    Parameters
    ----------
    buffer : bytes.
    size : length of each run.

    Returns
    -------
    (b - size + 1,) runs, a view of the buffer.

    Checked against
    ---------------
    Through ``closed_up`` and ``fixed_block``, against splitting by hand.
    """
    return np.ndarray((buffer.size - size + 1,), np.dtype((np.void, size)), buffer, 0, (1,))


def closed_up(buffer: _Buffer, starts: Ints, ends: Ints) -> _Buffer:
    """Pieces of a buffer side by side, each followed by a line feed.

    Parameters
    ----------
    buffer : bytes with ``FRONT_PADDING`` before the first piece.
    starts, ends : (n,) with n > 0; no piece is longer than ``LONGEST_PIECE``.

    Returns
    -------
    The pieces with their line feeds, as one buffer.

    Checked against
    ---------------
    Cells cut by hand (``test_number_grid.py``).
    """
    lengths = ends - starts
    longest = max(int(lengths.max()), 1)
    lines = np.empty((starts.size, longest + 1), dtype=np.uint8)
    lines[:, :longest] = windows(buffer, longest)[ends - longest].view(np.uint8).reshape(-1, longest)
    lines[:, longest] = _LINE_FEED
    return lines[np.arange(longest + 1) >= longest - lengths[:, np.newaxis]]
