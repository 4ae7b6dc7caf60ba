"""One sheet against another of the same chart: planted shifts, and a correction applied once too often."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import NotEnoughData
from laydown.science.colour import lab_from_reflectance
from laydown.science.faults import measured_evidence, rank, sheet_shift
from laydown.science.prints import MATTE_COTTON, WAVELENGTHS_NM, demonstration_chart, reflectance


@pytest.fixture(scope="module")
def printed():
    device = demonstration_chart(rng=np.random.default_rng(20260131)).device_rgb

    def lab_of(rgb):
        return lab_from_reflectance(reflectance(rgb, medium=MATTE_COTTON), wavelengths_nm=WAVELENGTHS_NM)

    return device, lab_of


def test_a_sheet_does_not_differ_from_itself_in_any_order(printed, rng):
    device, lab_of = printed
    lab = lab_of(device)
    order = rng.permutation(len(device))
    shift = sheet_shift(device[order], lab[order], reference_device=device, reference_lab=lab)
    assert shift.middle_l == pytest.approx(0.0, abs=1e-9)
    assert shift.chroma_ratio == pytest.approx(1.0, abs=1e-9)
    assert (shift.grey_a, shift.grey_b) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_planted_shifts_are_found(printed):
    device, lab_of = printed
    lab = lab_of(device)
    moved = lab * np.array([1.0, 0.8, 0.8]) + np.array([-4.0, 2.0, -1.0])
    shift = sheet_shift(device, moved, reference_device=device, reference_lab=lab)
    assert shift.middle_l == pytest.approx(-4.0, abs=1e-9)
    grey = np.hypot(lab[:, 1], lab[:, 2]) < 6.0
    assert shift.grey_a == pytest.approx(2.0 - 0.2 * shift_mean(device, lab, grey, 1), abs=1e-9)
    assert 0.75 < shift.chroma_ratio < 0.9


def shift_mean(device, lab, chosen, channel):
    """Mean over distinct device colours, as repeats count once."""
    _, first = np.unique(np.round(device * 255).astype(int)[chosen], axis=0, return_index=True)
    return lab[chosen][first, channel].mean()


def test_missing_readings_and_rounding_of_levels_do_no_harm(printed):
    device, lab_of = printed
    lab = lab_of(device)
    holes = lab.copy()
    holes[::5] = np.nan
    rounded = np.round(device, 4)
    shift = sheet_shift(rounded, holes, reference_device=device, reference_lab=lab)
    assert shift.middle_l == pytest.approx(0.0, abs=1e-9)
    assert shift.patches > 100


def test_sheets_without_a_common_chart_are_refused():
    device = np.linspace(0, 1, 30).reshape(10, 3)
    lab = np.full((10, 3), 50.0)
    with pytest.raises(NotEnoughData, match="share only 0 device colours"):
        sheet_shift(device, lab, reference_device=1.0 - device + 0.013, reference_lab=lab)


def test_greys_only_say_nothing_about_chroma():
    levels = np.linspace(0, 1, 12)[:, None].repeat(3, axis=1)
    lab = np.stack([10 + 85 * levels[:, 0], np.zeros(12), np.zeros(12)], axis=1)
    shift = sheet_shift(levels, lab, reference_device=levels, reference_lab=lab)
    assert np.isnan(shift.chroma_ratio)
    assert [piece.id for piece in measured_evidence(shift=shift)] == ["shift-none"]


def test_a_correction_applied_once_too_often_is_told_from_a_good_sheet(printed, faults):
    """A correction for a pale, greenish printer, applied to colours that already carry it (print model)."""
    device, lab_of = printed
    good = lab_of(device)
    twice = lab_of(device ** np.array([1.2, 1.5, 1.35]))
    shift = sheet_shift(device, twice, reference_device=device, reference_lab=good)
    (piece,) = measured_evidence(shift=shift)
    assert piece.id == "shift-darker"
    assert rank(faults, {}, evidence=[piece]).causes[0].cause.id == "colour-managed-twice"
