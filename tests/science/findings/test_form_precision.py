"""What a form will tell, foretold; and that 400 well chosen patches tell more than a plain lattice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.findings.form_precision import foretell_precision
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.patch_set import CMYK
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.prints import MATTE_COTTON, Noise

BENCHMARKS = Path(__file__).parents[3] / "benchmarks"


def test_without_noise_only_the_bias_of_the_patches_is_left(rng):
    found = foretell_precision(
        choose_patches(200), rng=rng, noise=Noise().times(0.0), media=[MATTE_COTTON], rounds=2
    )
    assert {one.deviation for one in found.foretold} == {0.0}
    (size,) = found.of("gamut_volume")
    assert -0.02 < size.bias / size.truth < 0.0
    (black,) = found.of("black_l")
    assert black.bias == pytest.approx(0.0, abs=0.01)
    assert found.gamut_from == "surface"


def test_a_finer_surface_is_less_biased(rng):
    biases = []
    for levels in (3, 5, 9, 17):
        found = foretell_precision(
            surface_patches(levels), rng=rng, noise=Noise().times(0.0), media=[MATTE_COTTON], rounds=2
        )
        assert not found.of("grey_balance")  # black and white alone are no ramp
        biases.append(abs(found.of("gamut_volume")[0].bias))
    assert biases == sorted(biases, reverse=True)
    assert biases[-1] < 0.002 * found.of("gamut_volume")[0].truth


def test_more_sheets_scatter_less_and_a_worse_reader_more():
    def deviation(sheets: int, noise: Noise) -> float:
        found = foretell_precision(
            choose_patches(100),
            rng=np.random.default_rng(1),
            noise=noise,
            sheets=sheets,
            media=[MATTE_COTTON],
        )
        return found.of("gamut_volume")[0].deviation

    usual = Noise()
    assert deviation(1, usual) == pytest.approx(2.0 * deviation(4, usual))
    worse = Noise(reading=0.03)
    assert deviation(3, worse) > deviation(3, usual)


def test_inks_are_foretold_where_a_stand_in_is_known(rng):
    found = foretell_precision(choose_patches(150, channels=CMYK), rng=rng, media=[MATTE_COTTON], rounds=4)
    (size,) = found.of("gamut_volume")
    assert abs(size.bias) < 0.05 * size.truth
    assert found.largest_error("gamut_volume") == pytest.approx(np.hypot(size.bias, size.deviation))
    with pytest.raises(BadSetting, match="cannot be simulated"):
        foretell_precision(choose_patches(150, channels=tuple("CMYKO")), rng=rng)


def test_no_rounds_are_refused(rng):
    with pytest.raises(BadSetting, match="1 rounds"):
        foretell_precision(choose_patches(100), rng=rng, rounds=1)


@pytest.mark.parametrize("family", ["model", "drawn"])
def test_400_chosen_patches_lie_nearer_the_truth_than_a_lattice_or_chance(family, monkeypatch):
    monkeypatch.syspath_prepend(str(BENCHMARKS))
    import compare_patch_sets as bench

    # Held back: none of these media took part in placing the levels.
    media = bench.model_media() if family == "model" else bench.drawn_media(bench.HELD_BACK_SEED, 8)
    dense = surface_patches(33).device
    truths = np.array([bench.surface_volume(dense, look) for look in media])

    def off(device: np.ndarray) -> float:
        return float(np.sqrt(np.mean(bench.errors(device, media, truths) ** 2)))

    plain = min(off(bench.lattice(7, 7, 7)), off(bench.lattice(8, 7, 7)))
    assert off(choose_patches(400).device) < plain
    assert off(choose_patches(400, question="gamut").device) < 0.75 * plain
    random = np.random.default_rng(3).random((400, 3))
    hulls = [bench.hull_volume(look(random)) / true - 1.0 for look, true in zip(media, truths)]
    assert np.sqrt(np.mean(np.square(hulls))) * 100.0 > 5.0 * plain
