"""Reversal, lost steps, grey balance and darkest colour, against planted faults."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData
from laydown.science.colour import lab_from_reflectance
from laydown.science.prints import MATTE_COTTON, WAVELENGTHS_NM, demonstration_chart, reflectance
from laydown.science.tone import darkest, grey_balance, lost_steps, neutral_ramp, tone_reversal


def greys(*lightness):
    return np.stack(
        [np.array(lightness, dtype=float), np.zeros(len(lightness)), np.zeros(len(lightness))], axis=1
    )


def test_a_monotone_ramp_has_no_reversal():
    found = tone_reversal(greys(96, 70, 40, 16))
    assert float(found.rise) == 0.0
    assert int(found.step) == -1
    assert not bool(found.credible)


def test_the_largest_rise_and_its_step():
    found = tone_reversal(greys(96, 70, 70.5, 40, 42, 16), spread=np.full(6, 0.3))
    assert float(found.rise) == pytest.approx(2.0)
    assert int(found.step) == 4
    assert bool(found.credible)
    assert not bool(tone_reversal(greys(96, 40, 42, 16), spread=np.full(4, 1.0)).credible)


def test_missing_steps_are_passed_over():
    found = tone_reversal(greys(96, 40, np.nan, 43, 16))
    assert float(found.rise) == pytest.approx(3.0)
    assert int(found.step) == 3
    assert np.isnan(tone_reversal(greys(96)).rise)
    assert np.isnan(tone_reversal(greys(np.nan, np.nan, 3)).rise)


ramps = arrays(np.float64, (3, 2, 7, 3), elements=st.floats(5.0, 95.0))


@settings(deadline=None, max_examples=25)
@given(ramps)
def test_stacked_ramps_equal_single_ones(stack):
    reversal, lost, balance = tone_reversal(stack), lost_steps(stack), grey_balance(stack)
    black = darkest(stack, np.linspace(1, 0, 21).reshape(7, 3))
    for i in range(3):
        for j in range(2):
            one = stack[i, j]
            assert reversal.rise[i, j] == tone_reversal(one).rise
            assert reversal.step[i, j] == tone_reversal(one).step
            np.testing.assert_array_equal(lost.lost[i, j], lost_steps(one).lost)
            assert lost.shadow[i, j] == lost_steps(one).shadow
            np.testing.assert_allclose(balance.distance[i, j], grey_balance(one).distance, atol=1e-9)
            np.testing.assert_allclose(balance.p95[i, j], grey_balance(one).p95, atol=1e-9)
            alone = darkest(one, np.linspace(1, 0, 21).reshape(7, 3))
            assert black.index[i, j] == alone.index
            assert black.hook[i, j] == alone.hook


@settings(deadline=None, max_examples=40)
@given(ramps, st.floats(-4.0, 4.0))
def test_reversal_does_not_depend_on_the_level(stack, shift):
    np.testing.assert_allclose(tone_reversal(stack + shift).rise, tone_reversal(stack).rise, atol=1e-9)


def test_lost_steps_by_half():
    lab = greys(96, 95.9, 80, 60, 40, 20, 19.95, 19.9, 18)
    found = lost_steps(lab)
    assert found.lost.tolist() == [True, False, False, False, False, True, True, False, False]
    assert (int(found.highlight), int(found.shadow)) == (1, 2)


def test_a_step_that_is_not_darker_is_lost_however_far_it_is():
    found = lost_steps(greys(96, 60, 20, 25, 16))
    assert found.lost.tolist() == [False, False, True, False, False]
    assert int(found.shadow) == 1


def test_the_threshold_is_the_callers():
    lab = greys(96, 90, 50, 20, 19)
    assert int(lost_steps(lab).shadow) == 0
    strict = Constant(1.5, "dE00", "this test", "computed")
    assert int(lost_steps(lab, threshold=strict).shadow) == 1


def test_unknown_steps_are_not_lost_and_short_ramps_have_none():
    found = lost_steps(greys(96, np.nan, 50, 20))
    assert not found.lost.any()
    assert lost_steps(greys(96)).lost.tolist() == [False]
    assert not lost_steps(np.full((4, 3), np.nan)).lost.any()


def test_greys_on_the_line_have_no_distance():
    paper, black = np.array([96.0, 1.0, -6.0]), np.array([16.0, 0.0, 2.0])
    t = np.linspace(0, 1, 9)[:, None]
    found = grey_balance(paper + t * (black - paper))
    np.testing.assert_allclose(found.distance, 0.0, atol=1e-12)
    assert float(found.largest) == pytest.approx(0.0, abs=1e-12)


def test_a_planted_cast_is_found():
    lab = greys(96, 76, 56, 36, 16)
    lab[:, 1] += [0, 3, 0, 0, 0]
    lab[:, 2] += [0, 4, 1, 0, 0]
    found = grey_balance(lab)
    np.testing.assert_allclose(found.distance, [0, 5, 1, 0, 0], atol=1e-12)
    assert float(found.mean) == pytest.approx(2.0)
    assert float(found.largest) == pytest.approx(5.0)
    assert float(found.p95) == pytest.approx(np.percentile([5, 1, 0], 95))


@settings(deadline=None, max_examples=40)
@given(arrays(np.float64, (8, 3), elements=st.floats(-50.0, 50.0)), st.floats(-20, 20), st.floats(-20, 20))
def test_grey_balance_does_not_mind_a_tint_of_everything(lab, a, b):
    lab = lab.copy()
    lab[:, 0] = np.linspace(96, 16, 8)
    moved = lab + np.array([0.0, a, b])
    np.testing.assert_allclose(grey_balance(moved).distance, grey_balance(lab).distance, atol=1e-9)


def test_grey_balance_with_gaps():
    lab = greys(96, 76, np.nan, 36, 16)
    lab[1, 1] = 2.0
    assert float(grey_balance(lab).mean) == pytest.approx(1.0)
    assert np.isnan(grey_balance(greys(96, 50, np.nan)).mean)
    assert np.isnan(grey_balance(greys(96, 16)).mean)
    assert np.isnan(grey_balance(greys(50, 40, 50)).mean)


def test_the_darkest_need_not_be_full_ink():
    device = np.array([[1, 1, 1], [0.1, 0.1, 0.1], [0, 0, 0], [0, 0, 1]], dtype=float)
    lab = np.array([[96, 0, 0], [15, 3, 4], [16.5, 0, 0], [30, 20, -60]], dtype=float)
    found = darkest(lab, device)
    assert int(found.index) == 1
    assert float(found.chroma) == pytest.approx(5.0)
    assert found.full_ink == 2
    assert not bool(found.is_full_ink)
    assert float(found.hook) == pytest.approx(1.5)
    inks = darkest(lab, 1.0 - device, channels=("C", "M", "Y"))
    assert int(inks.index) == 1
    assert inks.full_ink == 2


def test_full_ink_printed_twice_is_no_hook():
    device = np.array([[1, 1, 1], [0, 0, 0], [0, 0, 0]], dtype=float)
    found = darkest(greys(96, 16.2, 16.0), device)
    assert bool(found.is_full_ink)
    assert float(found.hook) == 0.0


def test_darkest_of_nothing():
    with pytest.raises(NotEnoughData):
        darkest(np.zeros((0, 3)), np.zeros((0, 3)))
    found = darkest(np.full((2, 3), np.nan), np.array([[1, 1, 1], [0, 0, 0]], dtype=float))
    assert int(found.index) == -1
    assert np.isnan(found.lightness)
    assert np.isnan(found.hook)
    assert not bool(found.is_full_ink)


def test_an_over_inked_medium_shows_all_of_it():
    """The print model's known truth: over-inking must be seen as hook, reversal and lost shadows."""
    device = np.unique(demonstration_chart(rng=np.random.default_rng(7)).device_rgb, axis=0)
    rows = neutral_ramp(device).rows
    wet = replace(MATTE_COTTON, overdrive=1.3, ink_limit=3.2, capacity=2.0, coalescence=0.4)
    good, bad = (
        lab_from_reflectance(reflectance(device, medium=medium), wavelengths_nm=WAVELENGTHS_NM)
        for medium in (MATTE_COTTON, wet)
    )
    assert float(tone_reversal(good[rows]).rise) == 0.0
    assert int(lost_steps(good[rows]).shadow) == 0
    assert bool(darkest(good, device).is_full_ink)
    assert float(tone_reversal(bad[rows]).rise) > 0.05
    assert int(lost_steps(bad[rows]).shadow) >= 6
    assert float(darkest(bad, device).hook) > 0.5


def test_inputs_are_left_alone():
    lab = greys(96, 50, 60, 16)
    kept = lab.copy()
    tone_reversal(lab)
    lost_steps(lab)
    grey_balance(lab)
    np.testing.assert_array_equal(lab, kept)


@pytest.mark.shared_data
def test_neutral_steps_of_a_real_matte_chart(shared_data):
    """Real matte inkjet chart of 2033 patches, M0: L* of RGB 0, 36, 72 ... 255 as its notes give them."""
    body = (shared_data / "inkjet-matte" / "chart-2033-M0.txt").read_text().split("BEGIN_DATA\n")[1]
    rows = [line.split("\t") for line in body.split("END_DATA")[0].strip().splitlines()]
    numbers = np.array([[float(cell) for cell in row[2:41]] for row in rows])
    device = numbers[:, :3] / 255.0
    lab = lab_from_reflectance(numbers[:, 3:], wavelengths_nm=WAVELENGTHS_NM)
    ramp = neutral_ramp(device)
    assert ramp.kind == "R = G = B"
    lightness = dict(
        zip(np.rint(device[ramp.rows, 0] * 255).astype(int).tolist(), lab[ramp.rows, 0], strict=True)
    )
    noted = {0: 15.1, 36: 26.9, 72: 38.5, 109: 51.9, 145: 65.5, 182: 76.5, 218: 86.6, 255: 96.2}
    for level, expected in noted.items():
        assert lightness[level] == pytest.approx(expected, abs=0.05001)
    assert float(tone_reversal(lab[ramp.rows]).rise) == 0.0
    found = darkest(lab, device)
    assert bool(found.is_full_ink)
    assert float(found.lightness) == pytest.approx(15.09, abs=0.005)


@pytest.mark.shared_data
@pytest.mark.parametrize(("name", "lightness"), [("FOGRA39L", 7.88), ("TR005", 7.91)])
def test_the_black_of_an_offset_condition_is_not_400_percent(shared_data, name, lightness):
    """Characterisation data: the darkest patch (L* from the notes) lacks yellow, and 400 % is lighter."""
    text = (shared_data / "standard-conditions" / f"{name}.txt").read_text(encoding="latin-1")
    fields = text.split("BEGIN_DATA_FORMAT")[1].split("END_DATA_FORMAT")[0].split()
    rows = [row.split() for row in text.split("BEGIN_DATA\n")[1].split("END_DATA")[0].strip().splitlines()]
    where = [fields.index(f) for f in ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", "LAB_L", "LAB_A", "LAB_B")]
    numbers = np.array([[float(row[index]) for index in where] for row in rows])
    device, lab = numbers[:, :4] / 100.0, numbers[:, 4:]
    found = darkest(lab, device, channels=("C", "M", "Y", "K"))
    assert device[int(found.index)].tolist() == [1.0, 1.0, 0.0, 1.0]
    assert float(found.lightness) == pytest.approx(lightness, abs=0.005)
    assert device[found.full_ink].tolist() == [1.0, 1.0, 1.0, 1.0]
    assert float(found.hook) > 0.5
    assert neutral_ramp(device, channels=("C", "M", "Y", "K")).kind == "black ink alone"
