"""Rows of text and numbers out of the body of a table, fast where rows are regular, exact where they are not.

Lines are cut in numpy, quotes that change nothing taken off. A line with the right number of plain cells has
its numbers read by ``number_tokens``; every other line, and every number that refuses, is read one by one by
``split_line`` and ``parse_cell``. Both roads give the same numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.readings.byte_windows import FRONT_PADDING, LONGEST_PIECE, closed_up
from laydown.science.readings.cell_bounds import regular_cells, some_cells
from laydown.science.readings.decoding import Text
from laydown.science.readings.fixed_block import peel_fixed_block
from laydown.science.readings.limits import MAX_LINE_BYTES
from laydown.science.readings.line_splitting import Separator, split_line
from laydown.science.readings.number_tokens import parse_alike, parse_cell, parse_tokens
from laydown.science.readings.plain_quotes import without_plain_quotes

_CHUNK_BYTES = 256 * 1024
_LINE_FEED, _COMMA, _POINT = 10, 44, 46


@dataclass(frozen=True, slots=True)
class Layout:
    """How the rows of a table are written and which of its columns are wanted.

    ``texts`` are indices of text columns; each of ``blocks`` is a set of columns that becomes one array of
    numbers; ``comments`` says whether ``#`` starts a comment.
    """

    fields: int
    separator: Separator
    texts: tuple[int, ...]
    blocks: tuple[tuple[int, ...], ...]
    comments: bool


@dataclass(frozen=True, slots=True)
class RowFault:
    """A row left out: its line, the cells read from it, and the column that refused (-1: wrong count)."""

    line: int
    cells: tuple[str, ...]
    column: int


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The rows read: texts by column, one array (n, columns) for each block, lines (n,), and faults."""

    texts: dict[int, list[str]]
    blocks: tuple[Floats, ...]
    lines: Ints
    faults: list[RowFault]


@dataclass(slots=True, eq=False)
class _Rows:
    """Rows of one chunk in file order."""

    lines: Ints
    blocks: list[Floats]
    texts: list[list[str]]


def read_grid(text: Text, *, start: int, end: int, first_line: int, layout: Layout) -> Grid:
    """Read the rows between two byte positions.

    Parameters
    ----------
    text : the decoded file.
    start, end : where the rows begin and end; ``start`` is at the beginning of a line.
    first_line : line number of the first row, counted from 1.
    layout : how rows are written and which columns to read.

    Returns
    -------
    Grid
        Good rows in file order; a row with a missing, extra or unreadable wanted cell is in ``faults`` only.

    Notes
    -----
    Memory is the result plus a few times ``_CHUNK_BYTES``; time is linear in the bytes.

    Checked against
    ---------------
    Random tables, good and broken, read line by line and cell by cell (``test_number_grid.py``).
    """
    # No row is shorter than one digit and one separator for each column, whatever the file claims.
    most = (end - start) // max(2 * layout.fields - 1, 1) + 1
    most = min(most, text.count_lines(start, end) + 1)
    blocks = [np.empty((most, len(columns))) for columns in layout.blocks]
    lines = np.empty(most, dtype=np.int64)
    texts: dict[int, list[str]] = {column: [] for column in layout.texts}
    faults: list[RowFault] = []
    count, line = 0, first_line
    for a, b in _chunks(text.body, start, end):
        rows, passed = _read_chunk(text, a, b, line, layout, faults)
        line += passed
        stop = count + rows.lines.size
        lines[count:stop] = rows.lines
        for block, found in zip(blocks, rows.blocks):
            block[count:stop] = found
        for column, cells in zip(layout.texts, rows.texts):
            texts[column] += cells
        count = stop
    if count * 2 < most:
        # Copied, so that room never filled is given back.
        blocks = [block[:count].copy() for block in blocks]
    return Grid(texts, tuple(block[:count] for block in blocks), lines[:count], faults)


def _chunks(body: bytes, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Pieces of whole lines."""
    while start < end:
        stop = end
        if end - start > _CHUNK_BYTES:
            stop = body.rfind(b"\n", start, start + _CHUNK_BYTES) + 1
            if stop <= start:
                found = body.find(b"\n", start, start + 2 * int(MAX_LINE_BYTES.value))
                stop = end if found < 0 or found >= end else found + 1
        yield start, stop
        start = stop


def _read_chunk(
    text: Text, start: int, end: int, first_line: int, layout: Layout, faults: list[RowFault]
) -> tuple[_Rows, int]:
    """Rows of one piece of whole lines, and how many lines it had."""
    buffer = np.full(
        FRONT_PADDING + end - start + (not text.body.endswith(b"\n", start, end)), _LINE_FEED, np.uint8
    )
    buffer[FRONT_PADDING : FRONT_PADDING + end - start] = np.frombuffer(
        text.body, np.uint8, end - start, start
    )
    whole, ends_of_lines = buffer, np.flatnonzero(buffer == _LINE_FEED)[FRONT_PADDING:]
    buffer, breaks, slow = without_plain_quotes(
        whole, ends_of_lines, separator=layout.separator, comments=layout.comments
    )
    odd = bool(slow.any())
    if not odd:
        quick = _read_fixed(buffer, breaks, first_line, text.encoding, layout)
        if quick is not None:
            return quick, int(breaks.size)
    good = np.ones(breaks.size, dtype=np.bool_)
    cells = None if odd else regular_cells(buffer, breaks, separator=layout.separator, fields=layout.fields)
    if cells is None:
        starts, ends, good = some_cells(
            buffer, breaks, separator=layout.separator, fields=layout.fields, slow=slow
        )
    else:
        starts, ends = cells
    blocks, keep = _read_blocks(buffer, starts, ends, text.encoding, layout.separator, layout.blocks)
    if not keep.all():
        starts, ends, blocks = starts[keep], ends[keep], [block[keep] for block in blocks]
        good[np.flatnonzero(good)[~keep]] = False
    rows = _Rows(
        lines=np.flatnonzero(good) + first_line,
        blocks=blocks,
        texts=[_cut(buffer, starts[:, column], ends[:, column], text.encoding) for column in layout.texts],
    )
    if not good.all():
        rows = _merge(
            rows, _read_slow(whole, ~good, ends_of_lines, first_line, text.encoding, layout, faults)
        )
    return rows, int(breaks.size)


def _read_fixed(
    buffer: NDArray[np.uint8], breaks: Ints, first_line: int, encoding: str, layout: Layout
) -> _Rows | None:
    """Rows whose last columns are one block of cells of one width; None where any row is otherwise."""
    last = layout.blocks.index(max(layout.blocks))
    columns = len(layout.blocks[last])
    before = layout.fields - columns
    if layout.separator == "blank" or layout.blocks[last] != tuple(range(before, layout.fields)):
        return None
    points = _with_points(buffer, layout.separator)
    peeled = peel_fixed_block(buffer, points, breaks, separator=ord(layout.separator), columns=columns)
    if peeled is None:
        return None
    cells = regular_cells(peeled.buffer, peeled.breaks, separator=layout.separator, fields=before)
    if cells is None:
        return None
    others = [block for block in layout.blocks if block != layout.blocks[last]]
    blocks, keep = _read_blocks(peeled.buffer, *cells, encoding, layout.separator, others)
    if not keep.all():
        return None
    blocks.insert(last, peeled.values)
    texts = [_cut(peeled.buffer, cells[0][:, c], cells[1][:, c], encoding) for c in layout.texts]
    return _Rows(np.arange(breaks.size) + first_line, blocks, texts)


def _with_points(buffer: NDArray[np.uint8], separator: Separator) -> NDArray[np.uint8]:
    """The buffer with decimal commas made points, unless commas separate cells."""
    if separator == "," or not (buffer == _COMMA).any():
        return buffer
    return np.where(buffer == _COMMA, np.uint8(_POINT), buffer)


def _read_blocks(
    buffer: NDArray[np.uint8],
    starts: Ints,
    ends: Ints,
    encoding: str,
    separator: Separator,
    wanted: Sequence[tuple[int, ...]],
) -> tuple[list[Floats], Bools]:
    """Numbers of each block, and which rows have all of theirs."""
    keep = np.ones(len(starts), dtype=np.bool_)
    points = _with_points(buffer, separator)
    blocks = []
    for columns in wanted:
        a, b = _columns(starts, columns), _columns(ends, columns)
        values = parse_alike(points, a, b)
        if values is None:
            values, read = parse_tokens(points, a.ravel(), b.ravel())
            values = values.reshape(a.shape)
            for row, column in np.argwhere(~read.reshape(a.shape)):
                cell = buffer[a[row, column] : b[row, column]].tobytes()
                values[row, column] = parse_cell(cell.decode(encoding, errors="replace"))
                keep[row] &= not np.isnan(values[row, column])
        blocks.append(values)
    return blocks, keep


def _columns(cells: Ints, columns: tuple[int, ...]) -> Ints:
    """Some columns of a matrix; a view where they stand side by side."""
    first, last = columns[0], columns[-1]
    if columns == tuple(range(first, last + 1)):
        return cells[:, first : last + 1]
    return cells[:, list(columns)]


def _cut(buffer: NDArray[np.uint8], starts: Ints, ends: Ints, encoding: str) -> list[str]:
    """Cells of one text column: copied side by side with line feeds between, then split at once."""
    if not starts.size:
        return []
    if int((ends - starts).max()) > LONGEST_PIECE:
        return [buffer[a:b].tobytes().decode(encoding, errors="replace") for a, b in zip(starts, ends)]
    column = closed_up(buffer, starts, ends).tobytes()
    cells: list[str] = column.decode(encoding, errors="replace").split("\n")
    return cells[:-1]


def _read_slow(
    buffer: NDArray[np.uint8],
    left: Bools,
    breaks: Ints,
    first_line: int,
    encoding: str,
    layout: Layout,
    faults: list[RowFault],
) -> _Rows:
    """Read the lines ``left`` one by one."""
    wanted = [column for columns in layout.blocks for column in columns]
    lines: list[int] = []
    numbers: list[list[float]] = []
    texts: list[list[str]] = [[] for _ in layout.texts]
    starts = np.concatenate(([FRONT_PADDING], breaks[:-1] + 1))
    for index in np.flatnonzero(left).tolist():
        raw = buffer[starts[index] : breaks[index]].tobytes().decode(encoding, errors="replace")
        cells = split_line(raw, separator=layout.separator, fields=layout.fields, comments=layout.comments)
        if not cells:
            continue
        values = [parse_cell(cells[c]) for c in wanted] if len(cells) == layout.fields else []
        refused = next((c for c, value in zip(wanted, values) if np.isnan(value)), -1)
        if not values or refused >= 0:
            faults.append(RowFault(first_line + index, tuple(cells), refused))
            continue
        lines.append(first_line + index)
        numbers.append(values)
        for column, into in zip(layout.texts, texts):
            into.append(cells[column])
    table = np.array(numbers, dtype=np.float64).reshape(len(lines), len(wanted))
    edges = np.cumsum([len(columns) for columns in layout.blocks])[:-1]
    return _Rows(np.array(lines, dtype=np.int64), np.split(table, edges, axis=1), texts)


def _merge(rows: _Rows, more: _Rows) -> _Rows:
    """Two sets of rows in file order."""
    lines = np.concatenate((rows.lines, more.lines))
    order = np.argsort(lines, kind="stable")
    texts = [a + b for a, b in zip(rows.texts, more.texts)]
    return _Rows(
        lines=lines[order],
        blocks=[np.concatenate(pair)[order] for pair in zip(rows.blocks, more.blocks)],
        texts=[[cells[i] for i in order.tolist()] for cells in texts],
    )
