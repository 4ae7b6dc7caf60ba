"""How far two readings of one unchanging print lie apart is told rightly, for noise of several kinds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.colour import delta_e_2000, lab_from_reflectance
from laydown.science.prints import (
    BARYTA,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    demonstration_chart,
    print_sheet,
    read_sheet,
)
from laydown.science.settling import (
    Repeatability,
    agreement_chance,
    agreement_limit,
    given_repeatability,
    hidden_change,
    planned_repeatability,
    seen_repeatability,
)

MEAN, SPREAD = 2.0 * np.sqrt(2.0 / np.pi), np.sqrt(3.0 - 8.0 / np.pi)  # of chi with 3 df, unit normals
ALIKE = Repeatability(0.1, 0.1 * SPREAD / MEAN, 0.05, "the same in every direction")


def simulated(
    rep: Repeatability, n: int, change: float, rng: np.random.Generator, readings: tuple[int, int] = (1, 1)
) -> np.ndarray:
    """Mean distance of 8000 pairs of readings from the assumptions of the formula."""
    scale = np.sqrt(0.5 * (1.0 / readings[0] + 1.0 / readings[1]))
    move = rng.standard_normal((8000, 1, 3)) * rep.shift / MEAN
    move[..., 0] += change
    noise = rng.standard_normal((8000, n, 3)) * rep.patch / MEAN * scale
    return np.asarray(np.linalg.norm(noise + move, axis=-1).mean(axis=1))


@pytest.mark.parametrize("n", [6, 24, 300])
@pytest.mark.parametrize("shift", [0.0, 0.05])
def test_limit_and_hidden_change_against_simulation(n: int, shift: float, rng: np.random.Generator) -> None:
    rep = replace(ALIKE, shift=shift)
    limit = agreement_limit(rep, patches=n)
    # 8000 pairs: a share of 5 % is known to 0.25 %; four of these, and 0.5 for the normal approximation.
    assert np.mean(simulated(rep, n, 0.0, rng) <= limit) == pytest.approx(0.95, abs=0.015)
    hidden = hidden_change(limit, rep, patches=n)
    assert np.mean(simulated(rep, n, hidden, rng) <= limit) == pytest.approx(0.05, abs=0.015)


def test_averaged_readings_agree_more_closely(rng: np.random.Generator) -> None:
    limit = agreement_limit(ALIKE, patches=50, readings=(3, 2))
    assert limit < agreement_limit(ALIKE, patches=50)
    assert np.mean(simulated(ALIKE, 50, 0.0, rng, (3, 2)) <= limit) == pytest.approx(0.95, abs=0.015)


def test_two_identical_readings_are_not_expected_at_nought() -> None:
    assert agreement_chance(0.05, ALIKE, patches=100) < 0.001
    assert agreement_limit(ALIKE, patches=100) > ALIKE.patch


def test_more_comparisons_ask_for_more() -> None:
    once = agreement_limit(ALIKE, patches=30)
    assert agreement_limit(ALIKE, patches=30, comparisons=6) == pytest.approx(
        agreement_limit(ALIKE, patches=30, confidence=1.0 - 0.05 / 6)
    )
    assert agreement_limit(ALIKE, patches=30, comparisons=6) > once


@pytest.mark.parametrize("medium", [MATTE_COTTON, BARYTA], ids=lambda m: m.name.split()[0])
@pytest.mark.parametrize("n", [24, 200])
def test_readings_of_the_print_model_keep_within(medium: Medium, n: int, rng: np.random.Generator) -> None:
    # The model's scatter is mostly in lightness and larger in the darks: none of what the formula supposes.
    chart = demonstration_chart(rng=np.random.default_rng(1))
    device = chart.device_rgb[rng.permutation(len(chart))[:n]]
    state = print_sheet(n, noise=Noise(), rng=rng)
    labs = np.stack([
        lab_from_reflectance(
            read_sheet(device, medium=medium, sheet_state=state, noise=Noise(), rng=rng),
            wavelengths_nm=WAVELENGTHS_NM,
        )
        for _ in range(400)
    ])  # fmt: skip
    apart = delta_e_2000(labs[::2], labs[1::2])
    given = given_repeatability(float(apart.mean()), shift=0.0)
    # At least 95 % less three standard errors of 200 pairs: a given mean allows for the widest scatter.
    assert np.mean(apart.mean(axis=1) <= agreement_limit(given, patches=n)) > 0.90
    inside = []
    for pair in range(199):
        seen = seen_repeatability([labs[2 * pair : 2 * pair + 2]], shift=0.0)
        assert seen is not None
        inside.append(apart[pair + 1].mean() <= agreement_limit(seen, patches=n))
    assert np.mean(inside) > 0.90


def test_repeatability_seen_is_that_of_the_rereads(rng: np.random.Generator) -> None:
    labs = 50.0 + rng.normal(0.0, 0.05, (3, 400, 3)) * [1.0, 0.0, 0.0]
    seen = seen_repeatability([labs, labs[:1]])
    assert seen is not None
    # By hand: lightness alone, two readings, SD 0.05 sqrt 2; mean of |normal| = 0.7979 SD; S_L = 1 at L* 50.
    assert seen.patch == pytest.approx(0.05 * np.sqrt(2.0) * np.sqrt(2.0 / np.pi), rel=0.05)
    assert seen.seen == 800
    assert "1 immediate re-read" in seen.source
    assert not seen.planning


def test_rereads_that_tell_too_little_are_not_believed(rng: np.random.Generator) -> None:
    labs = rng.normal(50.0, 10.0, (1, 30, 3))
    assert seen_repeatability([np.repeat(labs, 2, axis=0)]) is None  # a file saved twice
    assert seen_repeatability([np.concatenate([labs, labs + 0.1])[:, :8]]) is None
    assert seen_repeatability([labs]) is None
    assert planned_repeatability().planning


@pytest.mark.parametrize(("patch", "shift"), [(0.0, 0.0), (np.nan, 0.0), (0.1, -1.0), (0.1, np.inf)])
def test_a_repeatability_that_makes_no_sense_is_refused(patch: float, shift: float) -> None:
    with pytest.raises(BadSetting, match="Give"):
        given_repeatability(patch, shift=shift)
