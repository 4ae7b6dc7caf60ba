"""Checks on rows and axes: what is left out, what is only said."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import UnreadableFile

NAMES = ("SAMPLE_ID", "nm400", "nm410", "nm420")


def told(found, severity):
    return [(p.patch, p.what) for p in found.problems if p.severity == severity]


def test_a_row_of_zeros_is_left_out(read_cgats):
    found = read_cgats(names=NAMES, rows=("1 0.9 0.9 0.9", "2 0 0.000 0", "3 0 0 0.1"))
    assert found.tables[0].ids == ("1", "3")
    assert [patch for patch, _ in told(found, "error")] == ["2"]
    assert found.tables[0].reflectance.shape == (2, 3)
    assert found.tables[0].lines.tolist() == [6, 8]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (("1 0.9 0.9 0.9", "2 -0.5 0.1 0.1"), "below -0.02"),
        (("1 0.9 0.9 0.9", "1 0.5 0.1 0.1", "2 0.5 0.1 0.1"), "id stands for an earlier patch"),
    ],
)
def test_odd_rows_are_kept_and_named(read_cgats, rows, said):
    found = read_cgats(names=NAMES, rows=rows)
    assert len(found.tables[0]) == len(rows)
    assert said in told(found, "warning")[0][1]


def test_a_table_of_zeros_is_refused(read_cgats):
    with pytest.raises(UnreadableFile, match="every reading in the table is zero"):
        read_cgats(names=NAMES, rows=("1 0 0 0", "2 0 0 0"))


def test_noise_around_zero_is_not_odd(read_cgats):
    assert told(read_cgats(names=NAMES, rows=("1 0.9 0.9 0.9", "2 -0.001 0.001 0.1")), "warning") == []


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("1 0 0 0 120 0 0", "L* is outside"),
        ("1 0 0 0 -7 0 0", "L* is outside"),
        ("1 0 0 0 50 300 0", "beyond 200"),
    ],
)
def test_impossible_lab(read_cgats, row, said):
    found = read_cgats(rows=(row, "2 255 255 255 96 0 0"))
    assert any(said in what and patch == "1" for patch, what in told(found, "warning"))


def test_device_values_beyond_full_are_named(read_cgats):
    names = ("ID", "CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "LAB_L", "LAB_A", "LAB_B")
    found = read_cgats(names=names, rows=("1 100 0 0 -5 50 0 0",))
    assert told(found, "warning")[-1] == ("1", "a device value is below zero or above full.")


def test_axes_out_of_order_are_sorted_and_uneven_ones_named(read_cgats):
    found = read_cgats(names=("ID", "nm420", "nm410", "nm400"), rows=("1 0.3 0.2 0.1",))
    assert found.tables[0].wavelengths_nm.tolist() == [400, 410, 420]
    assert found.tables[0].reflectance.tolist() == [[0.1, 0.2, 0.3]]
    assert "rising order" in told(found, "warning")[0][1]
    found = read_cgats(names=("ID", "nm400", "nm410", "nm430"), rows=("1 0.3 0.2 0.1",))
    assert "410 nm is followed by 430 nm" in told(found, "warning")[0][1]


def test_the_same_id_everywhere_is_said_once(read_cgats):
    found = read_cgats(names=NAMES, rows=["-1 0.9 0.9 0.9"] * 50)
    assert len(told(found, "warning")) == 1


def test_xyz_written_with_white_one(read_cgats):
    names = ("ID", "XYZ_X", "XYZ_Y", "XYZ_Z", "LAB_L", "LAB_A", "LAB_B")
    found = read_cgats(names=names, rows=("1 0.848 0.88 0.72 95.15 0 0", "2 0.01 0.01 0.01 9 0 0"))
    np.testing.assert_allclose(found.tables[0].xyz[0], [84.8, 88, 72])
    assert "white = 1" in told(found, "warning")[0][1]


# Reflectances 400-700 nm of an invented orange patch; Lab below from the colour functions, not from a source.
ORANGE = [0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.06, 0.07, 0.08, 0.1, 0.12, 0.15, 0.2, 0.28, 0.38, 0.48]
ORANGE += [0.56, 0.62, 0.66, 0.69, 0.71, 0.72, 0.73, 0.74, 0.74, 0.75, 0.75, 0.76, 0.76, 0.76, 0.77]


@pytest.mark.parametrize(
    ("illuminant", "observer", "said"),
    [("D50", "2", ""), ("D50", "10", "D50 and 10"), ("D65", "10", "D65 and 10")],
)
def test_lab_that_belongs_to_another_observer_is_recognised(read_cgats, illuminant, observer, said):
    from laydown.science.colour import lab_from_reflectance

    wavelengths = np.arange(400.0, 701.0, 10.0)
    spectra = np.array(ORANGE) * np.linspace(0.2, 1.1, 12)[:, None]
    lab = lab_from_reflectance(spectra, wavelengths_nm=wavelengths, illuminant=illuminant, observer=observer)
    names = ["ID", "LAB_L", "LAB_A", "LAB_B", *(f"nm{nm:g}" for nm in wavelengths)]
    rows = [" ".join([str(i), *(f"{v:.4f}" for v in (*a, *b))]) for i, (a, b) in enumerate(zip(lab, spectra))]
    found = read_cgats(names=names, rows=rows)
    warnings = [what for _, what in told(found, "warning")]
    if said:
        assert f"they fit {said} degrees better" in warnings[0]
    else:
        assert warnings == []


def test_lab_that_fits_no_observer_is_only_said_to_differ(read_cgats):
    wavelengths = range(400, 710, 10)
    names = ["ID", "LAB_L", "LAB_A", "LAB_B", *(f"nm{nm}" for nm in wavelengths)]
    rows = [f"{i} 50 80 -90 " + " ".join(["0.5"] * 31) for i in range(3)]
    (warning,) = (what for _, what in told(read_cgats(names=names, rows=rows), "warning"))
    assert "differ from the spectra" in warning
    assert "better" not in warning
