"""What is written as CxF3 is read back, with several readings of one sheet in one file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.kernel.stated import Stated
from laydown.science.readings.reading import read_measurements
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cxf import write_cxf


def some_readings(rng, condition="M1", patches=30, **changes):
    spectra = np.round(rng.uniform(0.01, 0.99, (patches, 36)), 5)
    spectra[0] = 1.02345  # a brightener
    fields = {
        "file": "x.cxf",
        "ids": tuple(f"P{number}" for number in range(patches)),
        "names": ("",) * patches,
        "lines": np.zeros(patches, dtype=np.int64),
        "channels": ("R", "G", "B"),
        "device": np.stack([np.arange(patches), np.arange(patches)[::-1], np.full(patches, 255)], axis=1)
        / 255,
        "device_scale": Stated(255.0, "x"),
        "wavelengths_nm": np.arange(380.0, 731.0, 10.0),
        "reflectance": spectra,
        "positions": np.stack([np.arange(patches) // 7, np.arange(patches) % 7], axis=1) + 1,
        "conditions": Conditions(
            measurement=Stated(condition, "x"),
            backing=Stated("black", "x"),
            illuminant=Stated("D50", "x"),
            observer=Stated("2", "x"),
            geometry=Stated("45:0", "x"),
            instrument=Stated("bench spectrophotometer <2> & more", "x"),
            date=Stated("2026-01-13T10:17:00", "x"),
            age_hours=Stated(36.5, "x"),
        ),
        **changes,
    }
    return Readings(**fields)


def read_back(data):
    found = read_measurements(data, file="x.cxf")
    assert [p for p in found.problems if p.severity != "note"] == []
    return found.tables


def test_conditions_of_one_sheet_share_a_file_and_come_apart_again(rng):
    wrote = [some_readings(rng, condition) for condition in ("M0", "M1", "M2")]
    tables = read_back(write_cxf(wrote, creator="a studio", description="sheet 1"))
    assert [table.table for table in tables] == ["M0", "M1", "M2"]
    for table, each in zip(tables, wrote, strict=True):
        assert table.format == "CxF3"
        assert table.ids == each.ids
        assert table.channels == each.channels
        np.testing.assert_allclose(table.device, each.device, atol=1e-9)
        np.testing.assert_array_equal(table.wavelengths_nm, each.wavelengths_nm)
        np.testing.assert_allclose(table.reflectance, each.reflectance, atol=1e-12)
        np.testing.assert_array_equal(table.positions, each.positions)
        for name in (
            "measurement", "backing", "illuminant", "observer", "geometry", "instrument", "date", "age_hours",
        ):  # fmt: skip
            assert getattr(table.conditions, name).value == getattr(each.conditions, name).value, name


def test_every_device_colour_stands_once_as_a_target(rng):
    text = write_cxf([some_readings(rng, "M1"), some_readings(rng, "M2")]).decode()
    assert text.count('ObjectType="Target"') == text.count("<cc:ColorRGB") == 30
    assert text.count("<cc:ReflectanceSpectrum") == 60
    assert "&lt;2&gt; &amp; more" in text


@pytest.mark.parametrize("condition", ["M0", "M1", "M2", "M3"])
def test_each_condition_is_told_apart(rng, condition):
    (table,) = read_back(write_cxf([some_readings(rng, condition)]))
    assert table.conditions.measurement.value == condition


def test_ink_values_and_names_read_back(rng):
    inks = np.round(np.vstack([np.zeros(4), np.ones(4), rng.random((28, 4))]), 4)
    names = tuple(f"patch {number}" for number in range(30))
    (table,) = read_back(
        write_cxf([some_readings(rng, channels=("C", "M", "Y", "K"), device=inks, names=names)])
    )
    np.testing.assert_allclose(table.device, inks, atol=1e-9)
    assert table.channels == ("C", "M", "Y", "K")
    assert table.names == names
    assert table.ids == tuple(f"P{number}" for number in range(30))


def test_what_is_not_stated_is_not_written(rng):
    data = write_cxf([some_readings(rng, conditions=Conditions(), positions=None, device=None, channels=())])
    for word in (b"Backing", b"Observer", b"Illumination", b"Geometry", b"Comment", b"Row", b"Target"):
        assert word not in data
    (table,) = read_back(data)
    assert table.device is None
    assert not table.conditions.measurement.known


def test_a_patch_without_a_reading_is_left_out(rng):
    wrote = some_readings(rng)
    holed = wrote.reflectance.copy()
    holed[5, 3] = np.nan
    (table,) = read_back(write_cxf([replace(wrote, reflectance=holed)]))
    kept = np.arange(30) != 5
    assert table.ids == tuple(np.array(wrote.ids)[kept])
    np.testing.assert_allclose(table.device, wrote.device[kept], atol=1e-9)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"ids": tuple("ABCDEFGHIJKLMNOPQRSTUVWXYZabcd")}, "not of the same patches"),
        ({"device": None}, "not of the same patches"),
        ({"reflectance": None}, "no spectra"),
        ({"wavelengths_nm": np.arange(36.0) ** 2 + 380}, "no spectra at evenly"),
        ({"conditions": Conditions(measurement=Stated("M1", "x"))}, "same measuring condition"),
        ({"conditions": Conditions(geometry=Stated("d:8", "x"))}, "geometry d:8"),
    ],
)
def test_what_does_not_go_together_is_refused(rng, changes, words):
    first = some_readings(rng)
    with pytest.raises(BadSetting, match=words):
        write_cxf([first, replace(some_readings(rng, "M2"), **changes)])


def test_nothing_and_unprintable_text_are_refused(rng):
    with pytest.raises(BadSetting, match="no readings"):
        write_cxf([])
    with pytest.raises(BadSetting, match="control characters"):
        write_cxf([some_readings(rng)], creator="a\0b")
    with pytest.raises(BadSetting, match="C, M are not"):
        write_cxf([some_readings(rng, channels=("C", "M"), device=np.zeros((30, 2)))])
