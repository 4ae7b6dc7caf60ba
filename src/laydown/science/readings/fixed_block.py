"""The last columns of a chunk, where every cell has the same width: read without looking for separators.

Spectra are mostly written so. Each line's block is copied whole; one comparison for all cells proves that
separators and decimal points stand where the first line has them and that all else are digits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Floats, Ints
from laydown.science.readings.byte_windows import FRONT_PADDING, LONGEST_PIECE, closed_up, windows
from laydown.science.readings.number_tokens import WORD, combine_alike

_FEWEST_COLUMNS = 8
_BLANK, _LINE_FEED = 32, 10
_Buffer = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Peeled:
    """Numbers (lines, columns) of the last columns, and what stood before them as a buffer of its own."""

    values: Floats
    buffer: _Buffer
    breaks: Ints


def peel_fixed_block(
    buffer: _Buffer, points: _Buffer, breaks: Ints, *, separator: int, columns: int
) -> Peeled | None:
    """Read the last ``columns`` cells of every line, where all are of one width and one number format.

    Parameters
    ----------
    buffer : bytes with ``FRONT_PADDING`` line feeds before the first line.
    points : the same with decimal commas made points.
    breaks : positions of the line feeds that end lines.
    separator : the sign between cells.
    columns : how many cells to take off the end of each line.

    Returns
    -------
    Peeled
        Or None where any line is written otherwise, so that nothing is read by halves.

    Checked against
    ---------------
    ``float`` of each cell, five number formats (``test_number_grid.py``).
    """
    first = points[FRONT_PADDING : breaks[0]].tobytes().split(bytes((separator,)))
    if columns < _FEWEST_COLUMNS or len(first) <= columns:
        return None
    width = len(first[-1])
    token = first[-1].lstrip(b" ")
    if any(len(cell) != width for cell in first[-columns:]) or not 0 < len(token) <= WORD:
        return None
    stride = width + 1
    starts = breaks - columns * stride
    befores = np.concatenate(([FRONT_PADDING], breaks[:-1] + 1))
    if (starts < befores).any() or int((starts - befores).max()) > LONGEST_PIECE:
        return None
    block = windows(points, columns * stride + WORD)[starts - WORD]
    cells = np.ndarray((breaks.size, columns, stride), np.uint8, block, WORD, (block.itemsize, stride, 1))
    if (cells[:, :, 0] != separator).any() or (cells[:, :, 1 : 1 + width - len(token)] != _BLANK).any():
        return None
    words = np.ndarray((breaks.size, columns), "<u8", block, stride, (block.itemsize, stride)).copy()
    point = token.rfind(b".")
    places = len(token) - 1 - point if point >= 0 else -1
    values = combine_alike(words, length=len(token), places=places)
    if values is None:
        return None
    padding = np.full(FRONT_PADDING, _LINE_FEED, dtype=np.uint8)
    before = np.concatenate((padding, closed_up(buffer, befores, starts)))
    return Peeled(values, before, FRONT_PADDING - 1 + np.cumsum(starts - befores + 1))
