"""What is written is read back: every dialect the writer knows, through the reader."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.kernel.stated import Stated
from laydown.science.colour import lab_from_reflectance
from laydown.science.readings.reading import read_measurements
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cgats import write_cgats


def some_readings(rng, patches=30, **changes):
    device = np.rint(rng.random((patches, 3)) * 255) / 255
    device[0], device[1] = 1.0, 0.0
    spectra = np.round(rng.uniform(0.01, 0.99, (patches, 36)), 5)
    spectra[0] = 1.02345  # a brightener
    columns = np.arange(patches) % 28
    fields = {
        "file": "x.txt",
        "ids": tuple(f"P{number}" for number in range(patches)),
        "names": ("",) * patches,
        "lines": np.zeros(patches, dtype=np.int64),
        "channels": ("R", "G", "B"),
        "device": device,
        "wavelengths_nm": np.arange(380.0, 731.0, 10.0),
        "reflectance": spectra,
        "positions": np.stack([np.arange(patches) // 28, columns], axis=1),
        "conditions": Conditions(
            measurement=Stated("M2", "x"),
            backing=Stated("black", "x"),
            illuminant=Stated("D50", "x"),
            observer=Stated("2", "x"),
            geometry=Stated("45:0", "x"),
            instrument=Stated("bench spectrophotometer (invented)", "x"),
            finish=Stated("coated", "x"),
            age_hours=Stated(36.5, "x"),
        ),
        **changes,
    }
    return Readings(**fields)


def read_back(data):
    found = read_measurements(data, file="x.txt")
    assert len(found.tables) == 1
    assert [p for p in found.problems if p.severity != "note"] == []
    return found.tables[0]


@pytest.mark.parametrize("spectra", ["columns", "pairs"])
@pytest.mark.parametrize("percent", [False, True])
@pytest.mark.parametrize("comma", [False, True])
def test_every_dialect_reads_back(rng, spectra, percent, comma):
    wrote = some_readings(rng)
    got = read_back(write_cgats(wrote, spectra=spectra, percent=percent, decimal_comma=comma, decimals=5))
    assert got.ids == wrote.ids
    assert got.channels == wrote.channels
    np.testing.assert_allclose(got.device, wrote.device, atol=1e-12)
    np.testing.assert_array_equal(got.wavelengths_nm, wrote.wavelengths_nm)
    np.testing.assert_allclose(got.reflectance, wrote.reflectance, atol=1e-12)
    for name in (
        "measurement",
        "backing",
        "illuminant",
        "observer",
        "geometry",
        "instrument",
        "finish",
        "age_hours",
    ):
        assert getattr(got.conditions, name).value == getattr(wrote.conditions, name).value, name


def test_positions_read_back(rng):
    wrote = some_readings(rng, patches=60)
    np.testing.assert_array_equal(read_back(write_cgats(wrote)).positions, wrote.positions)


def test_ink_values_names_and_colours_read_back(rng):
    plain = some_readings(rng)
    # Lab that belongs to the spectra: the reader warns where a file contradicts itself.
    lab = np.round(lab_from_reflectance(plain.reflectance, wavelengths_nm=plain.wavelengths_nm), 4)
    wrote = some_readings(
        rng,
        channels=("C", "M", "Y", "K"),
        device=np.round(np.vstack([np.zeros(4), np.ones(4), rng.random((28, 4))]), 4),
        names=tuple(f"patch {number}" for number in range(30)),
        lab=lab,
        reflectance=plain.reflectance,
        densities={"visual": np.round(rng.uniform(0, 2, 30), 4)},
    )
    text = write_cgats(wrote)
    assert b"\t100\t100\t100\t100\t" in text  # full ink is written in percent
    got = read_back(text)
    assert got.channels == wrote.channels
    np.testing.assert_allclose(got.device, wrote.device, atol=1e-9)
    assert got.names == wrote.names
    np.testing.assert_allclose(got.lab, lab, atol=1e-9)
    np.testing.assert_allclose(got.densities["visual"], wrote.densities["visual"], atol=1e-9)


def test_what_is_not_stated_is_not_written(rng):
    text = write_cgats(some_readings(rng, conditions=Conditions(), positions=None)).decode()
    for word in ("MEASUREMENT", "BACKING", "FINISH", "AGE", "WEIGHTING", "ROW"):
        assert word not in text
    got = read_back(text.encode())
    assert not got.conditions.measurement.known
    assert not got.conditions.age_hours.known


def test_missing_numbers_stay_missing(rng):
    wrote = some_readings(rng)
    holed = wrote.reflectance.copy()
    holed[5] = np.nan
    text = write_cgats(replace(wrote, reflectance=holed)).decode()
    assert "NaN" in text
    assert "nan" not in text


def test_header_lines_are_announced_and_checked(rng):
    wrote = some_readings(rng)
    text = write_cgats(wrote, preamble=(("ORIGINATOR", "a studio"), ("ROOM_RH", "48"))).decode()
    lines = text.splitlines()
    assert lines[0] == "CGATS.17"
    assert lines[1] == 'ORIGINATOR\t"a studio"'
    assert lines[2:4] == ['KEYWORD\t"ROOM_RH"', 'ROOM_RH\t"48"']
    assert 'KEYWORD\t"SAMPLE_BACKING"' not in lines
    for bad in ('say "cheese"', "two\nlines", "a\ttab"):
        with pytest.raises(BadSetting, match="quotation"):
            write_cgats(wrote, preamble=(("ORIGINATOR", bad),))
    with pytest.raises(BadSetting, match="patch id"):
        write_cgats(replace(wrote, ids=('"',) * 30))


def test_an_empty_table_can_be_written():
    empty = Readings(file="", ids=(), names=(), lines=np.zeros(0, dtype=np.int64))
    assert b"NUMBER_OF_SETS\t0" in write_cgats(empty)
