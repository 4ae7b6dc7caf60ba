"""Misread and swapped patches are found among thousands, and good charts are left in peace."""

from __future__ import annotations

import time

import numpy as np
import pytest

from laydown.science.colour import lab_from_reflectance
from laydown.science.readings import read_measurements
from laydown.science.readings.suspicious import suspicious_rows

CHARTS = ("chart-2033-M0", "chart-2033-M2", "chart-3190-M0", "chart-3190-M2")


def invented_chart(rng, steps=9, noise=0.3):
    """A smooth invented printer: device grid and Lab."""
    axis = np.linspace(0.0, 1.0, steps)
    device = np.stack(np.meshgrid(axis, axis, axis), axis=-1).reshape(-1, 3)
    light = device**1.4
    lab = np.stack([
        15.0 + 80.0 * light @ [0.3, 0.6, 0.1],
        70.0 * (light[:, 0] - light[:, 1]),
        60.0 * (light @ [0.5, 0.5, -1.0]),
    ], axis=-1)  # fmt: skip
    return device, lab + rng.normal(0.0, noise, lab.shape)


@pytest.fixture(scope="module")
def charts(shared_data):
    found = {}
    for name in CHARTS:
        data = (shared_data / "inkjet-matte" / f"{name}.txt").read_bytes()
        (table,) = read_measurements(data, file=name).tables
        found[name] = (
            table.device,
            lab_from_reflectance(table.reflectance, wavelengths_nm=table.wavelengths_nm),
        )
    return found


def test_a_good_invented_chart_is_left_in_peace(rng):
    assert suspicious_rows(*invented_chart(rng)) == []


def test_a_swap_is_named_both_ways(rng):
    device, lab = invented_chart(rng)
    lab[[100, 600]] = lab[[600, 100]]
    ids = tuple(f"P{i}" for i in range(len(lab)))
    found = suspicious_rows(device, lab, ids=ids)
    assert [(s.row, s.kind) for s in found] == [(100, "swapped"), (600, "swapped")]
    assert found[0].explanation.startswith("looks swapped with patch P600: ")
    assert found[1].explanation.startswith("looks swapped with patch P100: ")


def test_a_misread_patch_is_odd_and_not_swapped(rng):
    device, lab = invented_chart(rng)
    lab[321] += [0.0, 12.0, 0.0]
    (found,) = suspicious_rows(device, lab)
    assert (found.row, found.kind) == (321, "odd")
    assert "dE76 away" in found.explanation


def test_two_swaps_at_once_are_told_apart(rng):
    device, lab = invented_chart(rng)
    lab[[20, 700, 60, 400]] = lab[[700, 20, 400, 60]]
    pairs = {s.row: s.explanation.split(":")[0] for s in suspicious_rows(device, lab)}
    assert pairs[20].endswith("patch 701")
    assert pairs[400].endswith("patch 61")
    assert len(pairs) == 4


def test_missing_values_are_passed_over_and_keep_row_numbers(rng):
    device, lab = invented_chart(rng)
    lab[5], device[6, 0] = np.nan, np.nan
    lab[300] += [15.0, 0.0, 0.0]
    assert [s.row for s in suspicious_rows(device, lab)] == [300]


@pytest.mark.parametrize("n", [0, 1, 3, 39])
def test_small_charts_say_nothing(rng, n):
    assert suspicious_rows(rng.random((n, 3)), rng.random((n, 3)) * 100) == []


def test_many_patches_of_few_colours_say_nothing(rng):
    device = np.repeat(np.eye(3), 50, axis=0)
    assert suspicious_rows(device, rng.random((150, 3)) * 100) == []


def test_order_of_rows_does_not_matter(rng):
    device, lab = invented_chart(rng)
    lab[[100, 600]] = lab[[600, 100]]
    order = rng.permutation(len(lab))
    rows = {int(order[s.row]) for s in suspicious_rows(device[order], lab[order])}
    assert rows == {100, 600}


@pytest.mark.shared_data
@pytest.mark.parametrize("name", CHARTS)
def test_measured_charts_are_left_in_peace(charts, name):
    assert suspicious_rows(*charts[name]) == []


@pytest.mark.shared_data
@pytest.mark.parametrize("name", ["chart-2033-M0", "chart-3190-M2"])
def test_planted_swaps_and_misreadings_are_found_in_measured_charts(charts, name, rng):
    device, lab = charts[name]
    found = tried = 0
    for _ in range(10):
        i, j = rng.choice(len(lab), 2, replace=False)
        if np.linalg.norm(lab[i] - lab[j]) < 25.0:
            continue
        tried += 1
        wrong = lab.copy()
        wrong[[i, j]] = wrong[[j, i]]
        assert {(s.row, s.kind) for s in suspicious_rows(device, wrong)} == {(i, "swapped"), (j, "swapped")}
        away = rng.normal(size=3)
        wrong = lab.copy()
        wrong[i] += 12.0 * away / np.linalg.norm(away)
        rows = [s.row for s in suspicious_rows(device, wrong)]
        assert set(rows) <= {i}
        found += len(rows)
    assert tried >= 5
    assert found >= tried - 1


@pytest.mark.shared_data
def test_three_thousand_patches_take_a_fraction_of_a_second(charts):
    device, lab = charts["chart-3190-M0"]
    suspicious_rows(device, lab)
    times = []
    for _ in range(5):
        start = time.perf_counter()
        suspicious_rows(device, lab)
        times.append(time.perf_counter() - start)
    assert min(times) < 0.15
