"""What full was in the device values, and when that is not certain."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.science.readings.columns import read_columns
from laydown.science.readings.device_scale import find_device_scale

RGB, CMYK = ("R", "G", "B"), ("C", "M", "Y", "K")


@pytest.mark.parametrize(
    ("channels", "rows", "scale", "certain"),
    [
        (RGB, [[255, 0, 10]], 255, True),
        (RGB, [[250, 0, 10]], 255, True),
        (RGB, [[1, 0, 0.5]], 1, True),
        (RGB, [[0.98, 0, 0.5]], 1, False),
        (RGB, [[100, 100, 100], [0, 0, 0]], 100, True),
        (RGB, [[100, 0, 50]], 100, False),
        (RGB, [[80, 0, 0]], 255, False),
        (RGB, [[0, 0, 0]], 255, False),
        (RGB, [[65535, 0, 0]], 65535, True),
        (RGB, [[1023, 0, 0]], 1023, True),
        (RGB, [[1000, 0, 0]], 1023, False),
        (CMYK, [[100, 0, 0, 0]], 100, True),
        (CMYK, [[70, 0, 0, 0]], 100, True),
        (CMYK, [[1, 0, 0, 0]], 1, True),
        (CMYK, [[0.5, 0, 0, 0]], 1, False),
        (CMYK, [[255, 0, 0, 0]], 255, True),
        (CMYK, [[120, 0, 0, 0]], 255, False),
        (CMYK, [[0, 0, 0, 0]], 100, True),
    ],
)
def test_scale_and_doubt(channels, rows, scale, certain):
    found, problems = find_device_scale(np.array(rows, dtype=float), channels=channels, file="a.txt")
    assert found.value == scale
    assert f"the highest is {np.max(rows):g}" in found.where
    assert [p.severity for p in problems] == ([] if certain else ["warning"])
    assert ("not certain" in found.where) is not certain


@pytest.mark.parametrize(
    ("names", "device", "lab", "xyz"),
    [
        (["id", "R", "G", "B", "L", "a", "b"], (1, 2, 3), (4, 5, 6), ()),
        (["id", "C", "M", "Y", "K", "X", "Y", "Z"], (1, 2, 3, 4), (), (5, 6, 7)),
        (["Sample_Id", "L*", "a*", "b*"], (), (1, 2, 3), ()),
        (["LAB_B", "LAB_A", "LAB_L"], (), (2, 1, 0), ()),
        (["Sample ID", "L* (D50)", "a* (D50)", "b* (D50)"], (), (1, 2, 3), ()),
        (["STDEV_L", "STDEV_A", "STDEV_B", "XYY_X", "XYY_Y", "XYY_CAPY"], (), (), ()),
        (["cmyk_c", "cmyk_m", "cmyk_y", "cmyk_k"], (0, 1, 2, 3), (), ()),
    ],
)
def test_column_groups(names, device, lab, xyz):
    found = read_columns(names)
    assert (found.device, found.lab, found.xyz) == (device, lab, xyz)


def test_years_are_no_wavelengths():
    assert read_columns(["paper", "2007", "2008", "2009"]).bands == ()


def test_delta_columns_are_no_lab():
    found = read_columns(["ID", "DELTA_L", "DELTA_A", "DELTA_B"])
    assert not found.has_colour
    assert len(found.differences) == 3
