"""Ramps are found by device values, on charts of light and of ink."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import NotEnoughData
from laydown.science.prints import demonstration_chart, neutral_levels
from laydown.science.tone import neutral_ramp, primary_ramps

CMYK = ("C", "M", "Y", "K")


def test_rgb_greys_from_paper_to_full_ink():
    device = np.array(
        [[0, 0, 0], [1, 0, 0], [1, 1, 1], [0.5, 0.5, 0.5], [0.25] * 3, [0.75] * 3, [0.5, 0.5, 0.6]]
    )
    ramp = neutral_ramp(device)
    assert ramp.rows.tolist() == [2, 5, 3, 4, 0]
    np.testing.assert_allclose(ramp.steps, [0, 0.25, 0.5, 0.75, 1])
    assert ramp.kind == "R = G = B"


def test_the_demonstration_chart_has_every_ramp_it_was_made_for():
    chart = demonstration_chart(rng=np.random.default_rng(7))
    device = np.unique(chart.device_rgb, axis=0)
    ramp = neutral_ramp(device)
    on_ramp = np.rint(device[ramp.rows, 0] * 255).astype(int)
    assert set(neutral_levels().tolist()) <= set(on_ramp.tolist())
    assert np.all(np.diff(ramp.steps) > 0)
    ramps = primary_ramps(device)
    assert set(ramps) == set("CMYRGB")
    for name, fixed in {"C": [1, 2], "M": [0, 2], "Y": [0, 1], "R": [0], "G": [1], "B": [2]}.items():
        assert len(ramps[name]) == 17
        assert (device[ramps[name].rows][:, fixed] == 1.0).all()
        assert ramps[name].steps[[0, -1]].tolist() == [0.0, 1.0]


def test_a_ramp_is_the_same_however_the_rows_are_ordered(rng):
    device = np.unique(demonstration_chart(rng=np.random.default_rng(7)).device_rgb, axis=0)
    order = rng.permutation(len(device))
    plain, mixed = neutral_ramp(device), neutral_ramp(device[order])
    np.testing.assert_array_equal(device[plain.rows], device[order][mixed.rows])


def test_repeated_colours_are_used_once():
    levels = np.repeat(np.linspace(1, 0, 6), 3)
    ramp = neutral_ramp(np.repeat(levels[:, None], 3, axis=1))
    assert len(ramp) == 6
    assert ramp.rows.tolist() == [0, 3, 6, 9, 12, 15]


def test_ink_charts_use_black_or_else_equal_colours():
    steps = np.linspace(0, 1, 6)
    none = np.zeros(6)
    black = np.stack([none, none, none, steps], axis=1)
    colours = np.stack([steps, steps, steps, none], axis=1)
    assert neutral_ramp(np.concatenate([colours, black[1:]]), channels=CMYK).kind == "black ink alone"
    found = neutral_ramp(np.concatenate([black[4:], colours]), channels=CMYK)
    assert found.kind == "C = M = Y"
    assert found.rows.tolist() == [2, 3, 4, 5, 6, 7]
    ramps = primary_ramps(
        np.concatenate([colours * [1, 0, 0, 0], colours * [1, 1, 0, 0], black]), channels=CMYK
    )
    assert set(ramps) == {"C", "B", "K"}


def test_other_ink_sets_have_a_ramp_per_ink():
    steps = np.linspace(0, 1, 6)[:, None] * np.array([0, 0, 1, 0, 0])
    assert set(primary_ramps(steps, channels=("C", "M", "Orange", "Y", "K"))) == {"Orange"}
    with pytest.raises(NotEnoughData, match="neutral ramp"):
        neutral_ramp(steps, channels=("ink 1", "ink 2", "ink 3", "ink 4", "ink 5"))


def test_nearly_neutral_stands_in_and_says_so():
    grey = np.repeat(np.linspace(1, 0, 6)[:, None], 3, axis=1) * [1.0, 0.985, 0.99]
    found = neutral_ramp(grey)
    assert found.kind == "nearest to R = G = B"
    assert len(found) == 6
    with pytest.raises(NotEnoughData, match="neutral ramp"):
        neutral_ramp(grey * [1.0, 0.5, 1.0])
    with pytest.raises(NotEnoughData):
        neutral_ramp(np.zeros((0, 3)))


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(0, 255), min_size=5, max_size=40, unique=True))
def test_every_grey_level_of_eight_bits_is_its_own_step(levels):
    device = np.repeat(np.array(levels)[:, None] / 255.0, 3, axis=1)
    ramp = neutral_ramp(device)
    assert len(ramp) == len(levels)
    np.testing.assert_allclose(ramp.steps, np.sort(1 - device[:, 0]), atol=1e-12)
