"""Readings taken too early, and what several readings of one sheet say together."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from bench_trial import BenchTrial
from laydown.kernel.errors import BadSetting, NotEnoughData, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.measured import Reading
from laydown.trials.recipe import Coat
from laydown.trials.route import is_usable
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.drift_of_sheet import SheetDrift, drift_of_sheet
from laydown.usecases.bench.early_readings import leave_out_reading, use_early_reading
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.undo import undo
from ticking_clock import Clock

PATCHES = 30
TAU = 1.0  # hours; the invented prints move by exp(-t / TAU)
MOVES = 3.0  # L* of the whole way


def chart(age: float, *, seed: int, noise: float = 0.03, order: int = 1, red: int = 0) -> bytes:
    """A table of an invented sheet ``age`` hours after printing: lighter at first, at rest in the end."""
    rng = np.random.default_rng(seed)
    rows = ["SAMPLE_ID,R,G,B,L,a,b"]
    for n in range(PATCHES):
        level = 8 * n
        light = 20 + 2.4 * n + MOVES * math.exp(-age / TAU)
        lab = np.array([light, 0.5, -1.0]) + rng.normal(0, noise, 3)
        rows.append(f"{n + 1},{level},{(level + red) % 256},{level}," + ",".join(f"{v:.3f}" for v in lab))
    return "\n".join([rows[0], *rows[1:][::order]]).encode()


@pytest.fixture
def printed_at(records: Records, bench_trial: BenchTrial) -> datetime:
    run = begin_run(records, bench_trial.rag, who="Ada").thing
    return print_sheet(records, "s-K2", run_id=run.id, who="Ada").thing.at


def read(records: Records, name: str, content: bytes, at: datetime, **more: object) -> Reading:
    with records.work("read", who="Ada") as work:
        reading = Reading(
            id=name, trial_id="trial", sheet_id="s-K2", source="dropped", file_name=f"{name}.csv",
            file_sha256=work.keep_file(content), received_at=at, measured_at=at, patches=PATCHES,
        )  # fmt: skip
        return work.add(replace(reading, **more))


def drift(records: Records, trial: BenchTrial) -> SheetDrift:
    facts = trial.facts(records)
    with records.look() as look:
        return drift_of_sheet(look, facts, facts.sheet("s-K2"))


# ---------------------------------------------------------------- early


@pytest.fixture
def early(records: Records, printed_at: datetime, clock: Clock) -> Reading:
    clock.now = printed_at + timedelta(hours=2)
    return read(records, "early", chart(2, seed=1), clock.now)


def test_an_early_reading_is_left_out_until_somebody_says_otherwise(
    records: Records, bench_trial: BenchTrial, early: Reading
) -> None:
    assert not is_usable(bench_trial.facts(records), reading_id=early.id)
    used = use_early_reading(records, early.id, why="our test: at rest after 1 h", who="Ada").thing
    assert (used.early_used_by, used.early_used_why) == ("Ada", "our test: at rest after 1 h")
    assert used.early_used_at is not None
    assert is_usable(bench_trial.facts(records), reading_id=early.id)
    leave_out_reading(records, early.id, who="Ben", why="the lamp was warming up")
    assert not is_usable(bench_trial.facts(records), reading_id=early.id)


def test_undo_of_either_goes_back(records: Records, bench_trial: BenchTrial, early: Reading) -> None:
    acted = use_early_reading(records, early.id, why="a test", who="Ada")
    taken = leave_out_reading(records, early.id, who="Ada")
    undo(records, taken.entry_id, who="Ada")
    assert is_usable(bench_trial.facts(records), reading_id=early.id)
    undo(records, acted.entry_id, who="Ada")
    assert not is_usable(bench_trial.facts(records), reading_id=early.id)


def test_only_what_is_early_is_let_in_and_only_with_a_reason(
    records: Records, early: Reading, printed_at: datetime, clock: Clock
) -> None:
    with pytest.raises(BadSetting, match="why"):
        use_early_reading(records, early.id, why="  ", who="Ada")
    with pytest.raises(RefusedInput, match="not used before its time"):
        leave_out_reading(records, early.id, who="Ada")
    clock.now = printed_at + timedelta(hours=30)
    late = read(records, "late", chart(30, seed=2), clock.now)
    with pytest.raises(RefusedInput, match="not taken too early"):
        use_early_reading(records, late.id, why="a test", who="Ada")
    use_early_reading(records, early.id, why="a test", who="Ada")
    with pytest.raises(RefusedInput, match="used already"):
        use_early_reading(records, early.id, why="a test", who="Ada")


# ---------------------------------------------------------------- drift


def read_at(records: Records, printed_at: datetime, clock: Clock, ages: list[float], **how: object) -> None:
    for number, age in enumerate(ages):
        clock.now = max(clock.now, printed_at + timedelta(hours=age))
        read(
            records,
            f"at-{age:g}",
            chart(age, seed=number, **how),  # type: ignore[arg-type]
            printed_at + timedelta(hours=age),
        )


def test_the_curve_finds_when_the_print_came_to_rest(
    records: Records, bench_trial: BenchTrial, printed_at: datetime, clock: Clock
) -> None:
    read_at(records, printed_at, clock, [0.5, 1, 2, 4, 8, 24, 48])
    found = drift(records, bench_trial)
    assert found.condition == "M not stated, backing not stated, illuminant/observer not stated"
    assert [round(item.hours, 2) for item in found.readings] == [0.5, 1, 2, 4, 8, 24, 48]
    # dE00 of a step in L* is at most the step; after t hours 3 exp(-t) of it is still to come: 0.05 at 4 h
    # lies within the repeatability of ordinary instruments, 0.41 at 2 h does not.
    assert found.curve.settled_at_hours == 4.0
    assert found.curve.settling.after_hours == 2.0
    assert found.left_out == ()


def test_patches_in_another_order_are_put_in_place(
    records: Records, bench_trial: BenchTrial, printed_at: datetime, clock: Clock
) -> None:
    read_at(records, printed_at, clock, [8, 24])
    clock.now = printed_at + timedelta(hours=48)
    read(records, "turned", chart(48, seed=9, order=-1), clock.now)
    assert drift(records, bench_trial).curve.from_last.mean.max() < 0.1


def test_another_chart_is_left_out_and_said(
    records: Records, bench_trial: BenchTrial, printed_at: datetime, clock: Clock
) -> None:
    read_at(records, printed_at, clock, [2, 4, 8])
    clock.now = printed_at + timedelta(hours=5)
    read(records, "other", chart(5, seed=5, red=60), clock.now)
    found = drift(records, bench_trial)
    assert [(one.file_name, one.why) for one in found.left_out] == [("other.csv", "it is of another chart")]


def test_what_was_set_aside_or_cannot_be_read_is_left_out_and_said(
    records: Records, bench_trial: BenchTrial, printed_at: datetime, clock: Clock
) -> None:
    read_at(records, printed_at, clock, [2, 4, 8])
    read(records, "aside", chart(5, seed=5), clock.now, set_aside_at=clock.now, set_aside_why="wrong sheet")
    read(records, "broken", b"no measurements here", clock.now)
    found = drift(records, bench_trial)
    assert {one.file_name: one.why.split(":")[0] for one in found.left_out}.keys() == {
        "aside.csv",
        "broken.csv",
    }
    assert "set aside: wrong sheet" in [one.why for one in found.left_out]


def test_one_reading_is_not_enough_and_says_so(
    records: Records, bench_trial: BenchTrial, printed_at: datetime, clock: Clock
) -> None:
    with pytest.raises(NotEnoughData) as refused:
        drift(records, bench_trial)
    assert "Read it again" in refused.value.todo
    read_at(records, printed_at, clock, [2])
    with pytest.raises(NotEnoughData, match="1 reading"):
        drift(records, bench_trial)


def test_readings_before_and_after_coating_are_not_set_against_one_another(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    run = begin_run(records, bench_trial.canvas_coated, who="Ada").thing
    at = print_sheet(records, "s-T2", run_id=run.id, who="Ada").thing.at
    clock.now = at + timedelta(hours=25)
    read(records, "bare", chart(24, seed=1), at + timedelta(hours=24), sheet_id="s-T2")
    coated = (
        coat_sheets(records, bench_trial.trial, ["s-T2"], Coat(product="Clear coat 5"), who="Ada").thing[0].at
    )
    clock.now = coated + timedelta(hours=50)
    for hours in (1, 24, 48):
        name = f"coated-{hours}"
        read(records, name, chart(60, seed=hours), coated + timedelta(hours=hours), sheet_id="s-T2")
    facts = bench_trial.facts(records)
    with records.look() as look:
        found = drift_of_sheet(look, facts, facts.sheet("s-T2"))
    assert found.finish == "coated"
    assert [(one.file_name, one.why) for one in found.left_out] == [
        ("bare.csv", "read in another finish: uncoated")
    ]
