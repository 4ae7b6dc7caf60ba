"""The mixing model against its own published limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from laydown.kernel.errors import BadSetting
from laydown.science.prints import (
    INVENTED_INKS,
    MATTE_COTTON,
    PRIMARIES,
    WAVELENGTHS_NM,
    InkSet,
    Medium,
    demichel_weights,
    dot_areas,
    ink_densities,
    mix,
    overprints,
    separate,
)

areas4 = arrays(np.float64, (5, 4), elements=st.floats(0.0, 1.0))


@settings(deadline=None, max_examples=60)
@given(areas4)
def test_demichel_weights_are_shares_of_the_paper(areas):
    weights = demichel_weights(areas)
    assert weights.shape == (5, 16)
    assert np.all(weights >= 0.0)
    np.testing.assert_allclose(weights.sum(axis=-1), 1.0, atol=1e-12)
    # The share covered by one ink, whatever else lies there, is that ink's dot area.
    np.testing.assert_allclose(weights @ PRIMARIES, areas, atol=1e-12)


def test_demichel_weights_of_two_inks_are_products():
    """Demichel's equations for two inks: (1-c)(1-m), c(1-m), (1-c)m, cm."""
    weights = demichel_weights(np.array([0.3, 0.6, 0.0, 0.0]))
    wanted = {(0, 0): 0.7 * 0.4, (1, 0): 0.3 * 0.4, (0, 1): 0.7 * 0.6, (1, 1): 0.3 * 0.6}
    for row, weight in zip(PRIMARIES, weights, strict=True):
        expected = 0.0 if row[2:].any() else wanted[int(row[0]), int(row[1])]
        assert weight == pytest.approx(expected, abs=1e-15)


def test_n_of_one_and_one_ink_is_murray_davies():
    """Murray-Davies: R = a R_solid + (1 - a) R_paper."""
    paper, solid = 0.9, 0.05
    solids = np.where(PRIMARIES[:, :1] == 1, solid, paper)
    for area in (0.0, 0.2, 0.5, 1.0):
        got = mix(np.array([[area, 0.0, 0.0, 0.0]]), solids, n_factor=1.0)[0, 0]
        assert got == pytest.approx(area * solid + (1 - area) * paper, abs=1e-14)


def test_very_large_n_is_the_geometric_mean():
    """(sum w R^(1/n))^n tends to the product of R^w as n grows (densities add up linearly)."""
    solids = np.where(PRIMARIES[:, :1] == 1, 0.05, 0.9)
    got = mix(np.array([[0.4, 0.0, 0.0, 0.0]]), solids, n_factor=1e6)[0, 0]
    assert got == pytest.approx(0.05**0.4 * 0.9**0.6, rel=1e-5)


def test_higher_n_darkens_the_mid_tones_only():
    solids = np.where(PRIMARIES[:, 3:] == 1, 0.02, 0.9)
    area = np.array([[0, 0, 0, a] for a in (0.0, 0.5, 1.0)], dtype=float)
    one, two = (mix(area, solids, n_factor=n)[:, 0] for n in (1.0, 2.0))
    assert two[1] < one[1] - 0.05
    np.testing.assert_allclose(two[[0, 2]], one[[0, 2]], atol=1e-14)


def test_overprints_follow_beer():
    """Densities of inks on top of each other add up; with trapping 1 nothing is lost."""
    densities = ink_densities(INVENTED_INKS, wavelengths_nm=WAVELENGTHS_NM)
    bare = np.full(36, 0.9)
    solids = overprints(densities, bare=bare, strength=np.ones(4), trapping=1.0)
    np.testing.assert_allclose(-np.log10(solids[3] / bare), densities[0] + densities[1], atol=1e-12)
    np.testing.assert_allclose(solids[0], bare)
    trapped = overprints(densities, bare=bare, strength=np.ones(4), trapping=0.9)
    kept = np.log10(trapped[1:] / bare) / np.log10(solids[1:] / bare)
    inks_beyond_the_first = PRIMARIES[1:].sum(axis=1) - 1
    np.testing.assert_allclose(kept, np.repeat(0.9 ** inks_beyond_the_first[:, None], 36, axis=1))


def test_stacked_mixing_equals_a_loop(rng):
    solids = rng.uniform(0.05, 0.9, (16, 7))
    areas = rng.random((3, 5, 4))
    stacked = mix(areas, solids, n_factor=2.0)
    assert stacked.shape == (3, 5, 7)
    for i in range(3):
        for j in range(5):
            np.testing.assert_allclose(stacked[i, j], mix(areas[i, j], solids, n_factor=2.0), atol=1e-12)


@settings(deadline=None, max_examples=60)
@given(arrays(np.float64, (6, 3), elements=st.floats(0.0, 1.0)), st.floats(1.0, 4.0))
def test_separation_keeps_to_the_ink_limit(rgb, limit):
    amounts = separate(rgb, ink_set=INVENTED_INKS, ink_limit=limit)
    assert np.all(amounts >= 0.0)
    assert np.all(amounts <= 1.0)
    assert np.all(amounts.sum(axis=-1) <= limit + 1e-9)


def test_separation_at_the_corners():
    corners = np.array([[1, 1, 1], [0, 1, 1], [1, 0, 1], [1, 1, 0], [0, 0, 0]], dtype=float)
    amounts = separate(corners, ink_set=INVENTED_INKS, ink_limit=4.0)
    np.testing.assert_allclose(amounts[0], 0.0)
    np.testing.assert_allclose(amounts[1:4], np.eye(3, 4))
    assert amounts[4, 3] == 1.0
    np.testing.assert_allclose(amounts[4, :3], 1.0)  # a rich black, as long as no limit stands in the way
    limited = separate(corners, ink_set=INVENTED_INKS, ink_limit=2.4)
    np.testing.assert_allclose(limited[4], [1.4 / 3, 1.4 / 3, 1.4 / 3, 1.0])


def test_dark_colours_keep_their_strongest_inks_and_get_more_black_than_greys():
    """K = g (1 + b (h - g)), C = (x - u g) / (1 - u g), by hand for u = 0.5, b = 0.8."""
    inks = replace(INVENTED_INKS, colour_removed=0.5, black_in_colour=0.8)
    dark_red, grey = separate(np.array([[0.6, 0.0, 0.0], [0.6, 0.6, 0.6]]), ink_set=inks, ink_limit=4.0)
    np.testing.assert_allclose(dark_red, [0.25, 1.0, 1.0, 0.4 * 1.48])
    np.testing.assert_allclose(grey, [0.25, 0.25, 0.25, 0.4])


@settings(deadline=None, max_examples=60)
@given(areas4, st.floats(0.3, 3.0), st.floats(0.3, 3.0))
def test_the_tone_curve_rises_from_nothing_to_full(amounts, light, dark):
    """1 - (1 - x^p)^q is 0 at 0, 1 at 1 and never falls, for any positive p and q."""
    inks = replace(INVENTED_INKS, tone_light=(light,) * 4, tone_dark=(dark,) * 4)
    ends = dot_areas(np.array([[0.0] * 4, [1.0] * 4]), ink_set=inks)
    np.testing.assert_array_equal(ends, [[0.0] * 4, [1.0] * 4])
    rising = dot_areas(np.sort(amounts, axis=0), ink_set=inks)
    assert np.all(np.diff(rising, axis=0) >= 0.0)


def test_the_tone_curve_by_hand():
    """x = 0.36, p = 0.5, q = 2: 1 - (1 - 0.6)^2 = 0.84."""
    inks = replace(INVENTED_INKS, tone_light=(0.5,) * 4, tone_dark=(2.0,) * 4)
    np.testing.assert_allclose(dot_areas(np.full((1, 4), 0.36), ink_set=inks), 0.84, atol=1e-12)


def test_white_gets_no_ink_and_inputs_are_left_alone():
    rgb = np.ones((2, 3))
    amounts = separate(rgb, ink_set=INVENTED_INKS, ink_limit=2.0)
    assert not amounts.any()
    assert (rgb == 1.0).all()
    assert separate(np.zeros((0, 3)), ink_set=INVENTED_INKS, ink_limit=2.0).shape == (0, 4)


def test_overdrive_fills_the_dots_early_and_gain_spares_the_ends():
    flat = InkSet("straight", (), (), (), ())
    ramp = np.repeat(np.array([0.0, 0.5, 0.75, 0.9, 1.0])[:, None], 4, axis=1)
    np.testing.assert_allclose(dot_areas(ramp, ink_set=flat), ramp)
    np.testing.assert_allclose(
        dot_areas(ramp, ink_set=flat, overdrive=1.25)[2:], [[0.9375] * 4, [1.0] * 4, [1.0] * 4]
    )
    grown = dot_areas(ramp, ink_set=flat, gain=0.1)
    np.testing.assert_allclose(grown[[0, 1, 4], 0], [0.0, 0.6, 1.0])


@pytest.mark.parametrize(
    ("name", "value"), [("opacity", 1.4), ("n_factor", 0.5), ("surface", -0.1), ("white", 90)]
)
def test_a_medium_that_cannot_be_is_refused(name, value):
    with pytest.raises(BadSetting, match=name):
        Medium("x", **{name: value})
    assert MATTE_COTTON.opacity <= 1.0
