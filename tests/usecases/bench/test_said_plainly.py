"""What a studio is told when something does not go: both times, the later act, what a roll lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bench_trial import make_bench_trial
from laydown.kernel.errors import BadSetting, ChangedMeanwhile, Contradiction
from laydown.records.ledger import Records
from laydown.trials.material import SHEET_MM
from laydown.trials.stock import RollUse
from laydown.trials.trial import Plan
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.settle_hours import check_wait
from laydown.usecases.trial.rename_trial import rename_trial
from laydown.usecases.undo import undo


def test_a_print_before_the_seal_is_told_both_times(records: Records) -> None:
    made = make_bench_trial(records)
    sheet = made.sheet(records, made.rag)
    early = records.now() - timedelta(days=2)
    run = begin_run(records, made.rag, who="Ada", begun_at=early).thing
    with pytest.raises(
        Contradiction, match=r"before the brief is sealed \(28 February .* sealed 2 March 2026"
    ):
        print_sheet(records, sheet.id, run_id=run.id, who="Ada", at=early + timedelta(minutes=5))


def test_a_roll_loses_the_usual_length_where_the_plan_states_none(records: Records) -> None:
    made = make_bench_trial(records)
    with records.work("changed", who="Ada") as work:
        work.change(replace(work.get(Plan, "plan"), sheet_length_mm=None))
    run = begin_run(records, made.rag, who="Ada").thing
    print_sheet(records, made.sheet(records, made.rag).id, run_id=run.id, who="Ada")
    with records.look() as look:
        uses = look.find(RollUse, roll_id="r-rag")
    assert [use.length_mm for use in uses] == [SHEET_MM.value]


def test_an_undo_that_is_too_late_names_what_came_after(records: Records) -> None:
    made = make_bench_trial(records)
    told = {"question": made.facts(records).trial.question, "client": ""}
    first = rename_trial(records, made.trial, who="Ada", name="Summer trial", **told)
    rename_trial(records, made.trial, who="Bo", name="Autumn trial", **told)
    with pytest.raises(ChangedMeanwhile, match=r"“Bo changed the name .*”"):
        undo(records, first.entry_id, who="Ada")


def test_a_number_that_cannot_be_is_told_as_it_was_typed() -> None:
    """Never as 1e+06, however large it is."""
    with pytest.raises(BadSetting, match=r"a room at 12345678 °C cannot be"):
        clean_climate(12_345_678.0, None)
    with pytest.raises(BadSetting, match=r"a room at 1000000 % relative humidity cannot be"):
        clean_climate(None, 1_000_000.0)
    with pytest.raises(BadSetting, match=r"10000000 hours to cure cannot be"):
        check_wait(1e7, "cure")
