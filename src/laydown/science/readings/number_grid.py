"""Rows of text and numbers out of the body of a table, fast where rows are regular, exact where they are not.

Lines are cut in numpy. A line with the right number of plain fields has its numbers read by
``number_tokens.parse_tokens``; every other line, and every number that refuses, is read one by one by
``split_line`` and ``parse_cell``. Both roads give the same numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.science.readings.decoding import Text
from laydown.science.readings.limits import MAX_LINE_BYTES
from laydown.science.readings.number_tokens import FRONT_PADDING, parse_cell, parse_tokens

Separator = Literal["blank", "\t", ",", ";"]
_CHUNK_BYTES = 512 * 1024
_BLANK, _QUOTE, _HASH, _LINE_FEED, _COMMA, _POINT = 32, 34, 35, 10, 44, 46
_BLANKS = "".join(chr(code) for code in range(33))
# Only plain blanks and control signs separate or pad cells, as in the road that works on bytes.
_PIECE = re.compile(r'"([^"]*)"?|([^\x00-\x20]+)')


@dataclass(frozen=True, slots=True)
class Layout:
    """How the rows of a table are written and which of its columns are wanted.

    ``texts`` and ``numbers`` are column indices; ``comments`` says whether ``#`` starts a comment.
    """

    fields: int
    separator: Separator
    texts: tuple[int, ...]
    numbers: tuple[int, ...]
    comments: bool


@dataclass(frozen=True, slots=True)
class RowFault:
    """A row left out: its line, the cells read from it, and the column that refused (-1: wrong count)."""

    line: int
    cells: tuple[str, ...]
    column: int


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The rows read: texts by column, numbers (n, m) in the order asked for, lines (n,), and faults."""

    texts: dict[int, list[str]]
    numbers: Floats
    lines: Ints
    faults: list[RowFault]


@dataclass(slots=True)
class _Rows:
    """Rows of one chunk, before they are put in file order."""

    lines: list[Ints] = field(default_factory=list)
    numbers: list[Floats] = field(default_factory=list)
    texts: list[dict[int, list[str]]] = field(default_factory=list)
    faults: list[RowFault] = field(default_factory=list)


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
    """
    parts = [
        _read_chunk(text, a, b, line, layout) for a, b, line in _chunks(text.body, start, end, first_line)
    ]
    numbers = [block for part in parts for block in part.numbers]
    lines = [block for part in parts for block in part.lines]
    texts: dict[int, list[str]] = {column: [] for column in layout.texts}
    for part in parts:
        for piece in part.texts:
            for column, cells in piece.items():
                texts[column].extend(cells)
    return Grid(
        texts=texts,
        numbers=np.concatenate(numbers) if numbers else np.empty((0, len(layout.numbers))),
        lines=np.concatenate(lines) if lines else np.empty(0, dtype=np.int64),
        faults=[fault for part in parts for fault in part.faults],
    )


def split_line(line: str, *, separator: Separator, fields: int, comments: bool) -> list[str]:
    """Split one line into cells: quotes kept together, comments dropped, one trailing separator forgiven."""
    if comments and "#" in line:
        line = _without_comment(line)
    line = line.strip("\n")
    if separator == "blank":
        return [quoted if quoted or not bare else bare for quoted, bare in _PIECE.findall(line)]
    if not line.strip(_BLANKS + separator):
        return []
    cells = (
        _split_quoted(line, separator)
        if '"' in line
        else [cell.strip(_BLANKS) for cell in line.split(separator)]
    )
    while len(cells) > fields and not cells[-1]:
        cells.pop()
    return cells


def _without_comment(line: str) -> str:
    """The line up to the first ``#`` outside quotes."""
    quoted = False
    for position, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif letter == "#" and not quoted:
            return line[:position]
    return line


def _split_quoted(line: str, separator: str) -> list[str]:
    """Split at separators outside double quotes; a doubled quote inside quotes is one quote."""
    cells: list[str] = []
    piece: list[str] = []
    quoted = False
    for part in line.split('"'):
        if quoted:
            piece.append(part)
        else:
            first, *rest = part.split(separator)
            piece.append(first)
            for later in rest:
                cells.append("".join(piece).strip(_BLANKS))
                piece = [later]
        quoted = not quoted
    cells.append("".join(piece).strip(_BLANKS))
    return cells


def _chunks(body: bytes, start: int, end: int, line: int) -> Iterator[tuple[int, int, int]]:
    """Pieces of whole lines: (start, end, number of the first line)."""
    while start < end:
        stop = end
        if end - start > _CHUNK_BYTES:
            stop = body.rfind(b"\n", start, start + _CHUNK_BYTES) + 1
            if stop <= start:
                found = body.find(b"\n", start, start + 2 * int(MAX_LINE_BYTES.value))
                stop = end if found < 0 or found >= end else found + 1
        yield start, stop, line
        line += body.count(b"\n", start, stop)
        start = stop


def _read_chunk(text: Text, start: int, end: int, first_line: int, layout: Layout) -> _Rows:
    chunk = text.body[start:end]
    if not chunk.endswith(b"\n"):
        chunk += b"\n"
    buffer = np.frombuffer(b"\n" * FRONT_PADDING + chunk, dtype=np.uint8)
    breaks = np.flatnonzero(buffer[FRONT_PADDING:] == _LINE_FEED) + FRONT_PADDING
    slow = _irregular_lines(chunk, buffer, breaks, layout)
    wanted = (*layout.texts, *layout.numbers)
    if layout.separator == "blank":
        starts, ends, good = _blank_cells(buffer, breaks, slow, layout.fields, wanted)
    else:
        starts, ends, good = _separated_cells(buffer, breaks, slow, layout, wanted)
    rows = _Rows()
    fast = np.flatnonzero(good)
    count = len(layout.texts)
    values, read = _numbers(buffer, starts[:, count:], ends[:, count:], layout)
    keep = np.ones(fast.size, dtype=np.bool_)
    slices = chunk.decode("latin-1") if chunk.isascii() else None
    for row, column in zip(*np.nonzero(~read)):
        a, b = starts[row, count + column] - FRONT_PADDING, ends[row, count + column] - FRONT_PADDING
        values[row, column] = parse_cell(chunk[a:b].decode(text.encoding, errors="replace"))
        keep[row] &= not np.isnan(values[row, column])
    good[fast[~keep]] = False
    if not keep.all():
        starts, ends, values, fast = starts[keep], ends[keep], values[keep], fast[keep]
    texts = {
        column: _cut(chunk, slices, starts[:, i], ends[:, i], text.encoding)
        for i, column in enumerate(layout.texts)
    }
    rows.lines.append(fast + first_line)
    rows.numbers.append(values)
    rows.texts.append(texts)
    left = np.flatnonzero(~good)
    if left.size:
        line_starts = np.concatenate(([0], breaks[:-1] + 1 - FRONT_PADDING))
        _read_slow(chunk, left, line_starts, breaks - FRONT_PADDING, first_line, text.encoding, layout, rows)
    return rows


def _cut(chunk: bytes, slices: str | None, starts: Ints, ends: Ints, encoding: str) -> list[str]:
    """Cells of one text column."""
    pairs = zip((starts - FRONT_PADDING).tolist(), (ends - FRONT_PADDING).tolist())
    if slices is not None:
        return [slices[a:b] for a, b in pairs]
    return [chunk[a:b].decode(encoding, errors="replace") for a, b in pairs]


def _irregular_lines(chunk: bytes, buffer: NDArray[np.uint8], breaks: Ints, layout: Layout) -> Bools:
    """Lines that hold a quote or a comment sign: these are read one by one."""
    slow = np.zeros(breaks.size, dtype=np.bool_)
    for mark, sign, matters in ((b'"', _QUOTE, True), (b"#", _HASH, layout.comments)):
        if matters and mark in chunk:
            slow[np.searchsorted(breaks, np.flatnonzero(buffer == sign))] = True
    return slow


def _blank_cells(
    buffer: NDArray[np.uint8], breaks: Ints, slow: Bools, fields: int, wanted: tuple[int, ...]
) -> tuple[Ints, Ints, Bools]:
    """Wanted cells of the good lines where runs of blanks and tabs separate cells."""
    inked = buffer > _BLANK
    edges = np.flatnonzero(inked[1:] != inked[:-1]) + 1
    starts, ends = edges[0::2], edges[1::2]
    firsts = np.searchsorted(starts, np.concatenate(([FRONT_PADDING], breaks[:-1] + 1)))
    counts = np.diff(np.append(firsts, starts.size))
    good = (counts == fields) & ~slow
    return _pick(starts, firsts, good, fields, wanted), _pick(ends, firsts, good, fields, wanted), good


def _separated_cells(
    buffer: NDArray[np.uint8], breaks: Ints, slow: Bools, layout: Layout, wanted: tuple[int, ...]
) -> tuple[Ints, Ints, Bools]:
    """Wanted cells of the good lines where one sign separates cells."""
    fields = layout.fields
    sign = ord(layout.separator)
    ends = np.flatnonzero((buffer == sign) | (buffer == _LINE_FEED))[FRONT_PADDING:]
    starts = np.concatenate(([FRONT_PADDING], ends[:-1] + 1))
    lasts = np.searchsorted(ends, breaks)
    firsts = np.concatenate(([0], lasts[:-1] + 1))
    counts = lasts - firsts + 1
    trailing = (counts == fields + 1) & (ends[lasts] == starts[lasts])
    good = ((counts == fields) | trailing) & ~slow
    width = fields + 1 if trailing.all() else fields
    a, b = _pick(starts, firsts, good, width, wanted), _pick(ends, firsts, good, width, wanted)
    a, b = _trim(buffer, a, b)
    if a.shape[1]:
        # A line of nothing but separators is an empty line, not a row of empty cells.
        filled = (b > a).any(axis=1)
        if not filled.all():
            good[np.flatnonzero(good)[~filled]] = False
            a, b = a[filled], b[filled]
    return a, b, good


def _pick(flat: Ints, firsts: Ints, good: Bools, fields: int, wanted: tuple[int, ...]) -> Ints:
    """Entries of the wanted columns of the good lines, as (rows, wanted)."""
    if good.all() and flat.size == good.size * fields:
        return flat.reshape(-1, fields)[:, wanted]
    return flat[firsts[good][:, np.newaxis] + np.array(wanted, dtype=np.int64)]


def _trim(buffer: NDArray[np.uint8], starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Take blanks (and tabs) off both sides of every cell."""
    starts, ends = starts.copy(), ends.copy()
    while True:
        blank = (buffer[starts] <= _BLANK) & (starts < ends)
        if not blank.any():
            break
        starts += blank
    while True:
        blank = (buffer[ends - 1] <= _BLANK) & (starts < ends)
        if not blank.any():
            return starts, ends
        ends -= blank


def _numbers(buffer: NDArray[np.uint8], starts: Ints, ends: Ints, layout: Layout) -> tuple[Floats, Bools]:
    """Read a matrix of cells as numbers."""
    if layout.separator != "," and (buffer == _COMMA).any():
        buffer = np.where(buffer == _COMMA, np.uint8(_POINT), buffer)
    values, read = parse_tokens(buffer, starts.ravel(), ends.ravel())
    return values.reshape(starts.shape), read.reshape(starts.shape)


def _read_slow(
    chunk: bytes,
    left: Ints,
    line_starts: Ints,
    line_ends: Ints,
    first_line: int,
    encoding: str,
    layout: Layout,
    rows: _Rows,
) -> None:
    """Read the lines ``left`` one by one, then put all rows of the chunk in file order."""
    numbers: list[list[float]] = []
    texts: dict[int, list[str]] = {column: [] for column in layout.texts}
    lines: list[int] = []
    for index in left.tolist():
        raw = chunk[line_starts[index] : line_ends[index]].decode(encoding, errors="replace")
        cells = split_line(raw, separator=layout.separator, fields=layout.fields, comments=layout.comments)
        if not cells:
            continue
        line = first_line + index
        if len(cells) != layout.fields:
            rows.faults.append(RowFault(line, tuple(cells), -1))
            continue
        values = [parse_cell(cells[column]) for column in layout.numbers]
        refused = next((c for c, value in zip(layout.numbers, values) if np.isnan(value)), None)
        if refused is not None:
            rows.faults.append(RowFault(line, tuple(cells), refused))
            continue
        lines.append(line)
        numbers.append(values)
        for column in layout.texts:
            texts[column].append(cells[column])
    if lines:
        _merge(rows, np.array(lines, dtype=np.int64), np.array(numbers, dtype=np.float64), texts)


def _merge(rows: _Rows, lines: Ints, numbers: Floats, texts: dict[int, list[str]]) -> None:
    """Put rows read one by one among the others, by line number."""
    all_lines = np.concatenate((rows.lines[0], lines))
    order = np.argsort(all_lines, kind="stable")
    rows.lines[0] = all_lines[order]
    rows.numbers[0] = np.concatenate(
        (rows.numbers[0], numbers.reshape(len(lines), rows.numbers[0].shape[1]))
    )[order]
    for column, cells in texts.items():
        both = rows.texts[0][column] + cells
        rows.texts[0][column] = [both[i] for i in order.tolist()]


def count_cells(lines: Sequence[str], *, separator: Separator, fields: int, comments: bool) -> list[int]:
    """How many cells each line has under a separator; empty lines give none."""
    return [
        len(cells)
        for line in lines
        if (cells := split_line(line, separator=separator, fields=fields, comments=comments))
    ]
