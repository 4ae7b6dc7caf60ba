"""Reader of CGATS.17 / ISO 28178 text in the dialects that instruments and programs really write."""

from __future__ import annotations

from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.readings.assembly import finish_table
from laydown.science.readings.cgats_lexing import CgatsTable, cut_tables
from laydown.science.readings.columns import ColumnMeaning, looks_like_header, read_columns
from laydown.science.readings.conditions import Statement
from laydown.science.readings.decoding import Text
from laydown.science.readings.line_splitting import split_line
from laydown.science.readings.text_rows import TextBlock, choose_separator, read_rows
from laydown.science.readings.types import FileReadings, Readings
from laydown.science.readings.wordings import no_colour

_KIND = "CGATS"


def is_cgats(text: Text) -> bool:
    """Whether a text has a BEGIN_DATA line, whatever its first word.

    Parameters
    ----------
    text : the decoded file.

    Returns
    -------
    True or false.

    Checked against
    ---------------
    Every dialect in ``test_cgats.py``.
    """
    return any(mark in text.body for mark in (b"BEGIN_DATA", b"begin_data", b"Begin_Data"))


def read_cgats(text: Text, *, file: str, device_will_do: bool = False) -> FileReadings:
    """Read every table of a CGATS text.

    The first word (CGATS.17, IT8.7/4, ISO28178, a vendor's own) does not matter; BEGIN_DATA does.

    Parameters
    ----------
    text : the decoded file.
    file : its name, for messages.
    device_will_do : take a table of device values without colours too, such as a chart's reference.

    Returns
    -------
    FileReadings
        A table with device values only is left out with a note where another table has colours.

    Raises
    ------
    UnreadableFile
        Where no table holds measured colours.

    Checked against
    ---------------
    Over sixty measured files, and one planted file for each dialect.
    """
    cut, problems = cut_tables(text, file=file)
    if not cut:
        what = "the file ends before its data begin."
        raise UnreadableFile(what, todo="Export the file again.", file=file)
    readings: list[Readings] = []
    inherited: list[Statement] = []
    left_out: list[UnreadableFile] = []
    for number, table in enumerate(cut, start=1):
        name = _table_name(table, number) if len(cut) > 1 else ""
        try:
            found, more = _read_table(text, table, inherited, name, file, device_will_do)
        except UnreadableFile as refusal:
            left_out.append(refusal)
        else:
            readings.append(found)
            problems += more
        inherited = inherited or list(table.statements)
    if not readings:
        raise left_out[0]
    problems += [
        Problem("warning", f"a table was left out: {r.what}", r.todo, file, r.line) for r in left_out
    ]
    return FileReadings(file=file, tables=tuple(readings), problems=tuple(problems))


def _table_name(table: CgatsTable, number: int) -> str:
    for statement in table.statements:
        if statement.keyword in {"TABLE_NAME", "TABLE_DESCRIPTOR"}:
            return statement.value
    return str(number)


def _read_table(
    text: Text,
    table: CgatsTable,
    inherited: list[Statement],
    name: str,
    file: str,
    device_will_do: bool,
) -> tuple[Readings, list[Problem]]:
    problems = _ensure_names(text, table, file)
    names = table.names
    meaning = read_columns(names)
    if not (device_will_do and meaning.device):
        _refuse_without_colour(meaning, file, table.names_line)
    if table.fields is not None and table.fields != len(names):
        what = (
            f"NUMBER_OF_FIELDS says {table.fields}, but {len(names)} columns are named; the names were used."
        )
        problems.append(Problem("warning", what, file=file))
    separator = choose_separator(
        text,
        start=table.start,
        end=table.end,
        fields=len(names),
        among=("\t", "blank", ";", ","),
        comments=True,
    )
    block = TextBlock(
        text, table.start, table.end, table.first_line, names, meaning, separator, comments=True
    )
    raw, rows, found = read_rows(
        block, file=file, kind=_KIND, statements=table.statements, inherited=inherited, table=name
    )
    problems += found
    if table.sets is not None and table.sets != rows:
        what = (
            f"NUMBER_OF_SETS says {table.sets}, but there are {rows} rows; the rows that are there were read."
        )
        problems.append(Problem("warning", what, todo="Check that the file is complete.", file=file))
    readings, found = finish_table(raw)
    return readings, problems + found


def _refuse_without_colour(meaning: ColumnMeaning, file: str, line: int) -> None:
    if meaning.has_colour:
        return
    raise no_colour(meaning, file=file, line=line or None)


def _ensure_names(text: Text, table: CgatsTable, file: str) -> list[Problem]:
    """Where no format block names the columns, let the first row or the last header line name them."""
    if table.names:
        return []
    stop = text.body.find(b"\n", table.start, table.end)
    stop = table.end if stop < 0 else stop
    line = text.words(table.start, stop)
    cells = split_line(line, separator="\t" if "\t" in line.strip() else "blank", fields=0, comments=True)
    what = "the file has no BEGIN_DATA_FORMAT; the columns were named from line"
    if looks_like_header(cells):
        table.names, table.names_line = [cell.strip('"') for cell in cells], table.first_line
        table.start, table.first_line = min(stop + 1, table.end), table.first_line + 1
        return [Problem("note", f"{what} {table.names_line}.", file=file)]
    for statement in reversed(table.statements):
        cells = [statement.keyword, *statement.value.split()]
        if looks_like_header(cells):
            table.names, table.names_line = cells, statement.line
            return [Problem("note", f"{what} {statement.line}.", file=file)]
    what = "the file does not say what its columns mean: BEGIN_DATA_FORMAT is missing and no row names them."
    raise UnreadableFile(what, todo="Export it with column names.", file=file, line=table.first_line)
