"""A small run of ``benchmarks/simulate_trials.py``: whole trials with known truth, and proof it would fail.

The figures of the full study are in ``docs/methods/simulation.md``. The bounds here are those of the study
(95 % intervals, wrong calls in 5 % of trials) widened for the few trials; every seed is fixed.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from laydown.compute.runner import SerialRunner

TRIALS = 40
TRUTH_SHEETS = 250
SEED = 11


@pytest.fixture(scope="module")
def study():
    """The modules of the benchmark, which are no package."""
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(Path(__file__).resolve().parents[2] / "benchmarks"))
        import judged_trials
        import simulate_trials
        import simulated_sheets
        import trial_tables

        yield SimpleNamespace(
            trials=judged_trials,
            sheets=simulated_sheets,
            tables=trial_tables,
            scenarios=simulate_trials.scenarios,
        )


@pytest.fixture(scope="module")
def scenario(study):
    return replace(study.scenarios()[0], conditions=("M1",))


@pytest.fixture(scope="module")
def truths(study, scenario):
    kinds = list(dict.fromkeys(kind for _, kind in scenario.kinds))
    return study.sheets.find_truths(
        kinds, sheets=TRUTH_SHEETS, seed=SEED, runner=SerialRunner(), conditions=("M1",)
    )


@pytest.fixture(scope="module")
def outcomes(study, scenario):
    return [study.trials.run_trial(study.trials.Job(scenario, (SEED, number))) for number in range(TRIALS)]


@pytest.fixture(scope="module")
def tally(study, scenario, outcomes, truths):
    return study.trials.tally(scenario, outcomes, truths)


def plain(study, tally):
    return study.tables.JUDGED & ~tally.stepped


def test_intervals_of_findings_and_differences_hold_the_truth(study, tally):
    rows = plain(study, tally)
    assert rows.sum() >= 18  # the findings that spectra under one condition allow
    assert 0.915 <= study.tables.share(tally.covers[:, rows]) <= 0.985
    assert 0.915 <= study.tables.share(tally.covers_difference[:, rows]) <= 0.985


def test_few_trials_have_a_wrong_call_and_no_more_than_few_a_wrong_same(tally):
    # 7 of 40 and more has a chance of 0.4 % where 5 % of trials are wrong.
    assert tally.wrong.any(axis=(1, 2)).sum() <= 6
    assert tally.wrong_same[:, tally.matters].mean() <= 0.05


def test_large_differences_are_told_and_none_is_called_the_same(tally):
    judged = np.isfinite(tally.covers_difference).any(axis=0)
    with np.errstate(invalid="ignore"):
        large = judged & (np.abs(tally.gap) >= 3.0 * tally.margin[:, None])
    none = judged & (tally.gap == 0) & np.isfinite(tally.margin)[:, None]
    assert large.sum() >= 20
    assert none.sum() >= 20
    assert np.mean(tally.calls[:, large] == np.sign(tally.gap[large])) >= 0.97
    assert np.mean(tally.calls[:, none] == 0) >= 0.75


def test_a_truth_that_is_off_by_one_sd_would_be_noticed(study, scenario, outcomes, truths):
    off = {kind: replace(truth, mean=truth.mean + truth.sd) for kind, truth in truths.items()}
    told = study.trials.tally(scenario, outcomes, off)
    assert study.tables.share(told.covers[:, plain(study, told)]) < 0.85


def test_intervals_half_as_wide_would_be_noticed(study, scenario, outcomes, truths):
    def narrowed(said):
        kept = np.array(said)
        kept[1:3] = 0.5 * (said[1:3] + said[0])
        return kept

    narrow = [
        replace(it, findings=narrowed(it.findings), differences=narrowed(it.differences)) for it in outcomes
    ]
    told = study.trials.tally(scenario, narrow, truths)
    rows = plain(study, told)
    assert study.tables.share(told.covers[:, rows]) < 0.85
    assert study.tables.share(told.covers_difference[:, rows]) < 0.85


def test_calls_the_wrong_way_round_would_be_noticed(study, scenario, outcomes, truths):
    reversed_calls = [replace(it, calls=-it.calls) for it in outcomes]
    assert study.trials.tally(scenario, reversed_calls, truths).wrong.any(axis=(1, 2)).all()


def test_calls_follow_every_difference_that_is_seen_were_they_not_strict(study, scenario, outcomes, truths):
    """Calling every difference whose ordinary interval leaves out zero is wrong far too often."""

    def eager(it):
        said = np.where((it.differences[1] > 0) | (it.differences[2] < 0), np.sign(it.differences[0]), np.nan)
        return replace(it, calls=said)

    told = study.trials.tally(scenario, [eager(it) for it in outcomes], truths)
    assert told.wrong.any(axis=(1, 2)).mean() > 0.3


def test_misreads_do_not_make_wrong_calls(study, scenario, truths):
    careless = replace(scenario, mistaken=0.3)
    told = study.trials.simulate(careless, truths, trials=10, seed=(SEED, 1), runner=SerialRunner())
    assert told.wrong.any(axis=(1, 2)).sum() <= 3  # 4 of 10 and more has a chance of 0.1 % at 5 %


def test_a_trial_depends_on_its_seed_alone(study, scenario, outcomes):
    again = study.trials.run_trial(study.trials.Job(scenario, (SEED, 0)))
    for name in ("findings", "differences", "calls"):
        np.testing.assert_array_equal(getattr(again, name), getattr(outcomes[0], name))
    assert not np.array_equal(outcomes[0].findings, outcomes[1].findings, equal_nan=True)


@pytest.mark.parametrize(
    ("call", "preference", "says"),
    [
        ("better", "higher", 1),
        ("better", "lower", -1),
        ("worse", "higher", -1),
        ("worse", "lower", 1),
        ("higher", "none", 1),
        ("lower", "none", -1),
        ("same", "lower", 0),
    ],
)
def test_what_a_call_says_of_the_number(study, call, preference, says):
    assert study.trials.direction(call, preference) == says


def test_cannot_tell_says_nothing(study):
    assert np.isnan(study.trials.direction("cannot_tell", "higher"))
