"""Scatter of sheets and readings against what two real matte prints showed."""

from __future__ import annotations

import time

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.colour import delta_e_2000, lab_from_reflectance
from laydown.science.prints import (
    ANCHORS,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Misreads,
    Noise,
    SheetState,
    demonstration_chart,
    misread,
    print_sheet,
    read_sheet,
    reflectance,
)

NOISE = Noise()
#: 20 device colours over the cube, as many as the two real charts have in common.
TWENTY = np.stack(np.meshgrid([0, 0.5, 1.0], [0, 0.5, 1.0], [0, 0.5, 1.0]), axis=-1).reshape(-1, 3)[
    [0, 1, 2, 3, 5, 6, 7, 8, 9, 11, 13, 15, 17, 18, 19, 21, 22, 23, 25, 26]
]


def lab_of_sheet(device, rng, *, medium=MATTE_COTTON, noise=NOISE, sheet=None):
    sheet = sheet or print_sheet(len(device), noise=noise, rng=rng)
    spectra = read_sheet(device, medium=medium, sheet_state=sheet, noise=noise, rng=rng)
    return lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)


def scatter_of(value, rng, *, medium=MATTE_COTTON, times=40):
    """Mean dE00 of 16 like patches of one sheet to their mean, averaged over sheets."""
    found = []
    for _ in range(times):
        lab = lab_of_sheet(np.full((16, 3), value), rng, medium=medium)
        found.append(delta_e_2000(lab, np.broadcast_to(lab.mean(axis=0), lab.shape)).mean())
    return float(np.mean(found))


def test_two_sheets_differ_as_two_real_matte_prints_do(rng):
    """Two real prints of one matte paper: 20 colours differ by dE00 0.256 on average, at most 0.479."""
    mean, most = [], []
    for _ in range(80):
        difference = delta_e_2000(lab_of_sheet(TWENTY, rng), lab_of_sheet(TWENTY, rng))
        mean.append(difference.mean())
        most.append(difference.max())
    assert 0.20 <= np.mean(mean) <= 0.35
    assert np.quantile(mean, 0.05) < 0.256 < np.quantile(mean, 0.95)
    assert np.quantile(most, 0.05) < 0.479 < np.quantile(most, 0.95)


def test_patches_scatter_as_on_a_real_matte_sheet(rng):
    """One real matte chart: 16 whites scatter by dE00 0.098 on average, 16 blacks by 0.184."""
    assert scatter_of(1.0, rng) == pytest.approx(0.098, abs=0.03)
    assert scatter_of(0.0, rng) == pytest.approx(0.184, abs=0.05)


def test_canvas_scatters_more(rng):
    assert scatter_of(1.0, rng, medium=CANVAS) > 1.5 * scatter_of(1.0, rng)


def test_reading_again_scatters_little(rng):
    """Reading-to-reading about 0.05-0.1 dE00 (common practice, no source)."""
    found = []
    for _ in range(40):
        sheet = print_sheet(20, noise=NOISE, rng=rng)
        first, second = (lab_of_sheet(TWENTY, rng, sheet=sheet) for _ in range(2))
        found.append(delta_e_2000(first, second).mean())
    assert 0.04 <= np.mean(found) <= 0.11


def test_conditions_of_one_sheet_share_its_scatter(rng):
    """The brightener apart, M1 and M2 of one sheet agree far better than two sheets do."""
    chart = demonstration_chart(rng=np.random.default_rng(7))
    sheets = [print_sheet(len(chart), noise=NOISE, rng=rng) for _ in range(2)]
    read = {
        (which, condition): read_sheet(
            chart.device_rgb,
            medium=MATTE_COTTON,
            sheet_state=sheet,
            noise=NOISE,
            rng=rng,
            condition=condition,
        )
        for which, sheet in enumerate(sheets)
        for condition in ("M1", "M2")
    }

    def apart(a, b):
        return np.abs(np.log(read[a] / read[b])).mean()

    assert apart((0, "M1"), (0, "M2")) < 0.6 * apart((0, "M1"), (1, "M1"))


def test_no_noise_is_the_truth(rng):
    silent = NOISE.times(0.0)
    sheet = print_sheet(20, noise=silent, rng=rng)
    got = read_sheet(TWENTY, medium=BRIGHT_MATTE, sheet_state=sheet, noise=silent, rng=rng)
    np.testing.assert_allclose(got, reflectance(TWENTY, medium=BRIGHT_MATTE), rtol=1e-12)


def test_drift_runs_from_left_to_right(rng):
    device = np.full((3, 3), 0.5)
    sheet = SheetState(drift=(0.01, 0.01, 0.01, 0.01))
    silent = NOISE.times(0.0)
    got = read_sheet(
        device,
        medium=MATTE_COTTON,
        sheet_state=sheet,
        noise=silent,
        rng=rng,
        across=np.array([-1.0, 0.0, 1.0]),
    ).mean(axis=1)
    assert got[0] > got[1] > got[2]
    assert got[1] == pytest.approx(reflectance(device, medium=MATTE_COTTON)[1].mean())


def test_same_seed_same_sheet_and_inputs_untouched():
    device = TWENTY.copy()
    runs = []
    for _ in range(2):
        rng = np.random.default_rng(7)
        sheet = print_sheet(20, noise=NOISE, rng=rng)
        runs.append(read_sheet(device, medium=CANVAS, sheet_state=sheet, noise=NOISE, rng=rng))
    np.testing.assert_array_equal(runs[0], runs[1])
    np.testing.assert_array_equal(device, TWENTY)


def test_a_sheet_is_read_with_its_own_chart(rng):
    sheet = print_sheet(5, noise=NOISE, rng=rng)
    with pytest.raises(BadSetting, match="5 patches"):
        read_sheet(TWENTY, medium=CANVAS, sheet_state=sheet, noise=NOISE, rng=rng)


def test_misreads_change_what_they_name_and_nothing_else(rng):
    truth = rng.random((12, 4))
    rows = np.repeat(np.arange(4), 3)
    got = misread(truth, misreads=Misreads(swapped=((1, 7),), wrong=(4,)), rows=rows)
    np.testing.assert_array_equal(got[1], truth[7])
    np.testing.assert_array_equal(got[7], truth[1])
    np.testing.assert_allclose(got[4], (truth[4] + truth[5]) / 2)
    rest = [0, 2, 3, 5, 6, 8, 9, 10, 11]
    np.testing.assert_array_equal(got[rest], truth[rest])
    early = misread(truth, misreads=Misreads(skipped_row=1), rows=rows)
    np.testing.assert_array_equal(early[:3], truth[:3])
    np.testing.assert_array_equal(early[3:9], truth[6:12])
    np.testing.assert_array_equal(early[9:], truth[9:])
    with pytest.raises(BadSetting, match="row 9"):
        misread(truth, misreads=Misreads(skipped_row=9), rows=rows)


def test_a_big_chart_is_read_fast(rng):
    """2033 patches under one condition in well under the 20 ms a planning study can afford."""
    device = rng.random((2033, 3))
    sheet = print_sheet(2033, noise=NOISE, rng=rng)
    took = []
    for _ in range(7):
        start = time.perf_counter()
        read_sheet(device, medium=BRIGHT_MATTE, sheet_state=sheet, noise=NOISE, rng=rng)
        took.append(time.perf_counter() - start)
    assert min(took) < 0.020


def test_chart_holds_what_it_promises():
    chart = demonstration_chart(rng=np.random.default_rng(7))
    levels = np.rint(chart.device_rgb * 255).astype(int)
    np.testing.assert_allclose(levels / 255.0, chart.device_rgb, atol=1e-15)
    assert 650 <= len(chart) <= 1000
    assert len(set(chart.ids)) == len(chart)
    assert chart.ids[0] == "A1"
    assert chart.ids[27] == "A2"
    colours, counts = np.unique(levels, axis=0, return_counts=True)
    often = {
        tuple(int(v) for v in colour): int(n) for colour, n in zip(colours, counts, strict=True) if n > 1
    }
    assert often == {
        colour: 24 if name in ("white", "mid grey", "black") else 8 for name, colour in ANCHORS.items()
    }
    neutral = {int(c[0]) for c in colours if c[0] == c[1] == c[2]}
    assert {0, 5, 10, 15, 20, 25, 30, 225, 230, 235, 240, 245, 250, 255} <= neutral
    assert len(neutral) >= 33
    on_a_face = ((colours == 0) | (colours == 255)).any(axis=1)
    assert on_a_face.sum() >= 9**3 - 7**3
    assert chart.across.min() == -1.0
    assert chart.across.max() == 1.0


def test_repeats_are_spread_over_the_page():
    chart = demonstration_chart(rng=np.random.default_rng(7))
    place = np.flatnonzero((chart.device_rgb == 1.0).all(axis=1)) / len(chart)
    assert np.histogram(place, bins=6, range=(0, 1))[0].min() >= 3
    assert demonstration_chart(rng=np.random.default_rng(7)).ids == chart.ids
    other = demonstration_chart(rng=np.random.default_rng(1))
    assert not np.array_equal(other.device_rgb, chart.device_rgb)
    np.testing.assert_array_equal(np.sort(other.device_rgb, axis=0), np.sort(chart.device_rgb, axis=0))
