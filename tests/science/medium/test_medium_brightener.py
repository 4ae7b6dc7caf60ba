"""What ultraviolet adds to a medium, and the trade's word for it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import NotEnoughData
from laydown.science.colour import delta_e_2000, lab_from_reflectance
from laydown.science.medium import brightener, brightener_word, r457


@pytest.mark.parametrize("chart", ["2033", "3190"])
@pytest.mark.shared_data
def test_the_measured_matte_paper_is_highly_brightened(
    chart: str, whites: Callable[[str], np.ndarray], bands: np.ndarray
) -> None:
    found = brightener(whites(f"chart-{chart}-M0"), whites(f"chart-{chart}-M2"), wavelengths_nm=bands)
    # From the published whites: b* 1.45 - -4.42 = 5.87 and 1.57 - -4.33 = 5.90; two-decimal figures.
    assert 5.86 < found.d_b_star.mean() < 5.94
    assert set(found.words) == {"high"}
    assert ((found.peak_nm >= 420.0) & (found.peak_nm <= 450.0)).all()
    assert (found.d_r457 > 5.0).all()


def test_each_number_is_what_it_says(bands: np.ndarray, bluish: np.ndarray) -> None:
    plain = np.full(36, 0.9)
    found = brightener(bluish, plain, wavelengths_nm=bands)
    lab_in, lab_out = (lab_from_reflectance(r, wavelengths_nm=bands) for r in (bluish, plain))
    assert found.d_b_star == pytest.approx(lab_out[2] - lab_in[2], abs=1e-12)
    assert found.d_b_star > 0.0
    assert found.de00 == pytest.approx(float(delta_e_2000(lab_in, lab_out)), abs=1e-12)
    expected = r457(bluish, wavelengths_nm=bands) - r457(plain, wavelengths_nm=bands)
    assert found.d_r457 == pytest.approx(float(expected), abs=1e-12)
    assert found.peak == pytest.approx(0.15, abs=1e-12)
    assert found.peak_nm == 440.0


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**31))
def test_swapping_the_readings_turns_the_signs(seed: int) -> None:
    bands = np.arange(380.0, 731.0, 10.0)
    one, two = np.random.default_rng(seed).uniform(0.5, 1.1, (2, 36))
    there, back = brightener(one, two, wavelengths_nm=bands), brightener(two, one, wavelengths_nm=bands)
    assert there.d_b_star == pytest.approx(-back.d_b_star, abs=1e-9)
    assert there.d_r457 == pytest.approx(-back.d_r457, abs=1e-9)
    assert there.de00 == pytest.approx(float(back.de00), abs=1e-9)


def test_an_unbrightened_medium_shows_nothing(bands: np.ndarray, bluish: np.ndarray) -> None:
    found = brightener(bluish, bluish, wavelengths_nm=bands)
    assert (found.d_b_star, found.d_r457, found.de00, found.peak) == (0.0, 0.0, 0.0, 0.0)
    assert found.words == ("none",)


@pytest.mark.parametrize(
    ("amount", "word"),
    [  # bands of common practice, no source
        (-3.0, "none"), (0.49, "none"), (0.5, "low"), (2.0, "low"), (2.01, "moderate"), (5.0, "moderate"),
        (5.01, "high"), (12.0, "high"), (np.nan, ""),
    ],
)  # fmt: skip
def test_the_trades_word(amount: float, word: str) -> None:
    assert brightener_word(amount) == word


def test_stacked_missing_and_short(bands: np.ndarray, bluish: np.ndarray) -> None:
    plain = np.full((3, 36), 0.9)
    with_uv = np.stack([bluish, bluish * np.nan, bluish * 0.95])
    found = brightener(with_uv, plain, wavelengths_nm=bands)
    for values in (found.d_b_star, found.d_r457, found.de00, found.peak, found.peak_nm):
        assert values.shape == (3,)
        np.testing.assert_array_equal(np.isnan(values), [False, True, False])
    assert found.words == ("high", "", found.words[2])
    alone = brightener(with_uv[2], plain[2], wavelengths_nm=bands)
    assert found.d_b_star[2] == pytest.approx(float(alone.d_b_star), abs=1e-12)
    assert brightener(np.empty((0, 36)), np.empty((0, 36)), wavelengths_nm=bands).words == ()
    with pytest.raises(NotEnoughData, match="420 to 730 nm"):
        brightener(with_uv[:, 4:], plain[:, 4:], wavelengths_nm=bands[4:])
