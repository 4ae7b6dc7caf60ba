from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.numeric import (
    crossed_components,
    median_deviation,
    nested_components,
    robust_mean,
)


@pytest.mark.parametrize("number", range(1, 7))
def test_nist_certified_analysis_of_variance(number: int, shared_data: Path) -> None:
    lines = (shared_data / "control" / f"SmLs0{number}.dat").read_text(encoding="ascii").splitlines()
    between = next(line.split() for line in lines if line.startswith("Between Treatment"))
    start = next(i for i, line in enumerate(lines) if line.startswith("Data:  Treatment"))
    rows = np.array([line.split() for line in lines[start + 1 :] if line.strip()], dtype=float)
    found = nested_components(rows[:, 1], levels=[rows[:, 0].astype(int)])
    assert found.df[0] == int(between[2])
    # 15 certified digits; values with 7 constant leading digits keep about 9 of them in double precision.
    tolerance = 1e-12 if number <= 3 else 1e-8
    assert found.mean_square[0] * found.df[0] == pytest.approx(float(between[3]), rel=tolerance)
    assert found.mean_square[0] / found.mean_square[1] == pytest.approx(float(between[5]), rel=tolerance)


def test_gauge_study_of_the_manual(tables: Path) -> None:
    with (tables / "aiag_grr.csv").open(encoding="utf-8") as file:
        rows = [[float(cell) for cell in row[2:]] for row in list(csv.reader(file))[1:]]
    values = np.array(rows).reshape(3, 3, 10).transpose(2, 0, 1)
    published = json.loads((tables / "aiag_grr_results.json").read_text(encoding="utf-8"))["pooled_varcomp"]
    found = crossed_components(values)
    assert found.pooled
    # Method notes: interaction F 0.434, p 0.974.
    assert found.interaction_p == pytest.approx(0.974, abs=5.1e-4)
    assert found.interaction == 0.0
    for ours, name in (
        (found.repeatability, "repeatability"),
        (found.operator, "operator"),
        (found.part, "part"),
        (found.measurement, "grr"),
        (found.total, "total"),
    ):
        assert ours == pytest.approx(published[name], rel=1e-9)


def test_gauge_study_keeps_an_interaction_that_is_there(rng: np.random.Generator) -> None:
    parts, operators, trials = 60, 12, 3
    values = (
        rng.normal(0, 3.0, (parts, 1, 1))
        + rng.normal(0, 2.0, (1, operators, 1))
        + rng.normal(0, 1.5, (parts, operators, 1))
        + rng.normal(0, 0.5, (parts, operators, trials))
    )
    found = crossed_components(values)
    assert not found.pooled
    assert found.repeatability == pytest.approx(0.25, rel=0.1)
    assert found.interaction == pytest.approx(2.25, rel=0.2)
    assert found.part == pytest.approx(9.0, rel=0.6)


@pytest.mark.parametrize("shape", [(3, 3), (2, 2, 1), (1, 3, 3)])
def test_gauge_study_refuses_a_table_that_is_not_full(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="full table"):
        crossed_components(np.zeros(shape))


def unbalanced(rng: np.random.Generator, sheets: int) -> tuple[list[int], list[int]]:
    outer, inner = [], []
    for sheet in range(sheets):
        for place in range(int(rng.integers(1, 4))):
            for _ in range(int(rng.integers(1, 4))):
                outer.append(sheet)
                inner.append(place)
    return outer, inner


def test_unbalanced_components_are_unbiased(rng: np.random.Generator) -> None:
    outer, inner = unbalanced(rng, 12)
    sheet = np.array(outer)
    place = np.unique(np.stack([outer, inner]), axis=1, return_inverse=True)[1].reshape(-1)
    runs = 4000
    values = (
        rng.normal(0, 2.0, (runs, 12))[:, sheet]
        + rng.normal(0, 1.0, (runs, place.max() + 1))[:, place]
        + rng.normal(0, 0.5, (runs, sheet.size))
        + 100.0
    )
    raw = nested_components(values, levels=[outer, inner]).raw
    # Within four standard errors of the truth 4, 1, 0.25.
    error = raw.std(axis=1) / np.sqrt(runs)
    assert (np.abs(raw.mean(axis=1) - [4.0, 1.0, 0.25]) < 4 * error).all()


def test_balanced_components_by_hand() -> None:
    # Two sheets of two readings: mean squares 1.0 between, 0.02 within; (1.0 - 0.02) / 2 = 0.49.
    found = nested_components([1.0, 1.2, 2.0, 2.2], levels=[[7, 7, 9, 9]])
    np.testing.assert_allclose(found.mean_square, [1.0, 0.02])
    np.testing.assert_allclose(found.variance, [0.49, 0.02])


def test_negative_component_is_cut_but_kept_to_see() -> None:
    found = nested_components([0.0, 2.0, 0.1, 1.9], levels=[[0, 0, 1, 1]])
    assert found.raw[0] < 0
    assert found.variance[0] == 0.0


def test_level_without_repeats_is_nan_and_part_of_the_one_above() -> None:
    once = nested_components([1.0, 2.0, 4.0], levels=[[0, 1, 2], [0, 0, 0]])
    assert np.isnan(once.variance[1:]).all()
    assert once.variance[0] == pytest.approx(np.var([1.0, 2.0, 4.0], ddof=1))
    alone = nested_components([1.0, 2.0], levels=[[0, 0]])
    assert np.isnan(alone.variance[0])
    assert alone.variance[1] == 0.5


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**32 - 1), st.floats(-1e3, 1e3), st.floats(0.01, 100.0))
def test_components_move_with_the_unit_and_not_with_the_origin(seed: int, shift: float, scale: float) -> None:
    rng = np.random.default_rng(seed)
    outer, inner = unbalanced(rng, 4)
    values = rng.normal(size=len(outer))
    plain = nested_components(values, levels=[outer, inner]).raw
    moved = nested_components(values * scale + shift, levels=[outer, inner]).raw
    np.testing.assert_allclose(moved, plain * scale**2, rtol=1e-6, atol=1e-9 * scale**2 + 1e-9)


def test_stacked_components_equal_a_loop_and_nan_stays_in_its_slice(rng: np.random.Generator) -> None:
    values = rng.normal(size=(2, 3, 8))
    values[1, 2, 5] = np.nan
    levels = [[0, 0, 0, 0, 1, 1, 1, 1], [0, 0, 1, 1, 0, 0, 1, 1]]
    stacked = nested_components(values, levels=levels).variance
    for i in range(2):
        for j in range(3):
            np.testing.assert_allclose(
                stacked[:, i, j], nested_components(values[i, j], levels=levels).variance
            )
    assert np.isnan(stacked[:, 1, 2]).all()
    assert np.isfinite(np.delete(stacked.reshape(3, 6), 5, axis=1)).all()


def test_level_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="3 group numbers"):
        nested_components([1.0, 2.0, 3.0], levels=[[0, 1]])


def test_robust_figures(rng: np.random.Generator) -> None:
    stats = pytest.importorskip("scipy.stats")
    clean = rng.normal(50.0, 2.0, (4, 4001))
    np.testing.assert_allclose(
        median_deviation(clean), stats.median_abs_deviation(clean, axis=-1, scale="normal"), rtol=1e-12
    )
    mean, sd = robust_mean(clean)
    np.testing.assert_allclose(mean, 50.0, atol=0.15)
    np.testing.assert_allclose(sd, 2.0, rtol=0.04)
    spoilt = clean.copy()
    spoilt[:, :80] = 1e6
    again, sd_again = robust_mean(spoilt)
    np.testing.assert_allclose(again, mean, atol=0.2)
    assert (sd_again < 2.3).all()


def test_robust_figures_of_few_or_no_values() -> None:
    values = np.array([[1.0, np.nan, 3.0], [np.nan, np.nan, np.nan], [np.nan, 4.0, np.nan]])
    np.testing.assert_allclose(median_deviation(values), [1.4826022, np.nan, 0.0], rtol=1e-7)
    mean, sd = robust_mean(values)
    np.testing.assert_allclose(mean, [2.0, np.nan, 4.0])
    assert np.isnan(sd[1:]).all()
    assert np.isnan(median_deviation(np.empty((2, 0)))).all()
