"""Slips of a strip reader are found by the colours, undone, and not seen where there are none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.mix_up_questions import mend
from laydown.science.findings.reading_order import (
    BY_ANY_PRINT,
    BY_SHEETS,
    any_print,
    find_order,
    fitted_to,
)
from laydown.science.readings import read_measurements

ROWS, COLUMNS = 7, 9
TABLE = np.arange(ROWS * COLUMNS).reshape(ROWS, COLUMNS)
BY_ROW, BY_COLUMN = list(TABLE), list(TABLE.T)


def colours(rng: np.random.Generator, n: int = ROWS * COLUMNS) -> Floats:
    return np.column_stack([rng.uniform(15, 95, n), rng.uniform(-60, 60, n), rng.uniform(-60, 60, n)])


def slipped(kind: str) -> Ints:
    """Which patch was read for each place."""
    table = TABLE.copy()
    if kind == "upside_down":
        table = table[::-1, ::-1]
    elif kind == "rows_last_to_first":
        table = table[::-1]
    elif kind == "reversed_rows":
        table[[1, 4]] = table[[1, 4], ::-1]
    elif kind == "reversed columns":
        table[:, 2] = table[::-1, 2]
    elif kind == "row_left_out":
        table[2:-1] = table[3:]
    elif kind == "row_read_twice":
        table[3:] = table[2:-1].copy()
    elif kind == "row_read_twice in place":
        table[3] = table[2]
    elif kind == "rows_exchanged":
        table[[1, 5]] = table[[5, 1]]
    elif kind == "patches_shifted":
        flat = table.ravel().copy()
        flat[20:45] = flat[21:46]
        return flat
    return table.ravel()


@pytest.mark.parametrize(
    ("slip", "kind", "lines"),
    [
        ("upside_down", "upside_down", ()),
        ("rows_last_to_first", "rows_last_to_first", ()),
        ("reversed_rows", "reversed_rows", (1, 4)),
        ("reversed columns", "reversed_rows", (2,)),
        ("row_left_out", "row_left_out", (2,)),
        ("row_read_twice", "row_read_twice", (2, 3)),
        ("row_read_twice in place", "row_read_twice", (2, 3)),
        ("rows_exchanged", "rows_exchanged", (1, 5)),
        ("patches_shifted", "patches_shifted", (20, 44)),
    ],
)
def test_every_slip_is_named_and_undone(
    slip: str, kind: str, lines: tuple[int, ...], rng: np.random.Generator
) -> None:
    truth = colours(rng)
    lab = (truth + rng.normal(0.0, 0.2, truth.shape))[slipped(slip)]
    found = find_order(lab, truth, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_SHEETS)
    assert found is not None
    assert found.kind == kind
    assert found.lines == lines
    assert found.along == (
        "column"
        if "columns" in slip
        else "list"
        if (lines == () and kind == "upside_down") or kind == "patches_shifted"
        else "row"
    )
    mended = mend(lab, found.source)
    known = np.isfinite(mended).all(axis=1)
    assert np.abs(mended[known] - truth[known]).max() < 1.5
    assert found.mended < 0.5 < 10.0 < found.as_read
    # Only what was never read stays empty.
    never = {"row_left_out": 9, "row_read_twice": 9, "row_read_twice in place": 9, "patches_shifted": 1}
    assert np.count_nonzero(~known) == never.get(slip, 0)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1), st.floats(0.0, 6.0))
def test_a_sheet_in_order_is_left_in_peace(seed: int, off: float) -> None:
    rng = np.random.default_rng(seed)
    truth = colours(rng)
    lab = truth + rng.normal(0.0, 0.3, truth.shape) + rng.normal(0.0, off, 3)
    assert find_order(lab, truth, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_SHEETS) is None


def test_without_rows_only_the_whole_list_is_turned(rng: np.random.Generator) -> None:
    truth = colours(rng)
    found = find_order(truth[::-1], truth, closeness=BY_SHEETS)
    assert found is not None
    assert found.kind == "upside_down"
    one_row = truth[slipped("reversed_rows")]
    assert find_order(one_row, truth, closeness=BY_SHEETS) is None


def test_what_looks_the_same_either_way_is_not_claimed(rng: np.random.Generator) -> None:
    truth = colours(rng)
    truth[TABLE[3, 5:]] = truth[TABLE[3, :4]][::-1]  # a row that reads the same backwards
    lab = truth.copy()
    lab[TABLE[3]] = lab[TABLE[3, ::-1]]
    assert find_order(lab, truth, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_SHEETS) is None


def test_a_few_odd_patches_are_no_slip(rng: np.random.Generator) -> None:
    truth = colours(rng)
    lab = truth.copy()
    lab[[3, 30]] = lab[[30, 3]]
    lab[50] += 25.0
    assert find_order(lab, truth, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_SHEETS) is None


def test_missing_patches_do_not_hide_a_slip(rng: np.random.Generator) -> None:
    truth = colours(rng)
    lab = truth[slipped("reversed_rows")]
    lab[[9, 14, 40, 41]] = np.nan
    expected = truth.copy()
    expected[[12, 60]] = np.nan
    found = find_order(lab, expected, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_SHEETS)
    assert found is not None
    assert found.lines == (1, 4)


def test_a_short_last_row_is_no_hindrance(rng: np.random.Generator) -> None:
    truth = colours(rng, 60)
    rows = [np.arange(start, min(start + 9, 60)) for start in range(0, 60, 9)]
    lab = truth.copy()
    for row in range(2, 6):
        length = min(rows[row].size, rows[row + 1].size)
        lab[rows[row][:length]] = truth[rows[row + 1][:length]]
    found = find_order(lab, truth, rows=rows, closeness=BY_SHEETS)
    assert found is not None
    assert found.kind == "row_left_out"
    assert found.lines == (2,)


def test_dark_rows_that_are_alike_were_not_read_twice() -> None:
    # An over-inked ramp: the last rows are one black, and each fits its neighbour's place as well as its own.
    level = np.linspace(95.0, 12.0, 63)
    expected = np.column_stack([level, np.zeros(63), np.zeros(63)])
    lab = expected.copy()
    lab[30:, 0] = 12.0
    assert find_order(lab, expected, rows=BY_ROW, columns=BY_COLUMN, closeness=BY_ANY_PRINT) is None


def test_any_print_knows_the_usual_channels() -> None:
    rgb = any_print(np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]), channels="RGB")
    cmyk = any_print(np.array([[0.0, 0, 0, 0], [0, 0, 0, 1.0], [0, 1.0, 1.0, 0]]), channels="CMYK")
    assert rgb is not None
    assert cmyk is not None
    np.testing.assert_allclose(rgb, cmyk)
    assert rgb[0, 0] > 90 > 25 > rgb[1, 0]
    assert rgb[2, 1] > 40
    assert any_print(np.zeros((3, 6)), channels=tuple("CMYKOG")) is None
    grey = any_print(np.array([[0.0], [np.nan], [1.0]]), channels="K")
    assert grey is not None
    assert np.isnan(grey[1]).all()
    assert grey[0, 0] > grey[2, 0]


def test_fitting_does_not_depend_on_the_order(rng: np.random.Generator) -> None:
    expected = colours(rng)
    lab = np.array([50.0, 2.0, -3.0]) + np.array([0.8, 1.2, 0.6]) * (expected - expected.mean(axis=0))
    np.testing.assert_allclose(fitted_to(lab, expected), lab, atol=1e-9)
    np.testing.assert_allclose(fitted_to(rng.permutation(lab), expected), lab, atol=1e-9)


CHARTS = ("chart-2033-M0", "chart-2033-M2", "chart-3190-M0", "chart-3190-M2")


@pytest.mark.shared_data
@pytest.mark.parametrize("name", CHARTS)
def test_measured_charts_are_in_order_and_slips_in_them_are_found(name: str, shared_data: Path) -> None:
    # 29 and 27 columns are not known to be the charts' own; any table will do for rows to be slipped in.
    data = (shared_data / "inkjet-matte" / f"{name}.txt").read_bytes()
    (table,) = read_measurements(data, file=name).tables
    assert table.device is not None
    lab = lab_from_reflectance(table.reflectance, wavelengths_nm=table.wavelengths_nm)
    rough = any_print(table.device, channels=table.channels)
    assert rough is not None
    # Chosen in the first place: 5-6 dE76 once fitted, 40 and more in a wrong order.
    assert np.linalg.norm(lab - fitted_to(lab, rough), axis=1).mean() < 8.0
    for width in (9, 27, 29):
        places = np.arange(len(lab))
        rows = [places[start : start + width] for start in range(0, len(lab), width)]
        columns = [places[start::width] for start in range(width)]

        def found(read: Floats, rows: list[Ints] = rows, columns: list[Ints] = columns) -> str | None:
            order = find_order(
                read, fitted_to(read, rough), rows=rows, columns=columns, closeness=BY_ANY_PRINT
            )
            return None if order is None else order.kind

        assert found(lab) is None
        assert found(lab[::-1]) == "upside_down"
        one = lab.copy()
        one[rows[5]] = one[rows[5][::-1]]
        assert found(one) == "reversed_rows"
