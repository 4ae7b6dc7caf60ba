"""CGATS dialects: each test is one way real files differ from the standard."""

from __future__ import annotations

import time

import numpy as np
import pytest

from laydown.kernel.errors import UnreadableFile

LAB = [[96.2, 1.0, -4.4], [15.1, 0.5, -1.2], [50.1, -10.5, -40.25]]
SPECTRAL_ROWS = ("1 0.9 0.91 0.92", "2 0.02 0.03 0.04")


def told(found, severity=None):
    return [problem.what for problem in found.problems if severity in (None, problem.severity)]


@pytest.mark.parametrize(
    "first", ["CGATS.17", "CGATS.5", "IT8.7/2", "IT8.7/4", "ISO28178", "IS126422", "", "X y z"]
)
def test_the_first_word_does_not_matter(read_cgats, first):
    assert read_cgats(first=first).tables[0].lab.tolist() == LAB


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_line_ends(read_cgats, newline):
    found = read_cgats(newline=newline)
    assert found.tables[0].lab.tolist() == LAB
    assert found.tables[0].lines.tolist() == [6, 7, 8]
    assert found.problems == ()


@pytest.mark.parametrize(
    "encode",
    [
        lambda t: b"\xef\xbb\xbf" + t.encode(),
        lambda t: b"\xff\xfe" + t.encode("utf-16-le"),
        lambda t: b"\xfe\xff" + t.encode("utf-16-be"),
        lambda t: t.encode("cp1252"),
        lambda t: t.encode("utf-8"),
    ],
)
def test_character_sets(cgats, read, encode):
    rows = ('1 255 255 255 96.2 1 -4 "Weiß é"', "2 0 0 0 15 0 0 x")
    names = ("SAMPLE_ID", "RGB_R", "RGB_G", "RGB_B", "LAB_L", "LAB_A", "LAB_B", "SAMPLE_NAME")
    assert read(encode(cgats(rows=rows, names=names).decode())).tables[0].names == ("Weiß é", "x")


@pytest.mark.parametrize(
    "spelling",
    [
        "SPECTRAL_NM{}",
        "SPECTRAL_{}",
        "nm{}",
        "SPEC_{}",
        "SPECTRAL_NM_{}",
        "Spectral{}",
        "{}",
        "{}nm",
        "NM_{}",
        "R_{}nm",
    ],
)
def test_spectral_column_spellings(read_cgats, spelling):
    names = ["SampleID", *(spelling.format(nm) for nm in (400, 410, 420))]
    table = read_cgats(names=names, rows=SPECTRAL_ROWS).tables[0]
    assert table.wavelengths_nm.tolist() == [400.0, 410.0, 420.0]
    assert table.reflectance.tolist() == [[0.9, 0.91, 0.92], [0.02, 0.03, 0.04]]


@pytest.mark.parametrize(("word", "values", "shown"), [("DEC", 1, "0.9"), ("PCT", 100, "90")])
def test_pairs_of_wavelength_and_value(read_cgats, word, values, shown):
    names = ["SAMPLE_ID", *["SPECTRAL_NM", f"SPECTRAL_{word}"] * 3]
    rows = [
        f"{i} 400 {a * values} 410 {b * values} 420 {c * values}"
        for i, a, b, c in ((1, 0.9, 0.8, 0.7), (2, 0.1, 0.2, 0.3))
    ]
    assert shown in rows[0]
    found = read_cgats(names=names, rows=rows)
    np.testing.assert_allclose(found.tables[0].reflectance, [[0.9, 0.8, 0.7], [0.1, 0.2, 0.3]], rtol=1e-12)
    assert found.tables[0].wavelengths_nm.tolist() == [400, 410, 420]
    assert not any("scale" in what for what in told(found))


def test_pairs_whose_wavelengths_change_are_refused(read_cgats):
    names = ["SAMPLE_ID", *["SPECTRAL_NM", "SPECTRAL_DEC"] * 3]
    with pytest.raises(UnreadableFile, match="line 7: this row gives other wavelengths"):
        read_cgats(names=names, rows=("1 400 0.1 410 0.1 420 0.1", "2 400 0.1 411 0.1 420 0.1"))


def test_a_scale_nobody_states_is_told_by_the_values_and_said(read_cgats):
    names = ["SAMPLE_ID", "nm400", "nm410", "nm420"]
    found = read_cgats(names=names, rows=("1 90.0 91.0 92.0", "2 2 3 4"))
    np.testing.assert_allclose(found.tables[0].reflectance[0], [0.9, 0.91, 0.92])
    assert [p.severity for p in found.problems] == ["note"]
    assert "percent" in told(found)[0]


def test_a_stated_scale_against_the_values_is_a_warning(read_cgats):
    rows = ("1 90.0 91.0 92.0", "2 2 3 4")
    found = read_cgats(names=["ID", *(f"SPECTRAL_DEC{nm}" for nm in (400, 410, 420))], rows=rows)
    assert "say 0 to 1" in told(found, "warning")[0]
    found = read_cgats(names=["ID", *(f"SPECTRAL_PCT{nm}" for nm in (400, 410, 420))], rows=SPECTRAL_ROWS)
    assert "say percent" in told(found, "warning")[0]


def test_decimal_commas_and_quotes(read_cgats):
    rows = ('"1" 255 255 255 "96,2" 1,0 -4,4', "2 0 0 0 15,1 0,5 -1,2", "3 0 128 255 50,1 -10,5 -40,25")
    assert read_cgats(rows=rows).tables[0].lab.tolist() == LAB


def test_unquoted_names_with_blanks_between_tabs(cgats, read):
    data = (
        b"CGATS.17\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\nSAMPLE_ID\tSAMPLE_NAME\tLAB_L\tLAB_A\tLAB_B\t\n"
        b"END_DATA_FORMAT\nBEGIN_DATA\n1\tdeep sea blue\t50\t1\t2\t\n2\t\t60\t1\t2\nEND_DATA\n"
    )
    found = read(data)
    assert found.tables[0].names == ("deep sea blue", "")
    assert found.problems == ()


def test_quoted_values_may_hold_tabs(read_cgats):
    found = read_cgats(header=('MEASUREMENT_SOURCE\t"MeasurementCondition=M0\tFilter=no"',))
    assert str(found.tables[0].conditions.measurement) == "M0"
    assert found.tables[0].conditions.measurement.where == "MEASUREMENT_SOURCE, line 2"


def test_comments_are_dropped_wherever_they_stand(read_cgats):
    header = ("# SAMPLE_BACKING black, M2", 'SAMPLE_BACKING "white" # not "black"')
    rows = ("1 255 255 255 96.2 1.0 -4.4 # ok", "# 9 9 9 9 9 9 9", '"#2" 0 0 0 15.1 0.5 -1.2')
    found = read_cgats(header=header, rows=rows)
    assert found.tables[0].ids == ("1", "#2")
    assert str(found.tables[0].conditions.backing) == "white"
    assert not found.tables[0].conditions.measurement.known
    assert found.problems == ()


def test_several_tables_with_and_without_a_format_of_their_own(cgats, read):
    first = cgats(header=('INSTRUMENTATION "spectrophotometer, 45:0, M0"',)).decode()
    second = 'TABLE_NAME "again"\nMEASUREMENT_SOURCE "M1"\nBEGIN_DATA\n7 255 255 255 96 1 2\nEND_DATA\n'
    third = "BEGIN_DATA_FORMAT\nID XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n1 80 84 60\nEND_DATA\n"
    found = read((first + second + third).encode())
    assert [len(table) for table in found.tables] == [3, 1, 1]
    assert [str(table.conditions.measurement) for table in found.tables] == ["M0", "M1", "M0"]
    assert [str(table.conditions.geometry) for table in found.tables] == ["45:0"] * 3
    assert [table.table for table in found.tables] == ["1", "again", "3"]
    assert found.tables[2].xyz.tolist() == [[80, 84, 60]]


def test_a_table_of_device_values_beside_measurements_is_left_out_with_a_word(cgats, read):
    chart = "BEGIN_DATA_FORMAT\nID RGB_R RGB_G RGB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 0 0 0\nEND_DATA\n"
    found = read(cgats() + chart.encode())
    assert len(found.tables) == 1
    assert "list of device colours" in told(found, "warning")[0]


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("NUMBER_OF_FIELDS 9", "NUMBER_OF_FIELDS says 9, but 7"),
        ("NUMBER_OF_SETS 4", "NUMBER_OF_SETS says 4, but there are 3 rows"),
        ("NUMBER_OF_SETS 999999999999999", "no sensible number"),
        ("NUMBER_OF_SETS -1", "no sensible number"),
        ("NUMBER_OF_FIELDS many", "no sensible number"),
    ],
)
def test_counts_that_disagree_are_problems_and_nothing_more(read_cgats, header, said):
    found = read_cgats(header=(header,))
    assert len(found.tables[0]) == 3
    assert any(said in what for what in told(found, "warning"))


def test_a_header_row_in_place_of_the_format_block(read):
    data = b"CGATS.17\nBEGIN_DATA\nSampleID\tLAB_L\tLAB_A\tLAB_B\n1\t50\t1\t2\nEND_DATA\n"
    found = read(data)
    assert found.tables[0].lab.tolist() == [[50, 1, 2]]
    assert "named from line 3" in told(found)[0]
    before = read(b"CGATS.17\nSAMPLE_ID LAB_L LAB_A LAB_B\nBEGIN_DATA\n1 50 1 2\nEND_DATA\n")
    assert before.tables[0].lab.tolist() == [[50, 1, 2]]


def test_columns_nobody_names_are_refused(read):
    with pytest.raises(UnreadableFile, match="what its columns mean"):
        read(b"CGATS.17\nBEGIN_DATA\n1 50 1 2\nEND_DATA\n")


def test_a_bad_cell_names_line_patch_and_column_and_leaves_the_row_out(read_cgats):
    found = read_cgats(
        rows=("1 255 255 255 96.2 1.0 -4.4", "B7 0 0 0 15.1 oops -1.2", "3 0 128 255 50.1 -10.5 -40.25")
    )
    assert found.tables[0].ids == ("1", "3")
    (problem,) = (p for p in found.problems if p.severity == "error")
    assert problem.place() == "a.txt, line 7, patch B7"
    assert problem.what == 'column LAB_A: "oops" is not a number; the patch was left out.'


@pytest.mark.parametrize(
    ("row", "said"),
    [("2 0 0 0 15.1", "too few columns: 5 where 7"), ("2 0 0 0 1 1 1 1", "too many columns: 8")],
)
def test_rows_of_the_wrong_length_are_left_out(read_cgats, row, said):
    found = read_cgats(rows=("1 255 255 255 96.2 1.0 -4.4", row))
    assert found.tables[0].ids == ("1",)
    assert said in told(found, "error")[0]
    assert next(p.line for p in found.problems if p.severity == "error") == 7


def test_many_bad_rows_are_counted_not_listed(read_cgats):
    rows = ["1 255 255 255 96 1 2", *(f"{i} x 0 0 15 0 0" for i in range(500))]
    found = read_cgats(rows=rows)
    assert len(found.problems) < 20
    assert any("488 more rows" in what for what in told(found, "error"))


def test_a_missing_end_is_said(cgats, read):
    found = read(cgats().removesuffix(b"END_DATA\n"))
    assert len(found.tables[0]) == 3
    assert "END_DATA is missing" in told(found, "warning")[0]


def test_names_that_come_twice(read_cgats):
    names = ("ID", "LAB_L", "LAB_A", "LAB_B", "LAB_L")
    found = read_cgats(names=names, rows=("1 50 1 2 99",))
    assert found.tables[0].lab.tolist() == [[50, 1, 2]]
    assert "LAB_L comes more than once" in told(found, "warning")[0]


def test_duplicate_header_keys_are_all_read(read_cgats):
    header = ('WEIGHTING_FUNCTION "OBSERVER,2 degree"', 'WEIGHTING_FUNCTION "ILLUMINANT,D50"')
    conditions = read_cgats(header=header).tables[0].conditions
    assert (str(conditions.observer), str(conditions.illuminant)) == ("2", "D50")


def test_densities_positions_and_inks(read_cgats):
    names = (
        "SAMPLE_ID",
        "6CLR_1",
        "6CLR_2",
        "6CLR_3",
        "6CLR_4",
        "6CLR_5",
        "6CLR_6",
        "D_RED",
        "D_VIS",
        "ROW",
        "COLUMN",
    )
    table = read_cgats(names=names, rows=("1 100 0 0 0 0 50 1.5 1.2 3 4",)).tables[0]
    assert table.channels == tuple(f"ink {i}" for i in range(1, 7))
    assert table.device.tolist() == [[1, 0, 0, 0, 0, 0.5]]
    assert {name: values.tolist() for name, values in table.densities.items()} == {
        "red": [1.5],
        "visual": [1.2],
    }
    assert table.positions.tolist() == [[3, 4]]


def test_end_data_is_found_behind_many_underlines_and_at_the_last_byte(cgats, read):
    rows = [f"a_b_c_{i} 0 0 0 15 0 0" for i in range(3000)]
    assert len(read(cgats(rows=rows)).tables[0]) == 3000
    assert read(cgats().rstrip(b"\n")).problems == ()


def test_end_data_inside_a_line_is_not_the_end(cgats, read):
    rows = ("xEND_DATA 0 0 0 15 0 0", '"a END_DATA" 0 0 0 15 0 0', "END_DATAx 0 0 0 15 0 0")
    assert len(read(cgats(rows=rows)).tables[0]) == 3
    hostile = cgats(rows=["1 0 0 0 15 0 0", "aEND_DATA" * 100_000])
    start = time.perf_counter()
    assert len(read(hostile).tables[0]) == 1
    assert time.perf_counter() - start < 2.0


def test_end_data_far_behind_a_row_is_a_bad_row_and_not_the_end(read_cgats):
    found = read_cgats(rows=("1 0 0 0 15 0 0", "2 0 0 0 15 0 0" + " " * 80 + "END_DATA", "3 0 0 0 15 0 0"))
    assert found.tables[0].ids == ("1", "3")


def test_a_table_that_contradicts_itself_does_not_fall_back_on_the_header_before(cgats, read):
    second = 'FILTER "M1"\nMEASUREMENT_SOURCE "M2"\nBEGIN_DATA\n7 255 255 255 96 1 2\nEND_DATA\n'
    found = read(cgats(header=('INSTRUMENTATION "45:0, M0"',)) + second.encode())
    assert [str(table.conditions.measurement) for table in found.tables] == ["M0", "not stated"]
    assert str(found.tables[1].conditions.geometry) == "45:0"
