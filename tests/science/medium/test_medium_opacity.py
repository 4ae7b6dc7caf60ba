"""Opacity as the contrast ratio of ISO 13655 backings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.medium import opacity


def test_opacity_by_definition() -> None:
    # 100 Y(black backing) / Y(white backing), ISO 13655.
    assert opacity(81.0, 90.0) == pytest.approx(90.0)
    assert opacity(90.0, 90.0) == 100.0


@settings(deadline=None, max_examples=30)
@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0), st.floats(0.1, 2.0))
def test_opacity_does_not_know_how_bright_the_lamp_is(black: float, white: float, lamp: float) -> None:
    assert opacity(black * lamp, white * lamp) == pytest.approx(float(opacity(black, white)))


def test_stacked_missing_and_dark() -> None:
    black = np.array([[81.0, np.nan], [80.0, 10.0]])
    found = opacity(black, [90.0, 90.0])
    np.testing.assert_allclose(found[1], [80 / 0.9, 10 / 0.9])
    assert np.isnan(found[0, 1])
    assert np.isnan(opacity([80.0, 80.0, 80.0], [0.0, -1.0, np.nan])).all()
    assert opacity(np.empty(0), np.empty(0)).shape == (0,)
