"""Every measured file kept beside the checkout is read, or refused in a sentence a printmaker understands."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import read_measurements

pytestmark = pytest.mark.shared_data

REFUSALS = {
    "README.md": "does not look like measurements",
    "LICENSE.txt": "does not look like measurements",
    ".dat": "does not look like measurements",
    "pistonrings.txt": "does not look like measurements",
    ".csv": "does not look like measurements",
    "other": "does not look like measurements",
    "empty": "the file is empty",
    ".xlsx": "spreadsheet or zip archive",
    ".tif": "TIFF image",
    "_laminate.txt": "table of colour differences",
    ".tsv": "list of device colours",
}


def expected_refusal(name: str) -> str | None:
    return next((said for end, said in REFUSALS.items() if name.endswith(end)), None)


def test_every_file_reads_or_is_refused_in_words(shared_data):
    read = refused = 0
    for path in sorted(shared_data.rglob("*")):
        if not path.is_file():
            continue
        said = expected_refusal(path.name)
        if said is not None:
            with pytest.raises(UnreadableFile, match=said) as caught:
                read_measurements(path.read_bytes(), file=path.name)
            assert caught.value.todo
            refused += 1
            continue
        found = read_measurements(path.read_bytes(), file=path.name)
        assert all(len(table) for table in found.tables)
        assert [p for p in found.problems if p.severity == "error"] == [], path.name
        read += 1
    assert (read, refused) == (67, 30)


# Sizes: README of the measured data. Conditions: read in the files' headers.
@pytest.mark.parametrize(
    ("name", "n", "scale", "measurement", "unique"),
    [
        ("inkjet-matte/chart-2033-M0.txt", 2033, 255, "M0", 2027),
        ("inkjet-matte/chart-2033-M2.txt", 2033, 255, "M2", 2027),
        ("inkjet-matte/chart-3190-M0.txt", 3190, 255, "M0", 3160),
        ("inkjet-matte/chart-3190-M2.txt", 3190, 255, "M2", 3160),
        ("standard-conditions/FOGRA39L.txt", 1617, 100, None, 1588),
        ("standard-conditions/TR005.txt", 1617, 100, None, 1588),
        ("standard-conditions/ISO15339-CRPC1.txt", 1617, 100, "M1", 1588),
    ],
)
def test_published_sizes_and_conditions(shared_data, name, n, scale, measurement, unique):
    (table,) = read_measurements((shared_data / name).read_bytes(), file=name).tables
    assert len(table) == n
    assert table.device_scale.value == scale
    assert len(np.unique(table.device, axis=0)) == unique
    assert table.conditions.measurement.value == measurement


def test_first_row_of_the_inkjet_chart_as_printed_in_the_file(shared_data):
    data = (shared_data / "inkjet-matte" / "chart-2033-M0.txt").read_bytes()
    (table,) = read_measurements(data, file="chart").tables
    assert (table.device[0] * 255).round(9).tolist() == [23, 212, 255]
    assert table.reflectance[0, :4].tolist() == [0.4575, 0.4876, 0.5069, 0.5333]
    assert table.wavelengths_nm.tolist() == list(range(380, 740, 10))
    conditions = table.conditions
    assert (conditions.age_hours.value, str(conditions.geometry)) == (23.0, "45:0")
    assert str(conditions.instrument) == "strip-reading spectrophotometer"
    assert conditions.measurement.where == "MEASUREMENT_SOURCE, line 6"
    assert not conditions.backing.known
    assert not conditions.finish.known


def test_decimal_commas_with_pairs(shared_data):
    data = (shared_data / "dialects" / "decimal-comma-ramp.txt").read_bytes()
    (table,) = read_measurements(data, file="ramp").tables
    assert table.lab[0].tolist() == [85.46, 1.38, 5.97]
    assert table.reflectance[0, :2].tolist() == [0.180005, 0.233768]
    assert table.wavelengths_nm.tolist() == list(range(380, 740, 10))


def test_the_profile_holds_what_its_text_twin_says(shared_data):
    folder = shared_data / "offset-conditions"
    stem = "PSO_Coated_v2_300_Matte_laminate_eci"
    (inside,) = read_measurements((folder / f"{stem}.icc").read_bytes(), file="p").tables
    (beside,) = read_measurements((folder / f"{stem}.targ.txt").read_bytes(), file="t").tables
    assert inside.ids == beside.ids
    assert (inside.lab == beside.lab).all()
    assert inside.conditions.backing.value == "white"


def test_targets_have_densities_and_their_backing(shared_data):
    data = (shared_data / "reflection-targets" / "R050301.it8").read_bytes()
    (table,) = read_measurements(data, file="t").tables
    assert len(table) == 288
    assert table.densities["visual"][0] == 1.50
    assert table.conditions.backing.value == "black"
    assert (str(table.conditions.illuminant), str(table.conditions.observer)) == ("D50", "2")
