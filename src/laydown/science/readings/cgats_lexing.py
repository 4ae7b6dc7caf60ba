"""CGATS text cut into tables: header statements, field names, and where the rows of each table lie."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.readings.conditions import Statement
from laydown.science.readings.decoding import Text
from laydown.science.readings.limits import MAX_FIELDS, MAX_HEADER_BYTES, MAX_HEADER_LINES, MAX_TABLES
from laydown.science.readings.line_splitting import without_comment

_WORD = re.compile(r'"([^"]*)"?|([^\x00-\x20]+)')
_KEYWORD = re.compile(r"[A-Z][A-Z0-9_./-]*", re.I)
_MOST_TRIES = 2000
_INDENT = 64
_AFTER = (b"", b" ", b"\t", b"\n", b'"')
_TODO = "Export the file again, as CGATS text."


@dataclass(slots=True)
class CgatsTable:
    """One table: its own statements, field names, and the byte range of its rows.

    ``tabbed`` says whether the names were written with single tabs between them. ``sets`` and ``fields`` are
    the numbers the header states, None where it does not.
    """

    statements: list[Statement] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    names_line: int = 0
    tabbed: bool = False
    fields: int | None = None
    sets: int | None = None
    start: int = 0
    end: int = 0
    first_line: int = 0


@dataclass(slots=True)
class _Cursor:
    text: Text
    position: int = 0
    line: int = 1

    def next_line(self) -> bytes | None:
        """The next line, or None at the end of the file."""
        body = self.text.body
        if self.position >= len(body):
            return None
        stop = body.find(b"\n", self.position)
        stop = len(body) if stop < 0 else stop
        line = body[self.position : stop]
        self.position, self.line = stop + 1, self.line + 1
        return line


def cut_tables(text: Text, *, file: str) -> tuple[list[CgatsTable], list[Problem]]:
    """Find the tables of a CGATS text.

    Parameters
    ----------
    text : the decoded file, holding at least one BEGIN_DATA.

    Returns
    -------
    tables : in file order; a table without its own format has the names of the one before.
    problems : what is wrong with the frame, such as a missing END_DATA.

    Raises
    ------
    UnreadableFile
        For a header or a number of tables beyond the limits.

    Checked against
    ---------------
    Planted files with several, cut and nameless tables (``test_cgats.py``).
    """
    cursor = _Cursor(text)
    tables: list[CgatsTable] = []
    problems: list[Problem] = []
    header_bytes = header_lines = 0
    table = CgatsTable()
    while (raw := cursor.next_line()) is not None:
        header_bytes += len(raw) + 1
        header_lines += 1
        if header_bytes > MAX_HEADER_BYTES.value or header_lines > MAX_HEADER_LINES.value:
            what = "the header never ends; this is not a measurement file."
            raise UnreadableFile(what, todo=_TODO, file=file, line=cursor.line)
        line = without_comment(raw.decode(text.encoding, errors="replace"))
        words = _words(line)
        if not words:
            continue
        key = words[0].upper()
        if key == "BEGIN_DATA_FORMAT":
            _read_format(cursor, table, line, file, problems)
        elif key == "BEGIN_DATA":
            problems += _find_rows(cursor, table, file)
            if len(tables) >= MAX_TABLES.value:
                what = f"the file holds more than {MAX_TABLES.value:g} tables."
                raise UnreadableFile(what, todo="Split the file.", file=file)
            tables.append(table)
            table = CgatsTable(names=table.names, tabbed=table.tabbed, names_line=table.names_line)
        else:
            _read_statement(table, words, line, cursor.line - 1, file, problems)
    return tables, problems


def _words(line: str) -> list[str]:
    return [quoted or bare for quoted, bare in _WORD.findall(line)]


def _read_statement(
    table: CgatsTable, words: list[str], line: str, number: int, file: str, problems: list[Problem]
) -> None:
    """Keep one header line; numbers of fields and sets go to the table."""
    keyword = words[0].upper()
    value = " ".join(words[1:]) if '"' in line else line.strip()[len(words[0]) :].strip()
    if keyword in {"NUMBER_OF_FIELDS", "NUMBER_OF_SETS"}:
        if value.isascii() and value.isdigit() and len(value) < 10:
            if keyword == "NUMBER_OF_FIELDS":
                table.fields = int(value)
            else:
                table.sets = int(value)
        else:
            what = f'{keyword} is "{value[:40]}", which is no sensible number; columns and rows were counted.'
            problems.append(
                Problem(
                    "warning",
                    what,
                    todo="Nothing needs doing if all patches are there.",
                    file=file,
                    line=number,
                )
            )
        return
    if _KEYWORD.fullmatch(keyword) and value:
        table.statements.append(Statement(keyword, value, number))


def _read_format(
    cursor: _Cursor, table: CgatsTable, opening: str, file: str, problems: list[Problem]
) -> None:
    """Read field names up to END_DATA_FORMAT, on one line or many."""
    start_line = cursor.line - 1
    names: list[str] = []
    tabbed = True
    lines = [opening.strip()[len("BEGIN_DATA_FORMAT") :].strip()]
    closed = False
    while not closed:
        before = cursor.position, cursor.line
        raw = cursor.next_line()
        if raw is None:
            break
        line = without_comment(raw.decode(cursor.text.encoding, errors="replace"))
        found = line.upper().find("END_DATA_FORMAT")
        if found < 0 and line.strip().upper().startswith("BEGIN_DATA"):
            cursor.position, cursor.line = before
            break
        closed = found >= 0
        lines.append(line[:found] if closed else line)
    for line in lines:
        if line.strip():
            words = _words(line)
            tabbed &= [cell.strip().strip('"') for cell in line.strip("\t\n ").split("\t")] == words
            names += words
        if len(names) > MAX_FIELDS.value:
            what = f"the table has more than {MAX_FIELDS.value:g} columns."
            raise UnreadableFile(what, todo=_TODO, file=file, line=start_line)
    if not closed:
        what = "BEGIN_DATA_FORMAT is never closed by END_DATA_FORMAT; the names up to the data were used."
        problems.append(Problem("warning", what, todo=_TODO, file=file, line=start_line))
    table.names, table.tabbed, table.names_line = names, tabbed, start_line + 1


def _find_rows(cursor: _Cursor, table: CgatsTable, file: str) -> list[Problem]:
    """Set the byte range of the rows after BEGIN_DATA and move behind END_DATA."""
    body = cursor.text.body
    start = min(cursor.position, len(body))
    table.start, table.first_line = start, cursor.line
    end = _end_of_data(body, start)
    if end < 0:
        table.end = len(body)
        cursor.position = len(body)
        what = "END_DATA is missing, so the file may be cut short; the rows that are there were read."
        return [Problem("warning", what, todo=_TODO, file=file)]
    table.end = end
    cursor.line += cursor.text.count_lines(start, end)
    cursor.position = end
    cursor.next_line()
    return []


def _end_of_data(body: bytes, start: int) -> int:
    """Start of the first line whose first word is END_DATA; -1 where there is none."""
    # Underlines are rare in rows, and one sign is looked for many times faster than a word.
    for sign, ahead in ((b"_", 3), (b"END_DATA", 0), (b"end_data", 0)):
        found = body.find(sign, start)
        tries = 0
        while found >= 0 and (tries < _MOST_TRIES or not ahead):
            tries += 1
            at = found - ahead
            word = body[at : at + 9]
            if word[:8].upper() == b"END_DATA" and word[8:] in _AFTER:
                before = body[max(start, at - _INDENT) : at]
                line_start = at - len(before) + before.rfind(b"\n") + 1
                # Only a little is looked at before the word, so that a hostile line costs no more.
                if not body[line_start:at].strip(b' \t"') and (b"\n" in before or at - start <= _INDENT):
                    return line_start
            found = body.find(sign, found + 1)
        if ahead and found < 0:
            return -1
    return -1
