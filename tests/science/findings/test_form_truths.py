"""True values: as fine as they claim, and never beaten by a patch of any form."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.science.colour import lab_from_reflectance, visual_density
from laydown.science.findings import form_truths
from laydown.science.findings.form_presses import Press
from laydown.science.findings.form_truths import TRUTH_LEVELS, dense_outside, true_values
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.patch_levels import placed_levels
from laydown.science.gamut import DeviceSurface, explain_surface, volume
from laydown.science.prints import BARYTA, MATTE_COTTON, WAVELENGTHS_NM

RGB, CMYK, SIX = ("R", "G", "B"), ("C", "M", "Y", "K"), tuple("CMYKOG")


@pytest.mark.parametrize("channels", [RGB, CMYK])
def test_a_surface_twice_as_fine_has_the_volume_that_is_claimed(channels, monkeypatch):
    true = true_values(BARYTA, channels)
    levels = 2 * int(TRUTH_LEVELS.value) - 1
    monkeypatch.setattr(form_truths, "placed_levels", lambda count, **_: placed_levels(levels))
    outside = dense_outside(channels)
    surface = explain_surface(outside, channels=channels)
    assert isinstance(surface, DeviceSurface)
    assert len(outside) > 20_000
    spectra = Press(channels, BARYTA).spectra(outside)
    size = volume(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM), surface.triangles)
    # ``TRUTH_LEVELS`` claims 0.02 %.
    assert true.gamut_volume == pytest.approx(float(size), rel=2e-4)


@pytest.mark.parametrize(
    ("channels", "limit"), [(RGB, None), (CMYK, None), (CMYK, 2.6), (SIX, None), (SIX, 2.4)]
)
def test_no_patch_of_a_form_is_darker_than_the_truth(channels, limit):
    true = true_values(MATTE_COTTON, channels, limit)
    patches = choose_patches(900, channels=channels, question="tone", ink_limit=limit)
    spectra = Press(channels, MATTE_COTTON).spectra(patches.device)
    density = visual_density(spectra, wavelengths_nm=WAVELENGTHS_NM)
    assert density.max() <= true.dmax_visual + 1e-9
    # Nor far from it: the search near black finds it to a tenth of what two readings differ by.
    assert density.max() >= true.dmax_visual - 0.002


def test_a_limit_of_all_inks_is_none_and_a_lower_one_costs_volume():
    free = true_values(MATTE_COTTON, CMYK)
    sizes = [true_values(MATTE_COTTON, CMYK, limit).gamut_volume for limit in (4.0, 3.0, 2.2, 1.5)]
    assert sizes[0] == pytest.approx(free.gamut_volume, rel=1e-12)
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[-1] < 0.9 * sizes[0]


def test_what_kind_of_volume_is_true_is_said():
    kinds = [true_values(MATTE_COTTON, channels).gamut_from for channels in (RGB, CMYK, SIX)]
    assert kinds == ["surface", "surface", "hull"]
    assert np.isnan(true_values(MATTE_COTTON, ("K",)).gamut_volume)
    assert true_values(MATTE_COTTON, SIX).gamut_volume > true_values(MATTE_COTTON, CMYK).gamut_volume
