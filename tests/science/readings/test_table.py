"""Plain tables with a header row."""

from __future__ import annotations

import pytest

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import read_measurements


def read(text):
    return read_measurements(text.encode(), file="a.csv")


@pytest.mark.parametrize("sign", [",", ";", "\t", "   "])
def test_separators(sign):
    lines = ["id,R,G,B,L,a,b", "1,255,255,255,96.2,1.0,-4.4", "2,0,0,0,15.1,0.5,-1.2"]
    (table,) = read("\n".join(lines).replace(",", sign)).tables
    assert table.lab.tolist() == [[96.2, 1.0, -4.4], [15.1, 0.5, -1.2]]
    assert table.device.tolist() == [[1, 1, 1], [0, 0, 0]]
    assert table.lines.tolist() == [2, 3]
    assert table.format == "table"


@pytest.mark.parametrize("sign", [";", "\t"])
def test_decimal_commas(sign):
    (table,) = read(f"id{sign}380{sign}390 nm{sign}nm400\n1{sign}0,45{sign}0,5{sign}1,02\n").tables
    assert table.reflectance.tolist() == [[0.45, 0.5, 1.02]]
    assert table.wavelengths_nm.tolist() == [380, 390, 400]


def test_quoted_cells_and_names():
    (table,) = read('"Sample ID","Sample Name","L*","a*","b*"\n"1","sky, pale","96.2","1","-4"\n').tables
    assert table.names == ("sky, pale",)
    assert table.lab.tolist() == [[96.2, 1.0, -4.0]]


def test_facts_above_the_header_row():
    facts = "Readings of canvas\nInstrument: spectrophotometer, 45:0\nMeasurement condition: M1\n"
    found = read(facts + "id,L,a,b\n1,96,1,2\n").tables[0].conditions
    assert str(found.measurement) == "M1"
    assert found.measurement.where == "Measurement condition, line 3"
    assert str(found.geometry) == "45:0"


def test_a_table_without_ids_is_numbered():
    found = read("L,a,b\n50,1,2\n60,1,2\n")
    assert found.tables[0].ids == ("1", "2")
    assert "numbered in file order" in found.problems[0].what


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("The Lab values of R, G and B are good.\nHello.\n", "does not look like measurements"),
        ("name,age\nx,1\n", "does not look like measurements"),
        ("1,2,3\n4,5,6\n", "does not look like measurements"),
        ("id,R,G,B\n1,0,0,0\n", "list of device colours"),
        ("ID\tDELTA_L\tDELTA_A\tDELTA_B\n1\t1\t2\t3\n", "colour differences"),
        ("id,L,a,b\n1,x,y,z\n", 'no row could be read; the first one: column L: "x" is not a number'),
        ("id,L,a,b\n", "no rows"),
    ],
)
def test_refusals(text, said):
    with pytest.raises(UnreadableFile, match=said) as caught:
        read(text)
    assert caught.value.todo
