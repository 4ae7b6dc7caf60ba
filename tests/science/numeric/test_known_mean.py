from __future__ import annotations

import numpy as np

from laydown.science.numeric.known_mean import known_mean


def test_mean_of_what_is_known(rng: np.random.Generator) -> None:
    values = rng.normal(size=(4, 5, 3))
    values[rng.random(values.shape) < 0.3] = np.nan
    for axis in (0, 1, -1):
        oracle = np.ma.masked_invalid(values).mean(axis=axis).filled(np.nan)
        np.testing.assert_allclose(known_mean(values, axis=axis), oracle)
    assert np.isnan(known_mean(np.full((2, 3), np.nan))).all()
    assert known_mean(np.empty((0, 3))).shape == (3,)
