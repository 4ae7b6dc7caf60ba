"""A chart's reference: device values with or without colours."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import read_measurements
from laydown.science.readings.target import read_target

CHART = b"""CGATS.17
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_ID RGB_R RGB_G RGB_B
END_DATA_FORMAT
NUMBER_OF_SETS 3
BEGIN_DATA
A1 255 255 255
A2 0 0 0
A3 255 0 0
END_DATA
"""
COLOURS = np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]])


def test_a_list_of_device_values_is_a_chart_and_no_measurement() -> None:
    with pytest.raises(UnreadableFile, match="not measurements"):
        read_measurements(CHART, file="chart.txt")
    target = read_target(CHART, file="chart.txt")
    assert target.ids == ("A1", "A2", "A3")
    assert target.device is not None
    np.testing.assert_array_equal(target.device, COLOURS)


def test_a_plain_table_of_device_values_is_a_chart() -> None:
    target = read_target(b"id,R,G,B\n1,255,255,255\n2,0,0,0\n3,255,0,0\n", file="chart.csv")
    assert target.device is not None
    np.testing.assert_array_equal(target.device, COLOURS)


def test_a_measurement_names_its_chart_too() -> None:
    data = b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"
    target = read_target(data, file="k1.csv")
    assert target.device is not None
    np.testing.assert_array_equal(target.device, COLOURS)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"id,L,a,b\n1,95,0,1\n2,16,0,0\n3,48,66,45\n", "names no device values"),
        (b"%PDF-1.7", "a PDF document"),
        (b"", "empty"),
    ],
)
def test_what_names_no_device_values_is_refused_with_a_reason(data: bytes, why: str) -> None:
    with pytest.raises(UnreadableFile, match=why) as refusal:
        read_target(data, file="x.txt")
    assert refusal.value.todo
    assert refusal.value.file == "x.txt"
