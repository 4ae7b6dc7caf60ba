"""The board: what waits for whom, in which order, and how quickly it is found among many sheets."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bench_trial import BenchTrial, make_bench_trial
from laydown.records.ledger import Records
from laydown.records.shapes import to_plain
from laydown.records.tables import TABLES
from laydown.records.trial_facts import load_facts
from laydown.trials.measured import Doubt, Reading
from laydown.trials.recipe import Coat
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.board import board, trial_lines
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.early_readings import use_early_reading
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.spoil_sheet import add_sheet, spoil_sheet
from ticking_clock import Clock

HUMID = 55.0


def shown(records: Records, *, trial: str | None = None) -> list[tuple[str, str]]:
    with records.look() as look:
        return [(line.sheet.code, line.waits_for) for line in board(look, now=records.now(), trial_id=trial)]


def printed(records: Records, candidate: str, *codes: str, rh: float = 40.0) -> None:
    run = begin_run(records, candidate, who="Ada", room_rh=rh).thing
    for code in codes:
        print_sheet(records, f"s-{code}", run_id=run.id, who="Ada")


def read(records: Records, code: str, at: datetime) -> Reading:
    with records.work("read", who="Ada") as work:
        return work.add(
            Reading(
                id=records.new_id(), trial_id="trial", sheet_id=f"s-{code}", source="dropped",
                file_name=f"{code}.txt", file_sha256="0" * 64, received_at=at, measured_at=at,
            )
        )  # fmt: skip


def test_a_sheet_goes_from_clock_to_measuring_to_off_the_board(any_records: Records, clock: Clock) -> None:
    make_bench_trial(any_records)
    assert shown(any_records) == []
    printed(any_records, "rag", "K2")
    assert shown(any_records) == [("K2", "clock")]
    clock.advance(hours=25)
    assert shown(any_records) == [("K2", "measure")]
    read(any_records, "K2", clock.now)
    assert shown(any_records) == []


def test_a_coated_arm_waits_for_its_coat_then_its_clock(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "canvas-coated", "T2")
    clock.advance(hours=25)
    assert shown(records) == [("T2", "coat")]
    coat_sheets(records, "trial", ["s-T2"], Coat(product="Clear coat 5"), who="Ada")
    assert shown(records) == [("T2", "clock")]
    clock.advance(hours=25)
    assert shown(records) == [("T2", "measure")]


def test_a_reading_of_the_bare_sheet_does_not_measure_the_coated_one(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "canvas-coated", "T2")
    clock.advance(hours=25)
    read(records, "T2", clock.now)
    assert shown(records) == [("T2", "coat")]
    coat_sheets(records, "trial", ["s-T2"], Coat(product="Clear coat 5"), who="Ada")
    clock.advance(hours=25)
    assert shown(records) == [("T2", "measure")]


def test_an_early_reading_leaves_the_sheet_on_the_board_until_it_is_let_in(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2")
    clock.advance(hours=3)
    reading = read(records, "K2", clock.now)
    clock.advance(hours=1000)
    assert shown(records) == [("K2", "measure")]
    use_early_reading(records, reading.id, why="a test", who="Ada")
    assert shown(records) == []


def test_a_measured_barrier_print_stays_while_it_may_not_be_glazed(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "gloss", "X2")
    clock.advance(hours=49)
    assert shown(records) == [("X2", "measure")]
    read(records, "X2", clock.now)
    assert shown(records) == [("X2", "clock")]
    clock.advance(days=14)
    assert shown(records) == []


def test_what_can_be_done_now_comes_first_then_the_next_change(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2", rh=40)
    clock.advance(hours=10)
    printed(records, "canvas", "R2", rh=HUMID)  # 48 h in a humid room
    clock.advance(hours=10)
    printed(records, "rag", "K3", rh=40)
    clock.advance(hours=5)
    assert shown(records) == [("K2", "measure"), ("K3", "clock"), ("R2", "clock")]


def test_spoiled_withdrawn_closed_and_removed_do_not_wait(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2", "K3")
    printed(records, "gloss", "X2")
    spoil_sheet(records, "s-K2", why="scratched", who="Ada")
    assert {code for code, _ in shown(records)} == {"K3", "X2"}
    with records.work("withdrew", who="Ada") as work:
        work.change(replace(work.get(Candidate, "gloss"), withdrawn_at=work.now))
    assert {code for code, _ in shown(records)} == {"K3"}
    for field in ("closed_at", "removed_at"):
        with records.work("shut", who="Ada") as work:
            kept = work.get(Trial, "trial")
            work.change(replace(kept, **{field: work.now}))
        assert shown(records) == []
        with records.work("opened", who="Ada") as work:
            work.change(kept)


def test_setting_sheets_leave_the_board_when_their_clocks_have_run(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    sheet = add_sheet(records, "rag", use="setting", who="Ada").thing
    run = begin_run(records, "rag", who="Ada").thing
    print_sheet(records, sheet.id, run_id=run.id, who="Ada")
    assert shown(records) == [(sheet.code, "clock")]
    clock.advance(hours=25)
    assert shown(records) == []


def test_one_trial_is_shown_alone(records: Records, bench_trial: BenchTrial) -> None:
    printed(records, "rag", "K2")
    assert shown(records, trial="trial") == [("K2", "clock")]
    assert shown(records, trial="another") == []


HOURS = st.integers(0, 400)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cure=st.none() | st.integers(1, 300), rh=st.sampled_from([40.0, HUMID]), coat=st.none() | HOURS,
    read_at=st.lists(HOURS, max_size=2), asked=HOURS, in_doubt=st.booleans(),
    arm=st.sampled_from(["K2", "T2", "X2"]),
)  # fmt: skip
def test_the_database_leaves_nothing_out_that_the_rules_would_show(
    records: Records,
    clock: Clock,
    cure: int | None,
    rh: float,
    coat: int | None,
    read_at: list[int],
    asked: int,
    in_doubt: bool,
    arm: str,
) -> None:
    """Whatever happened when: the board of the database is the board of everything, less what is done."""
    with records.look() as look:
        made = look.seek(Trial, "trial") is not None
    if not made:
        make_bench_trial(records)
    candidate = {"K2": "rag", "T2": "canvas-coated", "X2": "gloss"}[arm]
    start = datetime.fromisoformat("2026-03-02T09:00:00+00:00")
    later = start + timedelta(hours=500)
    clock.now = later

    def event(kind: str, hours: int, **more: object) -> SheetEvent:
        at = start + timedelta(hours=hours)
        return SheetEvent(
            id=records.new_id(), trial_id="trial", sheet_id=f"s-{arm}", at=at, kind=kind, **more
        )

    with records.work("set up", who="Ada") as work:
        for noun in (SheetEvent, Reading):
            for thing in work.find(noun):
                work.remove(noun, thing.id)
        work.change(replace(work.get(Candidate, candidate), cure_hours=cure))
        work.add(event("printed", 0, room_rh=rh))
        if coat is not None and arm == "T2":
            work.add(event("coated", coat))
        for hours in read_at:
            at = start + timedelta(hours=hours)
            work.add(
                Reading(
                    id=records.new_id(), trial_id="trial", sheet_id=f"s-{arm}", source="dropped",
                    file_name="x", file_sha256="0" * 64, received_at=at, measured_at=at,
                    doubts=(Doubt(kind="turned", words="It is upside down.", question="Is it?"),) * in_doubt,
                )
            )  # fmt: skip
    now = start + timedelta(hours=asked)
    with records.look() as look:
        wanted = trial_lines(load_facts(look, "trial"), now=now)
        assert board(look, now=now) == tuple(line for line in wanted if line.waits_for != "nothing")


def test_a_sheet_that_was_read_in_doubt_waits_for_an_answer(any_records: Records, clock: Clock) -> None:
    """Comparisons do not use it yet, and reading it once more would not answer the question."""
    make_bench_trial(any_records)
    printed(any_records, "rag", "K2")
    clock.advance(hours=30)
    reading = read(any_records, "K2", clock.now)
    asked = Doubt(kind="turned", words="It is upside down.", question="Was it turned?")
    with any_records.work("asked", who="Ada") as work:
        work.change(replace(reading, doubts=(asked,)))
    assert shown(any_records) == [("K2", "answer")]
    with any_records.work("answered", who="Ada") as work:
        work.change(replace(reading, doubts=(replace(asked, answer="keep: Keep it"),)))
    assert shown(any_records) == []


def test_the_room_noted_with_another_print_speaks_on_the_board_too(records: Records, clock: Clock) -> None:
    """A sheet is asked about alone there, and still cures as long as on the pages of its trial."""
    make_bench_trial(records)
    printed(records, "rag", "K2", rh=HUMID)
    clock.advance(hours=2)
    bare = begin_run(records, "canvas", who="Ada").thing
    print_sheet(records, "s-R2", run_id=bare.id, who="Ada")
    with records.look() as look:
        facts, lines = load_facts(look, "trial"), board(look, now=records.now())
        assert lines == trial_lines(facts, now=records.now())
    (canvas,) = (line for line in lines if line.sheet.code == "R2")
    assert canvas.clocks.cure_hours == 48
    assert "2 h before it" in canvas.clocks.cure_why


def many_sheets(records: Records, *, trials: int, sheets: int, waiting: int) -> None:
    """Running trials full of measured sheets, the last ``waiting`` of them not measured yet."""
    start = records.now() - timedelta(days=60)
    made: dict[type, list[dict[str, object]]] = {noun: [] for noun in (Sheet, SheetEvent, Reading)}
    number = 0
    for trial in range(trials):
        for _ in range(sheets):
            number += 1
            fresh = number > trials * sheets - waiting
            at = records.now() - timedelta(hours=number % 70) if fresh else start
            own = {"trial_id": f"t{trial}", "sheet_id": f"s{number}"}
            made[Sheet].append(
                to_plain(
                    Sheet(id=f"s{number}", trial_id=f"t{trial}", candidate_id=f"c{trial}", code=f"K{number}")
                )
            )
            made[SheetEvent].append(vars_of(SheetEvent(id=f"e{number}", at=at, kind="printed", **own)))
            if not fresh:
                made[Reading].append(
                    vars_of(
                        Reading(
                            id=f"r{number}", source="dropped", file_name="x", file_sha256="0" * 64,
                            received_at=at + timedelta(days=3), **own,
                        )
                    )
                )  # fmt: skip
    records.check = None  # the rules are not what is timed here
    with records.work("filled", who="Ada") as work:
        work.add(Medium(id="m", name="Fenland Rag"))
        for trial in range(trials):
            work.add(Trial(id=f"t{trial}", name=f"Trial {trial}", begun=date(2026, 1, 1)))
            work.add(Candidate(id=f"c{trial}", trial_id=f"t{trial}", medium_id="m", name="Fenland Rag"))
        for noun, rows in made.items():
            work.connection.execute(TABLES[noun].insert(), [row | {"revision": 1} for row in rows])


def vars_of(thing: object) -> dict[str, object]:
    return {name: getattr(thing, name) for name in thing.__dataclass_fields__}  # type: ignore[attr-defined]


@pytest.mark.parametrize("waiting", [200])
def test_twenty_thousand_sheets_are_looked_through_while_nobody_notices(
    records: Records, waiting: int
) -> None:
    many_sheets(records, trials=100, sheets=200, waiting=waiting)
    took = []
    for _ in range(3):
        with records.look() as look:
            began = (
                time.process_time()
            )  # the database works in this process; others may keep the machine busy
            lines = board(look, now=records.now())
            took.append(time.process_time() - began)
    assert len(lines) == waiting
    assert min(took) < 0.2, took
