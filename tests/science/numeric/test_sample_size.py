from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestIndPower

from laydown.science.numeric import difference_power, equivalence_power, smallest_count


@pytest.mark.parametrize(("effect", "n"), [(0.5, 20), (2.0, 4), (3.0, 3)])
def test_power_of_two_groups(effect: float, n: int) -> None:
    df = 2 * (n - 1)
    found = difference_power(effect, error=np.sqrt(2 / n), df=df, critical=stats.t.ppf(0.975, df))
    # The oracle also counts findings in the wrong direction; here they are below 1e-4 or taken off.
    wrong = stats.nct.cdf(-stats.t.ppf(0.975, df), df, effect * np.sqrt(n / 2))
    oracle = TTestIndPower().power(effect, n, 0.05) - wrong
    assert float(found) == pytest.approx(oracle, abs=1e-8)


def test_power_far_out_is_one_and_not_nan() -> None:
    far = difference_power([500.0, 1e6], error=1.0, df=[1.2, 8.0], critical=[12.0, 5.0])
    assert (far > 0.999).all()
    assert float(difference_power(40.0, error=1.0, df=4.0, critical=400.0)) < 0.01


def test_equivalence_power_against_simulation(rng: np.random.Generator) -> None:
    df, error, margin, gap = 8, 0.5, 1.6, 0.3
    critical = stats.t.ppf(0.95, df)
    d = rng.normal(gap, error, 200_000)
    s = error * np.sqrt(rng.chisquare(df, d.size) / df)
    simulated = (np.abs(d) + critical * s < margin).mean()
    found = float(equivalence_power(gap, error=error, df=df, margin=margin, critical=critical))
    assert found == pytest.approx(simulated, abs=0.005)
    assert found <= simulated + 0.003


def test_smallest_count_is_that_of_a_plain_search() -> None:
    rate = np.array([0.003, 0.02, 0.3, 0.9, 1e-6, np.nan])

    def power_at(n: np.ndarray) -> np.ndarray:
        return 1.0 - (1.0 - rate) ** n

    found = smallest_count(power_at, cases=6, wanted=0.8, smallest=2, largest=200)
    plain = [next((n for n in range(2, 201) if power_at(np.full(6, n))[i] >= 0.8), 0) for i in range(6)]
    assert found.tolist() == plain
    assert plain[0] == 0
    assert plain[1] > 2
