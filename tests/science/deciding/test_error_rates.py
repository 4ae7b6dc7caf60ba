"""Coverage and error rates by simulation, small; the full table comes from benchmarks/simulate_calls.py."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.science.deciding import Quantity, judge
from laydown.science.deciding.pairs import compare_pairs, intervals, pair_error
from laydown.science.deciding.spreads import spreads

BENCHMARK = Path(__file__).parents[3] / "benchmarks" / "simulate_calls.py"


@pytest.fixture(scope="module")
def simulation() -> ModuleType:
    spec = importlib.util.spec_from_file_location("simulate_calls", BENCHMARK)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["simulate_calls"] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("noise", ["normal", "t5", "unequal"])
@pytest.mark.parametrize(("k", "n"), [(2, 5), (3, 3), (5, 2)])
def test_coverage_and_wrong_calls(simulation: ModuleType, noise: str, k: int, n: int) -> None:
    setting = simulation.Setting(noise, "none", k, n)
    rng = np.random.default_rng([20260131, k, n])
    tally = simulation.simulate(simulation.generic(setting), trials=600, margin=None, rng=rng)
    cover = np.mean(tally.cover) / tally.covered_of
    cover_difference = np.mean(tally.cover_difference) / tally.covered_of
    # 93-97 % wanted; 0.6 more for the chance of 600 trials.
    assert 0.924 < cover < 0.976
    assert 0.924 < cover_difference < 0.976
    # At most 5 %; three standard errors of 600 trials more.
    assert tally.wrong_trials / tally.trials < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 600)


def test_wrong_sameness(simulation: ModuleType) -> None:
    for n in (3, 5):
        maker = simulation.generic(simulation.Setting("unequal", "mixed", 3, n))
        tally = simulation.simulate(maker, trials=400, margin=simulation.MARGIN, rng=np.random.default_rng(n))
        assert tally.at_margin == 400 * 5 * 2
        assert tally.wrong_same / tally.at_margin < 0.06
        assert tally.same / tally.samable > 0.5


def test_one_judgement_is_one_slice_of_a_stack(rng: np.random.Generator) -> None:
    values = rng.normal(size=(40, 3, 4)) * np.array([1.0, 1.0, 6.0])[:, np.newaxis]
    values[3, 0, 2:] = np.nan
    values[4, 1, 1:] = np.nan
    found = spreads(values)
    assert found.too_wide.any()
    first, second = np.triu_indices(3, 1)
    pairs = compare_pairs(found, first=first, second=second, quantities_judged=4, confidence=0.95, margin=2.0)
    low, high = intervals(found, confidence=0.95)
    for place, rows in enumerate(values):
        one = judge(
            dict(zip("abc", rows, strict=True)), Quantity("q", "", "higher", 2.0), quantities_judged=4
        )
        for name in ("difference", "low", "high", "p_adjusted", "p_equivalence"):
            single = [getattr(item, name) for item in one.differences]
            np.testing.assert_allclose(getattr(pairs, name)[place], single, rtol=1e-12, err_msg=name)
        np.testing.assert_allclose(low[place], [e.low for e in one.estimates.values()], rtol=1e-12)
        np.testing.assert_allclose(high[place], [e.high for e in one.estimates.values()], rtol=1e-12)


def test_error_of_a_case_against_simulated_variances(rng: np.random.Generator) -> None:
    sizes, wide = (2, 4, 3), 4.0
    values = np.full((60_000, 3, 4), np.nan)
    for i, (size, sd) in enumerate(zip(sizes, (2.0, 1.0, 1.0), strict=True)):
        values[:, i, :size] = rng.normal(0.0, sd, (60_000, size))
    found = spreads(values)
    kept = found.shares.all(axis=-1)
    error, df = pair_error(found, first=np.array([0]), second=np.array([1]), case=(wide, 1.0))
    # Mean square of the error is the true variance of the difference, 4 / 2 + 1 / 4; its scatter gives df.
    square = error[kept, 0] ** 2
    assert kept.mean() > 0.99
    assert square.mean() == pytest.approx(wide / 2 + 1 / 4, rel=0.03)
    assert 2 * square.mean() ** 2 / square.var() == pytest.approx(df[kept][0, 0], rel=0.1)


@pytest.mark.parametrize("sizes", [(6, 4), (10, 2), (10, 2, 3)])
@pytest.mark.parametrize("wide", [None, -1])
def test_few_sheets_against_many(
    simulation: ModuleType, sizes: tuple[int, ...], wide: int | None, rng: np.random.Generator
) -> None:
    base = simulation.generic(simulation.Setting("normal", "none", len(sizes), max(sizes)))

    def make(source: np.random.Generator, trials: int) -> object:
        made = base(source, trials)
        for place, size in enumerate(sizes):
            made.values[:, :, place, size:] = np.nan
        if wide is not None:
            made.values[:, :, wide] *= 2.0
        return made

    tally = simulation.simulate(make, trials=600, margin=None, rng=rng)
    assert tally.wrong_trials / tally.trials < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 600)
    if wide is None:
        cover = np.asarray(tally.cover_difference) / tally.covered_of
        # An interval is never narrower than a medium's own scatter says, so it covers a little over 95 %.
        assert ((cover > 0.935) & (cover < 0.975)).all()
