"""A computer's clock that was ahead and is put right: the trial can be corrected and gone on with."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.kernel.errors import Contradiction
from laydown.records.ledger import Records
from laydown.records.verifying import verify
from laydown.trials.sheets import SheetEvent
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.sheet_events import correct_event
from ticking_clock import Clock


@pytest.fixture
def ahead(records: Records, clock: Clock) -> tuple[BenchTrial, list[SheetEvent]]:
    """Two sheets printed while the clock was three days ahead."""
    trial = make_bench_trial(records)
    clock.advance(days=3)
    run = begin_run(records, trial.rag, who="Ada").thing
    sheets = [trial.sheet(records, trial.rag, number) for number in (0, 1)]
    printed = [print_sheet(records, one.id, run_id=run.id, who="Ada").thing for one in sheets]
    clock.advance(days=-3)
    return trial, printed


def test_each_is_corrected_on_its_own(
    records: Records, clock: Clock, ahead: tuple[BenchTrial, list[SheetEvent]]
) -> None:
    for event in ahead[1]:
        correct_event(records, event.id, why="the clock was ahead", who="Ada", at=clock.now)
    assert verify(records).troubles == ()


def test_other_work_goes_on(records: Records, ahead: tuple[BenchTrial, list[SheetEvent]]) -> None:
    trial, _ = ahead
    run = begin_run(records, trial.gloss, who="Ada").thing
    print_sheet(records, trial.sheet(records, trial.gloss).id, run_id=run.id, who="Ada")


def test_nothing_new_happens_in_the_future(records: Records, clock: Clock) -> None:
    trial = make_bench_trial(records)
    run = begin_run(records, trial.rag, who="Ada").thing
    sheet = trial.sheet(records, trial.rag)
    with records.look() as look:
        before = look.entries()
    later = clock.now + timedelta(hours=3)
    with pytest.raises(Contradiction, match="in the future"), records.work("printed", who="Ada") as work:
        work.add(
            SheetEvent(id="e", trial_id=trial.trial, sheet_id=sheet.id, at=later, kind="printed", by=run.id)
        )
    with records.look() as look:
        assert look.entries() == before
