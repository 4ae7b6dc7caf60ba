"""Sets of patches: codes, roles, repeats, levels, surfaces and ramps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.patch_levels import MIDDLE_CODE, NARROWEST_GAP, placed_levels, refined_levels
from laydown.science.forms.patch_ramps import near_black_patches, neutral_patches, primary_patches
from laydown.science.forms.patch_set import CMYK, RGB, PatchSet, add_all, add_new, patches_of
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.gamut import DeviceSurface, explain_surface
from laydown.science.tone import neutral_ramp, primary_ramps


def test_codes_are_exact_in_eight_and_sixteen_bits():
    patches = patches_of(np.arange(256)[:, None].repeat(3, axis=1), "neutral", channels=RGB)
    # 65535 = 257 * 255, so that a whole code of 8 bits is a whole code of 16.
    np.testing.assert_array_equal(np.round(patches.device * 255), patches.codes)
    np.testing.assert_array_equal(patches.device * 65535, patches.codes * 257.0)


@pytest.mark.parametrize("code", [-1, 256])
def test_codes_beyond_eight_bits_are_refused(code):
    with pytest.raises(BadSetting, match="device value"):
        patches_of(np.array([[0, 0, code]]), "own", channels=RGB)


def test_codes_of_other_channels_are_refused():
    with pytest.raises(BadSetting, match="cannot have codes"):
        PatchSet(RGB, np.zeros((2, 4), dtype=np.int64), ("own", "own"))
    with pytest.raises(BadSetting, match="cannot join"):
        add_all(surface_patches(2), surface_patches(2, channels=CMYK))


def test_a_set_cannot_be_changed_by_the_table_it_was_made_from():
    table = np.zeros((1, 3), dtype=np.int64)
    patches = patches_of(table, "own", channels=RGB)
    table[0, 0] = 9
    assert patches.codes[0, 0] == 0
    with pytest.raises(ValueError, match="read-only"):
        patches.codes[0, 0] = 9


def test_names_say_the_role_and_repeats_are_known():
    white = patches_of(np.array([[255] * 3]), "anchor", channels=RGB)
    patches = add_all(surface_patches(2), add_all(white, white))
    assert patches.ids[-2:] == ("anchor 1", "anchor 2")
    assert patches.ids[0] == "surface 1"
    assert len(set(patches.ids)) == len(patches)
    assert patches.repeats.sum() == 3  # the white corner and its two repeats
    assert patches.counts() == {"surface": 8, "anchor": 2}
    np.testing.assert_array_equal(patches.of_role("anchor"), [8, 9])


codes = st.lists(st.tuples(*[st.integers(0, 3)] * 3), max_size=12)


@settings(deadline=None)
@given(codes, codes)
def test_only_new_colours_join(one, other):
    first = patches_of(np.array(one, dtype=np.int64).reshape(-1, 3), "own", channels=RGB)
    second = patches_of(np.array(other, dtype=np.int64).reshape(-1, 3), "surface", channels=RGB)
    both = add_new(first, second)
    assert [tuple(code) for code in both.codes[: len(one)].tolist()] == one
    joined = [tuple(code) for code in both.codes[len(one) :].tolist()]
    assert len(joined) == len(set(joined))
    assert set(joined) == set(other) - set(one)


@settings(deadline=None)
@given(st.integers(2, 65), st.sampled_from([0.0, 0.3, 0.6]), st.booleans())
def test_levels_run_from_none_to_full_through_the_middle(count, bend, light):
    levels = placed_levels(count, bend=bend, light=light)
    assert len(levels) == count
    assert (levels[0], levels[-1]) == (0, 255)
    assert (np.diff(levels) > 0).all()
    assert count == 2 or MIDDLE_CODE in levels
    if count % 2 == 0 and count > 2:
        bare_half = (levels >= MIDDLE_CODE) if light else (levels <= MIDDLE_CODE)
        assert bare_half.sum() == count // 2 + 1


def test_levels_are_closer_at_the_ends():
    for count in (7, 8, 9, 17):
        steps = np.diff(placed_levels(count))
        assert steps[0] < 0.85 * steps[len(steps) // 2]
        assert steps[-1] < 0.85 * steps[len(steps) // 2]


def test_impossible_levels_are_refused():
    for count in (0, 1, 400):
        with pytest.raises(BadSetting, match="level"):
            placed_levels(count)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(0, 255), max_size=9), st.integers(2, 60))
def test_refined_levels_nest_and_keep_apart(there, count):
    fewer, more = (refined_levels(np.array(there), n, bend=0.6) for n in (count, count + 5))
    assert set(there) | {0, 255} <= set(fewer.tolist()) <= set(more.tolist())
    assert len(fewer) >= min(count, len(set(there)))
    added = sorted(set(more.tolist()) - set(there) - {0, 255})
    for code in added:
        others = more[more != code]
        assert np.abs(others - code).min() >= NARROWEST_GAP.value


@pytest.mark.parametrize("levels", range(2, 10))
def test_the_surface_holds_each_point_once(levels):
    patches = surface_patches(levels)
    # The points of n x n grids on six faces with shared edges: 6 (n - 1)^2 + 2.
    assert len(patches) == 6 * (levels - 1) ** 2 + 2
    assert len(np.unique(patches.codes, axis=0)) == len(patches)
    assert ((patches.codes == 0) | (patches.codes == 255)).any(axis=1).all()


@pytest.mark.parametrize("channels", [RGB, CMYK, ("C", "M", "Y")])
@pytest.mark.parametrize("levels", [2, 3, 5, 6, 9])
def test_surfaces_close(channels, levels):
    patches = surface_patches(levels, channels=channels)
    found = explain_surface(patches.device, channels=channels)
    assert isinstance(found, DeviceSurface)
    if levels >= 3:
        assert found.longest_edge < 0.6
    assert len(np.unique(patches.codes, axis=0)) == len(patches)


def test_other_inks_show_every_pair_and_every_three_of_inks():
    patches = surface_patches(3, channels=tuple("CMYKO"))
    lying = [tuple(np.flatnonzero(code).tolist()) for code in patches.codes]
    assert max(map(len, lying)) == 3
    assert len({inks for inks in lying if len(inks) == 2}) == 10  # 5 choose 2
    assert sum(len(inks) == 2 for inks in lying) == 40  # half and full of each
    assert sum(len(inks) == 3 for inks in lying) == 10  # 5 choose 3, as solids
    finer = surface_patches(4, channels=tuple("CMYKO"))
    assert sum((code > 0).sum() == 3 for code in finer.codes) == 80  # half and full of each


@pytest.mark.parametrize("channels", [RGB, CMYK, ("C", "M", "Y")])
def test_the_neutral_ramp_is_found_whole_and_finer_at_its_ends(channels):
    patches = neutral_patches(25, channels=channels)
    found = neutral_ramp(patches.device, channels=channels)
    assert len(found) == len(patches) == 25
    steps = np.diff(np.sort(patches.codes.max(axis=1)))
    assert steps[0] < 0.5 * steps.max()
    assert steps[-1] < 0.5 * steps.max()


def test_neutrals_that_are_there_become_steps():
    there = patches_of(np.array([[40] * 3, [200] * 3, [10, 20, 30]]), "control", channels=RGB)
    ramp = neutral_patches(15, given=there).codes[:, 0]
    assert {40, 200} <= set(ramp.tolist())
    assert not {41, 42, 199, 201} & set(ramp.tolist())


@pytest.mark.parametrize(("channels", "names"), [(RGB, "CMYRGB"), (CMYK, "CMYKRGB")])
def test_primary_ramps_are_found_whole(channels, names):
    patches = primary_patches(9, channels=channels)
    found = primary_ramps(patches.device, channels=channels)
    assert set(found) == set(names)
    assert {len(ramp) for ramp in found.values()} == {9}
    assert len(patches) == len(names) * 8 + 1  # bare paper once


def test_near_black_stays_near_black_and_off_the_surface():
    patches = near_black_patches(3)
    assert len(patches) == 27
    assert patches.codes.max() <= 36
    assert (patches.codes > 0).all()  # a face of the cube stays a full grid


def test_near_black_in_inks_has_most_black():
    patches = near_black_patches(2, channels=CMYK)
    assert (patches.codes[:, 3] >= 229).all()
    assert len(patches) == 27 + 8
    assert [255, 255, 255, 255] in patches.codes.tolist()
    without = near_black_patches(2, channels=("C", "M", "Y"))
    np.testing.assert_array_equal(without.codes, [[255] * 3, [229] * 3])
