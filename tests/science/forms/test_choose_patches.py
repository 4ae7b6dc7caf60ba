"""What a number of patches is spent on, and the control strip that never changes."""

from __future__ import annotations

import hashlib
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.colour import lab_from_reflectance
from laydown.science.forms.choose_patches import anchor_codes, choose_patches
from laydown.science.forms.control_strip import control_strip
from laydown.science.forms.patch_set import CMYK, RGB
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.gamut import DeviceSurface, explain_surface, unique_colours
from laydown.science.prints import MATTE_COTTON, WAVELENGTHS_NM, reflectance
from laydown.science.tone import neutral_ramp, primary_ramps

SIX = tuple("CMYKOG")


# Set when the strips were made; a strip that changes breaks every comparison with earlier lots.
@pytest.mark.parametrize(
    ("channels", "sha256"),
    [
        (RGB, "c79ef26c631e20ece5a647a1030463709295fdd17cd8c1ed5530f6ffd2cbc999"),
        (CMYK, "54094d7a86ce06608ecc56bac730ee72e9def4fe0812eea399c983ce3c3b41c9"),
        (SIX, "c60d863c19e41ce6c65cf4d916a68071ddb0933d634cc7284d23cb74033b09b9"),
    ],
)
def test_the_control_strip_never_changes(channels, sha256):
    strip = control_strip(channels=channels)
    content = (
        ",".join(strip.channels) + ";" + ";".join(",".join(map(str, code)) for code in strip.codes.tolist())
    )
    assert hashlib.sha256(content.encode()).hexdigest() == sha256


@pytest.mark.parametrize("channels", [RGB, CMYK])
def test_the_strip_holds_what_it_promises(channels):
    strip = control_strip(channels=channels)
    assert 24 <= len(strip) <= 30
    assert strip.codes[0].tolist() == strip.codes[-1].tolist()
    assert strip.repeats.sum() == 2  # bare paper, first and last
    solids = surface_patches(2, channels=channels).codes
    there = {tuple(code) for code in strip.codes.tolist()}
    assert {tuple(c) for c in solids.tolist() if channels == RGB} <= there
    # On the surface there are ends and middles alone, so that every grid of three levels or more stays whole.
    on = explain_surface(unique_colours(strip.device).device, channels=channels)
    assert channels == CMYK or isinstance(on, DeviceSurface)


def test_neighbours_on_the_strip_can_be_told_apart():
    strip = control_strip()
    spectra = reflectance(strip.device, medium=MATTE_COTTON)
    lab = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    # 10 dE76: far above the scatter of any reader; our own judgement.
    assert np.linalg.norm(np.diff(lab, axis=0), axis=1).min() > 10.0


@settings(deadline=None, max_examples=30)
@given(
    st.integers(60, 900),
    st.sampled_from(["everything", "gamut", "tone", "evenness"]),
    st.sampled_from([RGB, CMYK, SIX]),
)
def test_exactly_as_many_as_asked_for(count, question, channels):
    patches = choose_patches(count, channels=channels, question=question)
    assert len(patches) == count
    strip = control_strip(channels=channels)
    np.testing.assert_array_equal(patches.codes[: len(strip)], strip.codes)
    once = patches.codes[[role not in ("anchor", "control") for role in patches.roles]]
    assert len(np.unique(once, axis=0)) == len(once)
    repeated = {tuple(code) for code in patches.codes[patches.repeats].tolist()}
    allowed = {tuple(code) for code in anchor_codes(channels).tolist()} | {tuple(strip.codes[0].tolist())}
    assert repeated <= allowed


@pytest.mark.parametrize("channels", [RGB, CMYK])
@pytest.mark.parametrize("question", ["everything", "gamut"])
@pytest.mark.parametrize("count", [100, 200, 400, 900])
def test_a_form_has_a_surface_of_full_grids(channels, question, count):
    patches = choose_patches(count, channels=channels, question=question)
    colours = unique_colours(patches.device).device
    found = explain_surface(colours, channels=channels)
    assert isinstance(found, DeviceSurface)
    # Nothing but the surface list lies on the surface.
    levels = len(np.unique(patches.codes[patches.of_role("surface")][:, 0]))
    grid = surface_patches(max(levels, 3), channels=channels)
    assert len(found.vertices) == len(grid)


def test_questions_spend_differently():
    forms = {
        name: choose_patches(400, question=name).counts()
        for name in ("everything", "gamut", "tone", "evenness")
    }
    assert forms["gamut"]["surface"] > forms["everything"]["surface"] > forms["tone"]["surface"]
    assert forms["tone"]["neutral"] > forms["everything"]["neutral"] > forms["gamut"]["neutral"]
    assert forms["tone"]["primary"] > 50
    assert forms["evenness"]["anchor"] > 150


def test_tone_has_fine_ramps():
    patches = choose_patches(400, question="tone")
    assert len(neutral_ramp(patches.device)) >= 60
    ramps = primary_ramps(patches.device)
    assert set(ramps) == set("CMYRGB")
    assert min(len(ramp) for ramp in ramps.values()) >= 17


def test_own_colours_are_there():
    own = np.array([[17, 99, 201], [255, 255, 255], [17, 99, 201]])
    patches = choose_patches(120, own=own)
    assert patches.codes[patches.of_role("own")].tolist() == [[17, 99, 201]]  # white is there already
    assert len(patches) == 120


def test_too_few_are_refused_with_the_least_that_will_do():
    with pytest.raises(BadSetting, match="20 patches are too few"):
        choose_patches(20)
    with pytest.raises(BadSetting, match="cannot have codes"):
        choose_patches(100, own=np.array([[1, 2, 3, 4]]))


def test_more_than_anybody_reads_are_refused():
    assert len(choose_patches(3000, question="evenness")) == 3000
    with pytest.raises(BadSetting, match=r"more than a form is made of\. Ask for 5000 or fewer"):
        choose_patches(10**9)


@pytest.mark.parametrize("inks", [5, 6, 7, 8])
def test_forms_of_many_inks_show_three_on_each_other(inks):
    channels = ("C", "M", "Y", "K", "O", "G", "V", "LK")[:inks]
    patches = choose_patches(400, channels=channels)
    solids = {tuple(code) for code in patches.codes.tolist() if set(code) <= {0, 255}}
    for together in (1, 2, 3):
        wanted = list(itertools.combinations(range(inks), together))
        there = [sum(code) == 255 * together for code in solids]
        assert sum(there) >= len(wanted)
    # What is left over goes to ramps, not to the same few colours again.
    assert patches.counts()["anchor"] < 40
