"""A print that dries by a known law is followed to its rest."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.colour import delta_e_2000
from laydown.science.settling import Repeatability, drift_curve, hidden_change

PATCHES = 40
REP = Repeatability(0.1, 0.05, 0.02, "known")
HOURS = np.array([0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 24.0, 48.0])


def sheet(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Colours at rest, and how each patch is off at first: darker inks move more."""
    final = np.column_stack(
        [rng.uniform(15, 95, PATCHES), rng.uniform(-40, 40, PATCHES), rng.uniform(-40, 40, PATCHES)]
    )
    return final, ((100.0 - final[:, :1]) / 85.0) * np.array([0.8, 0.4, -0.4])


def dry_down(
    hours: np.ndarray, tau: float, amount: float, rng: np.random.Generator, *, noise: float = 0.1
) -> tuple[np.ndarray, float]:
    """Readings of exponential drying, and the age at which what is left is seen as often as missed."""
    final, move = sheet(rng)
    labs = final + amount * move * np.exp(-hours / tau)[:, None, None]
    # Noise in Lab, as large as it takes for two readings to be ``noise`` dE00 apart on average.
    tried = rng.normal(0.0, 0.05, (2, 100, PATCHES, 3))
    size = noise / delta_e_2000(final + tried[0], final + tried[1]).mean()
    labs = labs + size * rng.normal(0.0, 0.05, labs.shape)
    limit = drift_curve(hours, labs, repeatability=REP).limit[0]
    wanted = hidden_change(limit, REP, patches=PATCHES, chance=0.5)
    low, high = 0.0, 1000.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        left = delta_e_2000(final + amount * move * np.exp(-middle / tau), final).mean()
        low, high = (middle, high) if left > wanted else (low, middle)
    return labs, high


def test_the_bracket_holds_the_time_of_rest(rng: np.random.Generator) -> None:
    held, early, settled = [], [], 0
    for _ in range(120):
        tau, amount = np.exp(rng.uniform(np.log(0.3), np.log(8.0))), rng.uniform(1.0, 4.0)
        labs, truth = dry_down(HOURS, tau, amount, rng)
        found = drift_curve(HOURS, labs, repeatability=REP).settling
        if found.state != "settled":
            continue
        settled += 1
        assert found.after_hours is not None
        assert found.at_hours is not None
        held.append(found.after_hours <= truth <= found.at_hours)
        early.append(truth < found.after_hours)
    assert settled >= 115
    # 85-97 % in docs/methods/settling.md; what is missed lies one reading off, mostly on the early side.
    assert np.mean(held) > 0.82
    assert np.mean(early) < 0.12


def test_a_print_that_never_changes_is_at_rest_from_the_first(rng: np.random.Generator) -> None:
    states = []
    for _ in range(60):
        labs, _ = dry_down(HOURS, 1.0, 0.0, rng)
        found = drift_curve(HOURS, labs, repeatability=REP).settling
        states.append(found.state == "settled" and found.after_hours == 0.0)
    assert np.mean(states) > 0.85  # wanted 0.95; three standard errors of 60 less
    assert "before the first reading" in found.sentence


def test_a_slow_print_is_not_yet_settled(rng: np.random.Generator) -> None:
    labs, _ = dry_down(HOURS, 40.0, 4.0, rng)
    curve = drift_curve(HOURS, labs, repeatability=REP)
    assert curve.settling.state == "not yet"
    assert curve.settled_at_hours is None
    assert curve.settling.sentence.startswith("Not yet settled at 48 h: the reading at 24 h is still ")
    assert curve.settling.todo == "Read the sheet again at about 96 h."


def test_settled_words_name_the_bracket(rng: np.random.Generator) -> None:
    labs, _ = dry_down(HOURS, 1.0, 3.0, rng, noise=0.05)
    curve = drift_curve(HOURS, labs, repeatability=REP)
    assert curve.settled_at_hours == 4.0
    assert curve.settling.after_hours == 2.0
    assert "Settled by 4 h (somewhere between 2 h and that)" in curve.settling.sentence
    assert curve.settling.todo == ""


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        ([1.0], "one time only"),
        ([1.0, 24.0], "only 2 different times"),
        ([24.0, 24.01, 48.0], "only 2 different times"),
        ([24.0, 26.0, 28.0], "span only 4 h"),
        ([0.4, 0.6, 0.9], "span only 30 min"),
    ],
)
def test_too_little_to_say(hours: list[float], words: str, rng: np.random.Generator) -> None:
    labs, _ = dry_down(np.array(hours), 0.01, 1.0, rng)
    found = drift_curve(hours, labs, repeatability=REP).settling
    assert found.state == "cannot say"
    assert words in found.sentence
    assert found.todo.startswith("Read the sheet again")
    assert found.at_hours is None


def test_distances_rate_and_density_by_hand() -> None:
    first = np.array([[50.0, 0, 0], [50.0, 0, 0], [20.0, 0, 0]])
    second = first.copy()
    second[0, 0] = 50.0001
    labs = np.stack([first, second, first])
    labs[0, 1, 0] = 52.0
    curve = drift_curve([1.0, 3.0, 9.0], labs, density=[[0.7, 0.7, 1.50], [0.7, 0.7, 1.53], [0.7, 0.7, 1.52]])
    apart = float(delta_e_2000([52.0, 0, 0], [50.0, 0, 0]))
    assert curve.from_last.mean[0] == pytest.approx(apart / 3)
    assert curve.from_last.median[0] == 0.0
    assert curve.from_last.largest[0] == pytest.approx(apart)
    assert curve.from_last.worst[0] == 1
    assert curve.from_first.mean[2] == pytest.approx(apart / 3)
    assert curve.from_first.mean[0] == 0.0
    assert np.isnan(curve.rate[0])
    assert curve.rate[1] == pytest.approx(apart / 3 / 2.0, rel=1e-3)
    assert curve.followed == (2,)
    np.testing.assert_allclose(curve.density_change, [-0.02, 0.01, 0.0], atol=1e-12)


def test_density_is_reckoned_where_none_is_given() -> None:
    # L* 16.69 is visual density 1.65 (L* of Y = 2.239, CIE 15 definition).
    labs = np.tile([[95.0, 0, 0], [16.69, 0, 0]], (3, 1, 1))
    curve = drift_curve([1.0, 10.0, 40.0], labs)
    assert curve.density[0] == pytest.approx(1.65, abs=0.001)
    assert "no densities" in curve.density_from
    several = drift_curve([1.0, 10.0, 40.0], labs, solids=[0, 1])
    assert several.followed == (0, 1)


def test_density_that_still_moves_is_said(rng: np.random.Generator) -> None:
    labs, _ = dry_down(HOURS, 0.01, 0.0, rng)
    dark = np.full((HOURS.size, PATCHES), 1.6)
    dark[3:5] = 1.56
    found = drift_curve(HOURS, labs, repeatability=REP, density=dark, solids=[0]).settling
    assert found.state == "settled"
    assert "density has moved by +0.040" in found.sentence


def test_rereads_give_the_repeatability_and_are_averaged(rng: np.random.Generator) -> None:
    hours = np.array([1.0, 4.0, 24.0, 24.05, 24.1, 48.0])
    labs, _ = dry_down(hours, 0.01, 0.0, rng, noise=0.2)
    curve = drift_curve(hours, labs)
    assert curve.readings.tolist() == [1, 1, 3, 1]
    assert curve.hours[2] == pytest.approx(24.05)
    assert not curve.repeatability.planning
    assert curve.repeatability.patch == pytest.approx(0.2, rel=0.25)
    assert curve.limit[2] < curve.limit[1]
    assert drift_curve(HOURS, dry_down(HOURS, 0.01, 0.0, rng)[0]).repeatability.planning
    assert drift_curve(hours, labs, repeatability=0.3).repeatability.patch == 0.3


def test_a_fresh_print_read_twice_is_no_reread(rng: np.random.Generator) -> None:
    # 5 minutes are a quarter of the life of a print 15 minutes old: it changes meanwhile.
    hours = np.array([0.25, 0.33, 1.0, 24.0])
    assert drift_curve(hours, dry_down(hours, 1.0, 2.0, rng)[0]).readings.tolist() == [1, 1, 1, 1]


@settings(deadline=None, max_examples=15)
@given(st.permutations(range(8)), st.integers(0, 1000))
def test_the_order_of_readings_does_not_matter(order: list[int], seed: int) -> None:
    labs, _ = dry_down(HOURS, 2.0, 2.0, np.random.default_rng(seed))
    plain = drift_curve(HOURS, labs, repeatability=REP)
    mixed = drift_curve(HOURS[order], labs[order], repeatability=REP)
    np.testing.assert_array_equal(plain.from_last.mean, mixed.from_last.mean)
    assert plain.settling == mixed.settling


def test_patches_not_read_every_time_are_left_out(rng: np.random.Generator) -> None:
    labs, _ = dry_down(HOURS, 2.0, 2.0, rng)
    labs[3, 7] = np.nan
    curve = drift_curve(HOURS, labs, repeatability=REP)
    assert 7 not in curve.patches
    assert curve.patches.size == PATCHES - 1
    assert np.isfinite(curve.from_last.mean).all()
    labs[:, :, 0] = np.where(np.arange(PATCHES) % 8 == np.arange(8)[:, None], np.nan, labs[:, :, 0])
    with pytest.raises(NotEnoughData, match="every time"):
        drift_curve(HOURS, labs)


@pytest.mark.parametrize(
    ("hours", "options", "words"),
    [
        ([1.0, -2.0, 3.0], {}, "Reading 2 was taken -2 hours"),
        ([1.0, np.nan, 3.0], {}, "Reading 2"),
        ([1.0, 2.0], {}, "shape"),
        ([1.0, 2.0, 3.0], {"density": [[1.0]]}, "density for each patch"),
        ([1.0, 2.0, 3.0], {"solids": [9]}, "not on the sheet"),
        ([1.0, 2.0, 3.0], {"solids": []}, "counted from 0"),
        ([1.0, 2.0, 3.0], {"repeatability": 0.0}, "repeatability is 0"),
    ],
)
def test_what_makes_no_sense_is_refused(hours: list[float], options: dict[str, object], words: str) -> None:
    with pytest.raises(BadSetting, match=words):
        drift_curve(hours, np.full((3, 4, 3), 50.0), **options)
