"""Rows of a text table to a ``RawTable``: which separator, which cells, and what was wrong with which row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.readings.assembly import RawTable
from laydown.science.readings.columns import ColumnMeaning
from laydown.science.readings.conditions import Statement
from laydown.science.readings.decoding import Text
from laydown.science.readings.limits import MAX_REPORTED_PER_KIND
from laydown.science.readings.line_splitting import Separator, count_cells
from laydown.science.readings.number_grid import Grid, Layout, RowFault, read_grid

_SAMPLE_LINES = 64
_SAMPLE_BYTES = 256 * 1024


@dataclass(frozen=True, slots=True)
class TextBlock:
    """Where the rows of one text table lie and how its columns are named."""

    text: Text
    start: int
    end: int
    first_line: int
    names: Sequence[str]
    meaning: ColumnMeaning
    separator: Separator
    comments: bool


def choose_separator(
    text: Text, *, start: int, end: int, fields: int, among: Sequence[Separator], comments: bool
) -> Separator:
    """Find what separates the cells of a table: the sign that cuts most of the first rows into ``fields``.

    Parameters
    ----------
    text, start, end : where the rows are.
    fields : how many columns are named.
    among : signs to try, the preferred one first.
    comments : whether ``#`` starts a comment.

    Returns
    -------
    The sign, or "blank" for runs of blanks and tabs.

    Checked against
    ---------------
    Files of each separator (``test_cgats.py``, ``test_table.py``).
    """
    piece = text.words(start, min(end, start + _SAMPLE_BYTES))
    lines = piece.split("\n")[:_SAMPLE_LINES]
    fits = []
    for sign in among:
        counts = count_cells(lines, separator=sign, fields=fields, comments=comments)
        fits.append(sum(count == fields for count in counts))
    best = max(fits, default=0)
    if best == 0:
        return "\t" if "\t" in among and "\t" in piece else "blank" if "blank" in among else among[0]
    return among[fits.index(best)]


def read_rows(
    block: TextBlock,
    *,
    file: str,
    kind: str,
    statements: Sequence[Statement] = (),
    inherited: Sequence[Statement] = (),
    table: str = "",
) -> tuple[RawTable, int, list[Problem]]:
    """Read the rows of a text table.

    Parameters
    ----------
    block : where the rows are and what the columns mean.
    file, kind, table : names for messages and results; ``kind`` is the format.
    statements, inherited : header lines, for the conditions.

    Returns
    -------
    raw : the table.
    rows : how many rows there were, good or not.
    problems : one error for each row left out.

    Raises
    ------
    UnreadableFile
        Where no row at all could be read.

    Checked against
    ---------------
    Planted files of each dialect (``test_cgats.py``).
    """
    meaning = block.meaning
    texts = tuple(dict.fromkeys(c for c in (meaning.identity, meaning.name, meaning.place) if c is not None))
    wanted = _wanted_numbers(meaning)
    layout = Layout(len(block.names), block.separator, texts, tuple(wanted.values()), block.comments)
    grid = read_grid(block.text, start=block.start, end=block.end, first_line=block.first_line, layout=layout)
    problems = _fault_problems(grid.faults, block, file)
    if not grid.lines.size:
        if grid.faults:
            first = problems[0]
            what = f"no row could be read; the first one: {first.what}"
            raise UnreadableFile(what, todo=first.todo, file=file, line=first.line)
        what = "the table has no rows."
        raise UnreadableFile(
            what, todo="Export the file again with its readings.", file=file, line=block.first_line
        )
    problems += _repeat_problems(meaning, file)
    numbers = dict(zip(wanted, grid.blocks))
    densities = numbers.get("densities", np.empty((0, 0)))
    ids = _ids(grid, meaning, file, problems)
    names = _texts(grid, meaning.name if meaning.name is not None else meaning.place)
    raw = RawTable(
        file=file,
        format=kind,
        ids=ids,
        names=names or ("",) * len(ids),
        lines=grid.lines,
        channels=meaning.channels,
        device=numbers.get("device"),
        wavelengths_nm=_wavelengths(meaning, numbers.get("wavelengths"), grid.lines, file),
        spectra=numbers.get("bands"),
        spectral_scale=meaning.spectral_scale,
        xyz=numbers.get("xyz"),
        lab=numbers.get("lab"),
        densities={name: densities[:, i].copy() for i, name in enumerate(meaning.densities)},
        positions=_positions(numbers.get("positions")),
        statements=statements,
        inherited=inherited,
        table=table,
    )
    return raw, int(grid.lines.size) + len(grid.faults), problems


def _wanted_numbers(meaning: ColumnMeaning) -> dict[str, tuple[int, ...]]:
    """Columns of numbers by what they become."""
    columns = {
        "device": meaning.device,
        "bands": meaning.bands,
        "wavelengths": meaning.band_wavelengths,
        "xyz": meaning.xyz,
        "lab": meaning.lab,
        "densities": tuple(meaning.densities.values()),
        "positions": meaning.row_column or (),
    }
    return {name: indices for name, indices in columns.items() if indices}


def _texts(grid: Grid, column: int | None) -> tuple[str, ...]:
    return tuple(grid.texts[column]) if column is not None else ()


def _ids(grid: Grid, meaning: ColumnMeaning, file: str, problems: list[Problem]) -> tuple[str, ...]:
    """Ids of the rows: the id column, else name or place, else numbers in file order."""
    for column in (meaning.identity, meaning.name, meaning.place):
        found = _texts(grid, column)
        if found and any(found):
            return found
    what = "the table has no sample ids; patches were numbered in file order."
    problems.append(Problem("note", what, file=file))
    return tuple(str(number) for number in range(1, grid.lines.size + 1))


def _positions(cells: Floats | None) -> Ints | None:
    if cells is None or not (np.abs(cells) < 2**31).all() or (cells != np.round(cells)).any():
        return None
    return cells.astype(np.int64)


def _wavelengths(meaning: ColumnMeaning, cells: Floats | None, lines: Ints, file: str) -> Floats | None:
    """Wavelengths of the bands, from the names or from the cells that carry them."""
    if not meaning.bands:
        return None
    if cells is None:
        return np.array(meaning.wavelengths_nm, dtype=np.float64)
    other = np.flatnonzero((cells != cells[0]).any(axis=1))
    if other.size:
        what = "this row gives other wavelengths than the first row, so its spectrum cannot be placed."
        raise UnreadableFile(
            what,
            todo="Export all patches over the same wavelengths.",
            file=file,
            line=int(lines[other[0]]),
        )
    if len(set(cells[0].tolist())) != cells.shape[1]:
        what = "the same wavelength is given for two spectral columns."
        raise UnreadableFile(what, todo="Export the file again.", file=file, line=int(lines[0]))
    return np.array(cells[0])


def _fault_problems(faults: Sequence[RowFault], block: TextBlock, file: str) -> list[Problem]:
    """An error for each row left out, up to the limit, then their number."""
    limit = int(MAX_REPORTED_PER_KIND.value)
    problems = [_fault_problem(fault, block, file) for fault in faults[:limit]]
    if len(faults) > limit:
        what = f"{len(faults) - limit} more rows could not be read and were left out."
        problems.append(Problem("error", what, todo="Correct them, or read those patches again.", file=file))
    return problems


def _fault_problem(fault: RowFault, block: TextBlock, file: str) -> Problem:
    wanted = len(block.names)
    identity = block.meaning.identity
    patch = fault.cells[identity] if identity is not None and identity < len(fault.cells) else None
    if fault.column >= 0:
        cell = fault.cells[fault.column][:40]
        shown = f'"{cell}" is not a number' if cell else "the cell is empty"
        what = f"column {block.names[fault.column][:40]}: {shown}; the patch was left out."
        return Problem("error", what, "Correct it, or read this patch again.", file, fault.line, patch)
    found = len(fault.cells)
    few = "too few" if found < wanted else "too many"
    what = f"{few} columns: {found} where {wanted} are named; the row was left out."
    return Problem("error", what, "Correct the row, or export the file again.", file, fault.line, patch)


def _repeat_problems(meaning: ColumnMeaning, file: str) -> list[Problem]:
    return [
        Problem("warning", f"column {name[:40]} comes more than once; the first was used.", file=file)
        for name in meaning.repeated[: int(MAX_REPORTED_PER_KIND.value)]
    ]
