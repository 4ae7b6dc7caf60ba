"""An ink limit: what lies beyond it is brought back, left bare on the strip, or refused; never printed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import anchor_codes, choose_patches, own_patches
from laydown.science.forms.control_strip import control_strip
from laydown.science.forms.ink_limit import beyond_limit, held_to_limit
from laydown.science.forms.patch_set import CMYK, RGB, patches_of

SIX = tuple("CMYKOG")
EIGHT = ("C", "M", "Y", "K", "O", "G", "V", "LK")


def test_what_is_at_the_limit_is_allowed():
    codes = np.array([[255, 255, 0, 102], [255, 255, 0, 103], [255, 255, 0, 0]])
    # 2.4 full inks are 612 codes: the first colour asks for exactly that, the second for one more.
    assert beyond_limit(codes, 2.4, channels=CMYK).tolist() == [False, True, False]


@settings(deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 255)] * 4), min_size=1, max_size=20), st.floats(1.0, 4.0))
def test_what_is_held_keeps_its_black_and_its_hue(table, limit):
    patches = patches_of(np.unique(np.array(table), axis=0), "surface", channels=CMYK)
    held = held_to_limit(patches, limit)
    assert (held.codes.sum(axis=1) <= 255 * limit + 1e-6).all()
    fine = ~beyond_limit(patches.codes, limit, channels=CMYK)
    kept = {tuple(code) for code in held.codes.tolist()}
    assert {tuple(code) for code in patches.codes[fine].tolist()} <= kept
    # What gave way did so alike: no colour ink is more than rounding away from its share.
    for code in patches.codes[~fine].tolist():
        share = (255 * limit - code[3]) / sum(code[:3])
        expected = (*(int(np.floor(value * share + 1e-9)) for value in code[:3]), code[3])
        assert expected in kept


@settings(deadline=None, max_examples=20)
@given(
    st.integers(120, 900),
    st.sampled_from(["everything", "gamut", "tone", "evenness"]),
    st.sampled_from([CMYK, SIX, EIGHT, ("C", "M", "Y")]),
    st.floats(1.8, 4.0),
)
def test_no_patch_goes_beyond_the_limit(count, question, channels, limit):
    patches = choose_patches(count, channels=channels, question=question, ink_limit=limit)
    assert len(patches) == count
    assert patches.codes.sum(axis=1).max() <= 255 * limit + 1e-6
    assert anchor_codes(channels, ink_limit=limit).sum(axis=1).max() <= 255 * limit + 1e-6


@pytest.mark.parametrize("limit", [2.0, 2.6, 3.0])
def test_the_strip_keeps_its_places_and_leaves_bare_what_is_beyond(limit):
    whole, limited = control_strip(channels=CMYK), control_strip(channels=CMYK, ink_limit=limit)
    assert limited.ids == whole.ids
    beyond = beyond_limit(whole.codes, limit, channels=CMYK)
    assert beyond.any()
    np.testing.assert_array_equal(limited.codes[~beyond], whole.codes[~beyond])
    assert not limited.codes[beyond].any()


def test_a_critical_colour_is_refused_and_never_altered():
    own = np.array([[10, 20, 30, 0], [255, 255, 255, 100]])
    # 865 codes of 255 are 339 %.
    with pytest.raises(BadSetting, match=r"own colour 2 \(255/255/255/100\) asks for 339% .* limit is 300%"):
        choose_patches(300, channels=CMYK, own=own, ink_limit=3.0)
    patches = choose_patches(300, channels=CMYK, own=own)
    assert patches.codes[patches.of_role("own")].tolist() == own.tolist()


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ([[1, 2, 300]], r"own colour 1 \(1/2/300\)"),
        ([[1, 2, 3], [-1, 2, 3]], r"own colour 2 \(-1/2/3\)"),
        ([[1.5, 2, 3]], r"own colour 1 \(1.5/2/3\)"),
        ([[np.nan, 2, 3]], "own colour 1"),
        ([[1, 2, 3, 4]], "cannot have codes of shape"),
    ],
)
def test_a_critical_colour_that_no_patch_can_have_is_named(own, words):
    with pytest.raises(BadSetting, match=words):
        own_patches(np.array(own), channels=RGB)


def test_a_critical_colour_given_three_times_is_printed_once():
    assert own_patches(np.array([[1, 2, 3]] * 3), channels=RGB).codes.tolist() == [[1, 2, 3]]


@pytest.mark.parametrize("limit", [0.5, 0.0, -1.0, float("nan")])
def test_limits_below_one_ink_are_refused(limit):
    with pytest.raises(BadSetting, match="no ink could be printed full"):
        choose_patches(300, channels=CMYK, ink_limit=limit)


def test_light_has_no_ink_limit():
    with pytest.raises(BadSetting, match="the driver decides"):
        choose_patches(300, ink_limit=3.0)
