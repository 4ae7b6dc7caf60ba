"""The fast road and the slow road through rows give the same cells, numbers and faults."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.readings import number_grid
from laydown.science.readings.decoding import Text
from laydown.science.readings.line_splitting import split_line
from laydown.science.readings.number_grid import Grid, Layout, read_grid
from laydown.science.readings.number_tokens import parse_cell

_NUMBER = st.one_of(
    st.integers(0, 255).map(str),
    st.decimals(-200, 200, places=4).map(str),
    st.floats(0, 2).map(lambda v: f"{v:.4f}"),
    st.floats(0, 2).map(lambda v: f"{v:10.4f}"),
    st.sampled_from(["", "-", "nan", "1e-3", "1,5", "0.123456789012", "x", "1 2", '"3.5"']),
)
_NAME = st.sampled_from(["A1", "", "Patch 7", '"quoted  name"', "ä", "a#b", "1", '"half', "x\x01y"])
_SEPARATORS = st.sampled_from(["blank", "\t", ";", ","])


@st.composite
def _tables(draw: st.DrawFn) -> tuple[bytes, Layout]:
    columns = draw(st.integers(2, 12))
    separator = draw(_SEPARATORS)
    join = {"blank": "  "}.get(separator, separator)
    even = draw(st.booleans())
    lines = []
    for _ in range(draw(st.integers(0, 12))):
        if even:
            cells = [f"{draw(st.floats(0, 2)):.4f}" for _ in range(columns)]
        else:
            cells = [
                draw(_NUMBER)
                for _ in range(draw(st.sampled_from([columns] * 6 + [columns - 1, columns + 1])))
            ]
        lines.append(
            join.join([draw(_NAME), *cells]) + draw(st.sampled_from(["", "", join, " # note", "  "]))
        )
        if draw(st.integers(0, 9)) == 0:
            lines.append(draw(st.sampled_from(["", "   ", "# all comment", join * columns])))
    split = draw(st.integers(1, columns))
    blocks = tuple(
        block for block in (tuple(range(1, 1 + split)), tuple(range(1 + split, 1 + columns))) if block
    )
    layout = Layout(columns + 1, separator, (0,), blocks, comments=draw(st.booleans()))  # type: ignore[arg-type]
    return ("\n".join(lines) + draw(st.sampled_from(["", "\n"]))).encode(), layout


def _by_hand(body: bytes, layout: Layout) -> tuple[list[tuple[int, str, list[float]]], list[int]]:
    """Every line split and read one by one, as the definition says."""
    rows, faults = [], []
    for number, line in enumerate(body.decode().split("\n"), start=1):
        cells = split_line(line, separator=layout.separator, fields=layout.fields, comments=layout.comments)
        if not cells:
            continue
        wanted = [column for block in layout.blocks for column in block]
        values = [parse_cell(cells[c]) for c in wanted] if len(cells) == layout.fields else [float("nan")]
        if np.isnan(values).any():
            faults.append(number)
        else:
            rows.append((number, cells[0], values))
    return rows, faults


def _rows(grid: Grid) -> list[tuple[int, str, list[float]]]:
    values = np.concatenate(grid.blocks, axis=1).tolist()
    return list(zip(grid.lines.tolist(), grid.texts[0], values))


@settings(max_examples=400, deadline=None)
@given(_tables(), st.sampled_from([40, 200, 1 << 18]))
def test_both_roads_agree(table: tuple[bytes, Layout], chunk: int) -> None:
    body, layout = table
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(number_grid, "_CHUNK_BYTES", chunk)
        grid = read_grid(Text(body, "utf-8"), start=0, end=len(body), first_line=1, layout=layout)
    rows, faults = _by_hand(body, layout)
    assert _rows(grid) == rows
    assert [fault.line for fault in grid.faults] == faults


@pytest.mark.parametrize("cell", ["%.4f", "%10.4f", "%.2f", "%8.3f", "%d"])
@pytest.mark.parametrize("separator", ["\t", ";"])
def test_fixed_width_blocks_are_read_exactly(cell: str, separator: str, rng: np.random.Generator) -> None:
    values = rng.uniform(0.1, 9.0, (500, 31))
    lines = [separator.join([f"{i}", f"A {i}", *(cell % v for v in row)]) for i, row in enumerate(values)]
    body = "\n".join(lines).encode()
    layout = Layout(33, separator, (0, 1), (tuple(range(2, 33)),), comments=True)  # type: ignore[arg-type]
    grid = read_grid(Text(body, "utf-8"), start=0, end=len(body), first_line=7, layout=layout)
    assert grid.blocks[0].tolist() == [[float(cell % v) for v in row] for row in values]
    assert grid.texts[1] == [f"A {i}" for i in range(500)]
    assert grid.lines.tolist() == list(range(7, 507))


def test_long_text_cells_are_kept_whole() -> None:
    name = "n" * 2000
    body = f"{name}\t1.5\n".encode()
    grid = read_grid(
        Text(body, "utf-8"),
        start=0,
        end=len(body),
        first_line=1,
        layout=Layout(2, "\t", (0,), ((1,),), comments=False),
    )
    assert grid.texts[0] == [name]


def test_an_empty_cell_and_a_blank_in_a_name_do_not_make_up_for_each_other() -> None:
    body = b"a b\t\t 5\nc d\t\t 6\n"
    layout = Layout(3, "\t", (0,), ((2,),), comments=False)
    grid = read_grid(Text(body, "utf-8"), start=0, end=len(body), first_line=1, layout=layout)
    assert grid.texts[0] == ["a b", "c d"]
    assert grid.blocks[0].tolist() == [[5.0], [6.0]]
    layout = Layout(3, "\t", (0,), ((1, 2),), comments=False)
    grid = read_grid(Text(body, "utf-8"), start=0, end=len(body), first_line=1, layout=layout)
    assert [fault.column for fault in grid.faults] == [1, 1]


def test_two_cells_run_together_are_no_fixed_block() -> None:
    good = "\t".join(["1", *["0.1234"] * 9])
    bad = good.replace("0.1234\t0.1234", "0.123450.1234", 1)
    body = f"{good}\n{bad}\n{good}\n".encode()
    layout = Layout(10, "\t", (0,), (tuple(range(1, 10)),), comments=False)
    grid = read_grid(Text(body, "utf-8"), start=0, end=len(body), first_line=1, layout=layout)
    assert grid.lines.tolist() == [1, 3]
    assert [(fault.line, fault.column) for fault in grid.faults] == [(2, -1)]
