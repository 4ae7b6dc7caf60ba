"""Model presses: ink by ink the same as the model's own four inks, and sensible beyond them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.form_presses import KNOWN_INKS, Press
from laydown.science.prints import (
    BARYTA,
    BRIGHT_MATTE,
    INVENTED_INKS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Noise,
    SheetState,
    print_sheet,
    read_sheet,
    reflectance,
    separate,
)

CMYK = ("C", "M", "Y", "K")
EIGHT = ("C", "M", "Y", "K", "O", "G", "V", "LK")
STATE = SheetState(ink_amount=(0.02, -0.01, 0.03, 0.01), gain=(0.01, 0.02, -0.01, 0.0), tint=(0.002, -0.001))


@pytest.mark.parametrize(
    "medium", [MATTE_COTTON, BARYTA, replace(BRIGHT_MATTE, overdrive=1.2, capacity=2.0, coalescence=0.3)]
)
@pytest.mark.parametrize("state", [SheetState(), STATE])
def test_inks_laid_down_as_the_driver_does_look_as_through_the_driver(medium, state, rng):
    rgb, across = rng.random((200, 3)), rng.uniform(-1.0, 1.0, 200)
    amounts = separate(rgb, ink_set=INVENTED_INKS, ink_limit=medium.ink_limit)
    drifting = replace(state, drift=(0.01, 0.0, 0.02, 0.01))
    seen = Press(CMYK, medium).spectra(amounts, sheet=drifting, across=across)
    expected = reflectance(rgb, medium=medium, sheet_state=drifting, across=across)
    np.testing.assert_allclose(seen, expected, rtol=1e-12)


def test_inks_may_stand_in_any_order_and_unused_ones_change_nothing(rng):
    amounts = rng.random((50, 4))
    four = Press(CMYK, BARYTA).spectra(amounts)
    more = Press(EIGHT, BARYTA).spectra(np.column_stack([amounts, np.zeros((50, 4))]))
    turned = Press(CMYK[::-1], BARYTA).spectra(amounts[:, ::-1])
    np.testing.assert_allclose(more, four, rtol=1e-12)
    np.testing.assert_allclose(turned, four, rtol=1e-12)


# Hue angles that the names of the inks stand for, roughly; our own reading of the names.
@pytest.mark.parametrize(
    ("ink", "hue"), [("O", 60), ("R", 40), ("G", 150), ("B", 300), ("V", 305), ("LC", 235), ("LM", 340)]
)
def test_further_inks_have_the_colour_of_their_name(ink, hue):
    spectra = Press((ink,), MATTE_COTTON).spectra(np.ones((1, 1)))
    ((_, a, b),) = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    away = (np.degrees(np.arctan2(b, a)) - hue + 180.0) % 360.0 - 180.0
    assert abs(away) < 30.0
    assert np.hypot(a, b) > 25.0


def test_light_inks_are_lighter():
    def lightness(ink: str) -> float:
        spectra = Press((ink,), MATTE_COTTON).spectra(np.ones((1, 1)))
        return float(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)[0, 0])

    assert lightness("K") < lightness("LK") < lightness("LLK") < 90.0
    assert lightness("C") < lightness("LC")


def test_sheets_scatter_as_much_as_those_of_the_model():
    rng, noise, grey = np.random.default_rng(4), Noise(), np.full((40, 3), 0.5)
    press = Press(("R", "G", "B"), MATTE_COTTON)
    ours = np.stack([press.read(grey, noise=noise, rng=rng).mean(axis=(0, 1)) for _ in range(200)])
    model = [
        read_sheet(
            grey,
            medium=MATTE_COTTON,
            sheet_state=print_sheet(40, noise=noise, rng=rng),
            noise=noise,
            rng=rng,
        ).mean()
        for _ in range(200)
    ]
    # Two standard deviations of 200 draws each: 5 % apart by chance alone, so that 25 % is five times that.
    assert ours.std() == pytest.approx(np.std(model), rel=0.25)
    assert ours.mean() == pytest.approx(np.mean(model), rel=0.005)


def test_many_patches_of_eight_inks_are_the_same_as_few(rng):
    amounts = rng.random((5000, 8))
    press = Press(EIGHT, MATTE_COTTON)
    np.testing.assert_allclose(press.spectra(amounts)[-3:], press.spectra(amounts[-3:]), rtol=1e-12)
    assert press.spectra(amounts[:0]).shape == (0, len(WAVELENGTHS_NM))


def test_an_unknown_ink_is_named():
    assert set(EIGHT) <= set(KNOWN_INKS)
    with pytest.raises(BadSetting, match="no ink Q and no ink Z"):
        Press(("C", "Q", "Z"), MATTE_COTTON)
