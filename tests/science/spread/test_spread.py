from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.colour import delta_e_2000
from laydown.science.spread import distances, mcdm, repeat_mcdm, sheet_to_sheet, variance_components


@pytest.mark.parametrize("repeats", [2, 3, 10])
def test_expected_distance_of_normal_noise(repeats: int, rng: np.random.Generator) -> None:
    # E[dE76] = sigma sqrt(8 / pi) sqrt((r - 1) / r), computed from definitions.
    sigma = 0.4
    labs = rng.normal([60.0, 10.0, -20.0], sigma, (repeats, 200_000, 3))
    expected = sigma * np.sqrt(8 / np.pi) * np.sqrt((repeats - 1) / repeats)
    assert mcdm(labs, formula="dE76").mean() == pytest.approx(expected, rel=0.005)


def test_by_hand() -> None:
    labs = np.array([[[50.0, 0.0, 0.0]], [[52.0, 0.0, 0.0]], [[51.0, 3.0, 0.0]]])
    # Mean (51, 1, 0): distances sqrt 2, sqrt 2, 2.
    np.testing.assert_allclose(distances(labs, formula="dE76")[:, 0], [2**0.5, 2**0.5, 2.0])
    expected = np.mean([delta_e_2000(np.array([51.0, 1.0, 0.0]), lab[0]) for lab in labs])
    assert float(mcdm(labs)[0]) == pytest.approx(float(expected))


def test_missing_readings_are_left_out_and_single_ones_are_nan() -> None:
    labs = np.full((3, 3, 3), np.nan)
    labs[:2, 0] = [[50, 0, 0], [52, 0, 0]]
    labs[2, 1] = [50, 0, 0]
    found = mcdm(labs, formula="dE76")
    np.testing.assert_allclose(found, [1.0, np.nan, np.nan])
    told = sheet_to_sheet(labs, formula="dE76")
    assert (told.mean, told.max, told.worst, told.repeats) == (1.0, 1.0, 0, 3)


def test_nothing_repeated_is_nan_and_no_warning() -> None:
    one = sheet_to_sheet(np.ones((1, 4, 3)))
    assert np.isnan([one.mean, one.p95, one.max]).all()
    assert one.worst == -1
    assert np.isnan(sheet_to_sheet(np.empty((0, 4, 3))).mean)
    alone = repeat_mcdm(np.ones((3, 3)), groups=[0, 1, 2])
    assert (alone.groups, alone.repeats) == (0, 0)
    assert np.isnan([alone.mean, alone.p95, alone.max]).all()
    parts = variance_components(np.ones((1, 1, 3, 3)), groups=[0, 1, 2])
    assert np.isnan([parts.sheet.mean, parts.place.mean, parts.reading.mean]).all()


def test_repeats_on_a_sheet() -> None:
    lab = np.array(
        [[50, 0, 0], [20, 1, 1], [52, 0, 0], [90, 0, 0], [90, 4, 0], [90, 2, 0], [7, 7, 7], [1, 1, 1.0]]
    )
    groups = [5, 1, 5, 2, 2, 2, -1, -1]
    found = repeat_mcdm(lab, groups=groups, formula="dE76")
    assert (found.groups, found.repeats, found.formula) == (2, 5, "dE76")
    assert found.group_numbers.tolist() == [2, 5]
    np.testing.assert_allclose(found.per_group, [4 / 3, 1.0])
    assert found.mean == pytest.approx(7 / 6)
    assert found.max == pytest.approx(2.0)
    assert found.p95 == pytest.approx(np.percentile([1, 1, 2, 2, 0], 95))


def test_a_missing_patch_leaves_its_group() -> None:
    lab = np.array([[50, 0, 0], [52, 0, 0], [np.nan, 0, 0]])
    assert repeat_mcdm(lab, groups=[0, 0, 0], formula="dE76").repeats == 2
    assert repeat_mcdm(lab[1:], groups=[0, 0], formula="dE76").groups == 0


def test_worst_patch_and_summary(rng: np.random.Generator) -> None:
    labs = rng.normal(50.0, 0.1, (4, 30, 3))
    labs[:, 17] += rng.normal(0, 0.5, (4, 3))
    found = sheet_to_sheet(labs)
    assert found.worst == 17
    assert found.max == pytest.approx(float(np.max(found.per_patch)))
    assert found.mean < found.p95 < found.max


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1))
def test_order_of_patches_and_sheets_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    labs = rng.normal([50, 5, 5], 3.0, (3, 6, 3))
    groups = np.array([0, 0, 1, 1, 1, 2])
    turn, sheets = rng.permutation(6), rng.permutation(3)
    plain, turned = sheet_to_sheet(labs), sheet_to_sheet(labs[sheets][:, turn])
    assert turned.mean == pytest.approx(plain.mean)
    a, b = repeat_mcdm(labs[0], groups=groups), repeat_mcdm(labs[0][turn], groups=groups[turn])
    assert (b.mean, b.p95, b.max) == pytest.approx((a.mean, a.p95, a.max))


def invented(
    rng: np.random.Generator, *, sheets: int, readings: int, colours: int, places: int
) -> tuple[np.ndarray, np.ndarray]:
    """Sheet, place and reading noise of SD 0.6, 0.3 and 0.1 on each axis."""
    groups = np.repeat(np.arange(colours), places)
    n = groups.size
    labs = (
        rng.normal(50.0, 10.0, (colours, 3))[groups]
        + rng.normal(0.0, 0.6, (sheets, 1, colours, 3))[:, :, groups]
        + rng.normal(0.0, 0.3, (sheets, 1, n, 3))
        + rng.normal(0.0, 0.1, (sheets, readings, n, 3))
    )
    return labs, groups


def test_components_of_invented_sheets(rng: np.random.Generator) -> None:
    labs, groups = invented(rng, sheets=4, readings=2, colours=800, places=3)
    found = variance_components(labs, groups=groups)
    mean = found.variance.mean(axis=(0, 2))
    # The cut at zero lifts the sheet component a little.
    np.testing.assert_allclose(mean, [0.36, 0.09, 0.01], rtol=0.06)
    assert found.sheet.colours == 800
    assert found.place.mean == pytest.approx(0.3 * np.sqrt(3), rel=0.05)
    assert found.reading.mean < found.reading.p95 < found.reading.max


def test_components_with_gaps_and_mixed_repeats(rng: np.random.Generator) -> None:
    labs, groups = invented(rng, sheets=4, readings=2, colours=400, places=3)
    labs[rng.random(labs.shape[:3]) < 0.05] = np.nan
    groups = groups.copy()
    groups[::3] = -1  # two places left
    found = variance_components(labs, groups=groups)
    np.testing.assert_allclose(np.nanmean(found.variance, axis=(0, 2)), [0.36, 0.09, 0.01], rtol=0.12)


def test_what_was_not_repeated_is_part_of_the_source_before(rng: np.random.Generator) -> None:
    labs, _ = invented(rng, sheets=5, readings=1, colours=50, places=1)
    found = variance_components(labs, groups=np.arange(50))
    assert np.isnan([found.place.mean, found.reading.mean]).all()
    assert found.place.colours == 0
    np.testing.assert_allclose(found.variance[:, 0], labs[:, 0].var(axis=0, ddof=1))


def test_stacked_colours_equal_one_by_one(rng: np.random.Generator) -> None:
    labs, groups = invented(rng, sheets=3, readings=2, colours=5, places=2)
    together = variance_components(labs, groups=groups)
    for number in range(5):
        chosen = groups == number
        alone = variance_components(labs[:, :, chosen], groups=groups[chosen])
        np.testing.assert_allclose(alone.variance[0], together.variance[number])


def test_inputs_are_not_changed() -> None:
    labs = np.array([[[50.0, np.nan, 0.0]], [[52.0, 0.0, 0.0]]])
    labs.flags.writeable = False
    sheet_to_sheet(labs)
    repeat_mcdm(labs[:, 0], groups=np.array([0, 0]))
    variance_components(labs[:, np.newaxis], groups=np.array([0]))
