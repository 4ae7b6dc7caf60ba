"""Reader of plain tables with a header row: commas, semicolons, tabs or blanks, decimal point or comma."""

from __future__ import annotations

import re
from collections.abc import Iterator

from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.readings.assembly import finish_table
from laydown.science.readings.columns import looks_like_header, read_columns
from laydown.science.readings.conditions import Statement
from laydown.science.readings.decoding import Text
from laydown.science.readings.limits import MAX_FIELDS
from laydown.science.readings.line_splitting import Separator, count_cells, split_line
from laydown.science.readings.text_rows import TextBlock, read_rows
from laydown.science.readings.types import FileReadings
from laydown.science.readings.wordings import no_colour

_KIND = "table"
_HEADER_LINES = 200
_AHEAD_LINES, _AHEAD_BYTES = 10, 64 * 1024
_TRIED: tuple[Separator, ...] = ("\t", ";", ",", "blank")
_KEY_VALUE = re.compile(r"\s*#?\s*\"?([A-Za-z][A-Za-z0-9_ -]{1,40}?)\"?\s*(?:[:=\t;,]|\s(?=\"))\s*(.*\S)")


def read_table(text: Text, *, file: str, device_will_do: bool = False) -> FileReadings:
    """Read a table whose columns are named by a header row.

    Lines above the header row may hold prose or ``keyword: value`` facts. Not for tables without any column
    names: numbers alone cannot say what they mean.

    Parameters
    ----------
    text : the decoded file.
    file : its name, for messages.
    device_will_do : take a table of device values without colours too, such as a chart's reference.

    Returns
    -------
    FileReadings
        With one table.

    Raises
    ------
    UnreadableFile
        Where no line names columns of colours, or no row can be read.

    Checked against
    ---------------
    Four separators, decimal commas and refusals (``test_table.py``).
    """
    statements: list[Statement] = []
    problems: list[Problem] = []
    for number, start, stop in _first_lines(text):
        line = text.words(start, stop)
        names, separator = _header(line)
        if not names or not _has_rows(text, stop + 1, len(names), separator):
            statements += _statement(line, number)
            continue
        meaning = read_columns(names)
        if not meaning.has_colour and not (device_will_do and meaning.device):
            raise no_colour(meaning, file=file, line=number)
        if len(names) > MAX_FIELDS.value:
            what = f"the table has more than {MAX_FIELDS.value:g} columns."
            raise UnreadableFile(what, todo="Export the readings again.", file=file, line=number)
        begin = min(stop + 1, len(text.body))
        block = TextBlock(text, begin, len(text.body), number + 1, names, meaning, separator, comments=False)
        raw, _, problems = read_rows(block, file=file, kind=_KIND, statements=statements)
        readings, found = finish_table(raw)
        return FileReadings(file=file, tables=(readings,), problems=(*problems, *found))
    what = "this text does not look like measurements: no line names columns such as LAB_L, XYZ_X or 380 nm."
    raise UnreadableFile(what, todo="Use a CGATS, CxF or CSV export of the readings.", file=file)


def _first_lines(text: Text) -> Iterator[tuple[int, int, int]]:
    """(number, start, end) of the lines among which the header row is looked for."""
    start = 0
    for number in range(1, _HEADER_LINES + 1):
        if start >= len(text.body):
            return
        stop = text.body.find(b"\n", start)
        stop = len(text.body) if stop < 0 else stop
        yield number, start, stop
        start = stop + 1


def _header(line: str) -> tuple[list[str], Separator]:
    """Column names of a header row and the sign between them; no names where it is no header row."""
    bare = line.strip().removeprefix("#").strip()
    for sign in _TRIED:
        if sign != "blank" and sign not in bare:
            continue
        names = [
            name.strip().strip('"') for name in split_line(bare, separator=sign, fields=0, comments=False)
        ]
        if looks_like_header(names):
            return names, sign
    return [], "blank"


def _has_rows(text: Text, start: int, fields: int, separator: Separator) -> bool:
    """Whether one of the next lines has as many cells as are named: prose about colour has not."""
    lines = text.words(start, start + _AHEAD_BYTES).split("\n")[:_AHEAD_LINES]
    counts = count_cells(lines, separator=separator, fields=fields, comments=False)
    return fields in counts or not counts


def _statement(line: str, number: int) -> list[Statement]:
    """A ``keyword: value`` fact above the header row."""
    match = _KEY_VALUE.fullmatch(line)
    if match is None:
        return []
    keyword = re.sub(r"[\s-]+", "_", match[1].strip()).upper()
    return [Statement(keyword, match[2].strip('"'), number, shown=match[1].strip())]
