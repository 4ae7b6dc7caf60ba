"""Whatever people do, in whatever order: a trial never contradicts itself, and its journal tells it all.

A machine draws acts at random (also nonsensical ones, and undoing anything) and does them through the same
use cases as the pages, on records of their own. After every act the rules of a trial are asked.
"""

from __future__ import annotations

import math
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from laydown.kernel.errors import LaydownError
from laydown.records.engine import open_engine, sqlite_url
from laydown.records.file_vault import FileVault
from laydown.records.ledger import Records
from laydown.records.trial_facts import contradictions_of, load_facts
from laydown.records.verifying import verify
from laydown.trials.clocks import reading_age, sheet_clocks
from laydown.trials.contradictions import contradictions
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Coat
from laydown.trials.route import is_usable, route_of
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll, RollUse
from laydown.trials.studio import Printer
from laydown.trials.trial import Brief, Candidate, Gate, Plan
from laydown.usecases.bench.begin_run import begin_run, end_run, set_run
from laydown.usecases.bench.board import board, trial_lines
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.early_readings import leave_out_reading, use_early_reading
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.run_steps import run_steps
from laydown.usecases.bench.settle_hours import set_hours
from laydown.usecases.bench.sheet_events import correct_event, note_event, take_back_event
from laydown.usecases.bench.spoil_sheet import add_sheet, replace_with_spare, spoil_sheet
from laydown.usecases.bench.tick_step import tick_step, untick_step
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.set_aside import bring_back, set_aside
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.change_brief import change_brief
from laydown.usecases.trial.close_trial import close_trial, reopen_trial
from laydown.usecases.trial.draw_sheets import add_sheets, draw_sheets
from laydown.usecases.trial.name_candidate import name_candidate, name_coated_arm
from laydown.usecases.trial.remove_trial import bring_back_trial, remove_trial
from laydown.usecases.trial.seal_brief import seal_brief
from laydown.usecases.trial.withdraw_candidate import readmit_candidate, withdraw_candidate
from laydown.usecases.trial.write_brief import write_brief
from laydown.usecases.trial.write_plan import write_plan
from laydown.usecases.undo import undo
from ticking_clock import Clock

Picked = TypeVar("Picked")
PICK = st.integers(0, 2**20)
HOURS = st.integers(-30, 400)
WHY = st.sampled_from(["", "it was so", "head strike"])
MEDIA = {"rag": False, "gloss": True, "canvas": False}
BRIEF = Brief(
    id="", trial_id="", question="Which rag?", products=("loose sheet",), gates=(Gate(name="feeds"),)
)


def chart(age: float) -> bytes:
    """A small table of an invented sheet, lighter while it is young; every age another file."""
    rows = ["SAMPLE_ID,R,G,B,L,a,b"]
    rows += [f"{n + 1},{30 * n},{30 * n},{30 * n},{15 + 9 * n + math.exp(-age):.6f},0,0" for n in range(9)]
    return "\n".join(rows).encode()


def has(what: str) -> Callable[[Any], bool]:
    """Whether there is anything yet to act on."""
    return lambda machine: bool(getattr(machine.facts(), what))


class RouteMachine(RuleBasedStateMachine):
    """One trial from its beginning on, in the hands of people who try everything."""

    def __init__(self, empty: Path) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="laydown-machine-"))
        shutil.copy(empty, self.folder / "records.sqlite")
        self.clock = Clock()
        self.records = Records(
            open_engine(sqlite_url(self.folder / "records.sqlite")),
            FileVault(str(self.folder / "files")),
            clock=self.clock,
            check=contradictions_of,
        )
        self.number = 0
        self.looked: TrialFacts | None = None

    # ------------------------------------------------------------ how acts are done

    def facts(self) -> TrialFacts:
        if self.looked is None:
            with self.records.look() as look:
                self.looked = load_facts(look, self.trial)
        return self.looked

    def entries(self) -> int:
        with self.records.look() as look:
            newest = look.entries(limit=1)
        return newest[0].seq if newest else 0

    def act(self, deed: Callable[[], Any]) -> None:
        """Do it, or be refused in a sentence that says what to do, with nothing changed."""
        before, facts = self.entries(), self.facts()
        self.looked = None
        refusal: LaydownError | None = None
        try:
            deed()
        except LaydownError as refused:
            refusal = refused
        if refusal is not None:
            assert refusal.what, repr(refusal)
            assert refusal.todo, str(refusal)
            assert str(refusal)[-1] in ".?!”)", str(refusal)
            assert self.entries() == before
            assert self.facts() == facts

    def printed(self) -> list[Sheet]:
        """Sheets that were printed and not spoiled."""
        kinds = {(event.sheet_id, event.kind) for event in self.facts().events}
        return [
            one
            for one in self.facts().sheets
            if (one.id, "printed") in kinds and (one.id, "spoiled") not in kinds
        ]

    @staticmethod
    def pick(things: tuple[Picked, ...] | list[Picked], pick: int) -> Picked | None:
        return things[pick % len(things)] if things else None

    # ------------------------------------------------------------ the beginning

    @initialize(far=st.sampled_from(["cured", "printed", "sealed", "nowhere"]))
    def begin_with_stock_and_trial(self, far: str) -> None:
        """Most runs begin further on, because few would get there by chance."""
        with self.records.work("booked in", who="Ada") as work:
            for number in (1, 2):
                work.add(Printer(id=f"p{number}", name=f"Printer {number}", head_gaps=("normal", "wide")))
            for name, barrier in MEDIA.items():
                work.add(Medium(id=f"m-{name}", name=name, barrier=barrier))
                work.add(Lot(id=f"l-{name}", medium_id=f"m-{name}", code="77"))
                work.add(Roll(id=f"r-{name}", lot_id=f"l-{name}", form="roll", length_mm=9000))
                work.add(Roll(id=f"b-{name}", lot_id=f"l-{name}", form="sheets", sheets=25))
        self.trial = begin_trial(self.records, "Spring", who="Ada").thing.id
        if far != "nowhere":
            self._plan_and_seal()
        if far in ("printed", "cured"):
            for number in range(3):
                self.print_a_whole_load(number)
        if far == "cured":
            self.time_passes(49)

    def _plan_and_seal(self) -> None:
        for name in ("rag", "gloss"):
            told = Candidate(
                id="", trial_id=self.trial, medium_id=f"m-{name}", name=name, house=name == "rag",
                lot_id=f"l-{name}", roll_id=f"r-{name}", printer_id="p1",
            )  # fmt: skip
            name_candidate(self.records, told, who="Ada")
        with self.records.look() as look:
            first = look.find(Candidate, trial_id=self.trial, order=("position",))[0]
        name_coated_arm(self.records, first.id, coat=Coat(product="Clear"), who="Ada")
        told_plan = Plan(
            id="", trial_id=self.trial, sheets_per_candidate=2, days=1, spare_sheets=1, sheet_length_mm=480.0
        )
        write_plan(self.records, told_plan, who="Ada")
        draw_sheets(self.records, self.trial, who="Ada")
        write_brief(self.records, replace(BRIEF, trial_id=self.trial), who="Ada")
        seal_brief(self.records, self.trial, who="Ada")

    # ------------------------------------------------------------ brief, plan, candidates

    @rule(question=st.sampled_from(["", "Which rag?", "Which rag for big work?"]))
    def write_the_brief(self, question: str) -> None:
        told = replace(BRIEF, trial_id=self.trial, question=question)
        self.act(lambda: write_brief(self.records, told, who="Ada"))

    @rule()
    def seal(self) -> None:
        self.act(lambda: seal_brief(self.records, self.trial, who="Ada"))

    @precondition(has("brief"))
    @rule(question=st.sampled_from(["Which rag?", "Which rag for small work?"]), why=WHY)
    def change_the_brief(self, question: str, why: str) -> None:
        wanted = replace(BRIEF, trial_id=self.trial, question=question)
        self.act(lambda: change_brief(self.records, wanted, why=why, who="Ada"))

    @rule(name=st.sampled_from(list(MEDIA)), house=st.booleans(), roll=st.sampled_from(["r", "b", ""]))
    def name_one(self, name: str, house: bool, roll: str) -> None:
        self.number += 1
        told = Candidate(
            id="", trial_id=self.trial, medium_id=f"m-{name}", name=f"{name} {self.number % 5}", house=house,
            lot_id=f"l-{name}", roll_id=f"{roll}-{name}" if roll else None,
            printer_id="p1" if house else None,
        )  # fmt: skip
        self.act(lambda: name_candidate(self.records, told, who="Ada"))

    @precondition(has("candidates"))
    @rule(pick=PICK)
    def add_a_coated_arm(self, pick: int) -> None:
        candidate = self.pick(self.facts().candidates, pick)
        if candidate:
            coat = Coat(product="Clear")
            self.act(lambda: name_coated_arm(self.records, candidate.id, coat=coat, who="Ada"))

    @rule(sheets=st.integers(1, 3), days=st.integers(1, 3), spares=st.integers(0, 2))
    def plan_it(self, sheets: int, days: int, spares: int) -> None:
        told = Plan(
            id="", trial_id=self.trial, sheets_per_candidate=sheets, days=days, spare_sheets=spares,
            sheet_length_mm=480.0,
        )  # fmt: skip
        self.act(lambda: write_plan(self.records, told, who="Ada"))

    @rule()
    def draw(self) -> None:
        self.act(lambda: draw_sheets(self.records, self.trial, who="Ada"))

    @precondition(has("sheets"))
    @rule(count=st.integers(0, 2))
    def draw_a_further_day(self, count: int) -> None:
        wanted = {one.id: count for one in self.facts().candidates}
        self.act(lambda: add_sheets(self.records, self.trial, wanted, who="Ada"))

    @precondition(has("candidates"))
    @rule(pick=PICK, why=WHY, back=st.booleans())
    def withdraw_or_readmit(self, pick: int, why: str, back: bool) -> None:
        candidate = self.pick(self.facts().candidates, pick)
        if candidate is None:
            return
        if back:
            self.act(lambda: readmit_candidate(self.records, candidate.id, who="Ada"))
        else:
            self.act(lambda: withdraw_candidate(self.records, candidate.id, why=why, who="Ada"))

    @rule(deed=st.sampled_from([close_trial, reopen_trial, remove_trial, bring_back_trial]))
    def shut_or_open(self, deed: Callable[..., Any]) -> None:
        self.act(lambda: deed(self.records, self.trial, who="Ada"))
        # Left shut, everything would be refused from here on; the refusals are met in the meantime.
        self.act(lambda: bring_back_trial(self.records, self.trial, who="Ada"))
        self.act(lambda: reopen_trial(self.records, self.trial, who="Ada"))

    # ------------------------------------------------------------ at the printer

    @precondition(has("candidates"))
    @rule(pick=PICK, printer=st.sampled_from(["p1", "p2", None]), load=PICK, taken=st.booleans())
    def begin(self, pick: int, printer: str | None, load: int, taken: bool) -> None:
        candidate, before = self.pick(self.facts().candidates, pick), self.pick(self.facts().runs, load)
        if candidate:
            same = before.id if before and taken else None
            self.act(
                lambda: begin_run(
                    self.records, candidate.id, who="Ben", printer_id=printer, room_rh=52.0, same_load_as=same
                )
            )

    @precondition(has("runs"))
    @rule(pick=PICK, step=PICK, value=st.sampled_from(["", "48", "9000", "sideways"]), why=WHY)
    def tick(self, pick: int, step: int, value: str, why: str) -> None:
        run = self.pick(self.facts().runs, pick)
        if run:
            chosen = self.pick(run_steps(self.facts(), run), step)
            assert chosen is not None
            self.act(
                lambda: tick_step(self.records, run.id, chosen.id, who="Ben", value=value, skipped_why=why)
            )

    @precondition(has("runs"))
    @rule(pick=PICK, tick=PICK)
    def untick(self, pick: int, tick: int) -> None:
        run = self.pick(self.facts().runs, pick)
        ticked = self.pick(run.ticks, tick) if run else None
        if run and ticked:
            self.act(lambda: untick_step(self.records, run.id, ticked.step, who="Ben"))

    @precondition(has("runs"))
    @rule(pick=PICK, passes=st.integers(1, 9), roll=st.sampled_from([None, "r-rag", "b-gloss"]))
    def set_down(self, pick: int, passes: int, roll: str | None) -> None:
        run = self.pick(self.facts().runs, pick)
        if run:
            recipe = replace(run.recipe, passes=passes)
            self.act(lambda: set_run(self.records, run.id, who="Ben", recipe=recipe, roll_id=roll))

    @precondition(has("runs"))
    @rule(pick=PICK)
    def end(self, pick: int) -> None:
        run = self.pick(self.facts().runs, pick)
        if run:
            self.act(lambda: end_run(self.records, run.id, who="Ben", all_the_same=True))

    @precondition(has("runs"))
    @rule(sheet=PICK, run=PICK, fitting=st.booleans(), minutes=st.none() | st.integers(-90, 90))
    def print_one(self, sheet: int, run: int, fitting: bool, minutes: int | None) -> None:
        """Mostly a sheet that waits, in a sitting that is open; else anything in any sitting."""
        facts = self.facts()
        opened = [one for one in facts.runs if one.ended_at is None]
        sitting = self.pick(opened if fitting and opened else facts.runs, run)
        if sitting is None:
            return
        over = {event.sheet_id for event in facts.events}
        own = [one for one in facts.sheets_of(sitting.candidate_id) if one.id not in over]
        chosen = self.pick(own if fitting else facts.sheets, sheet)
        if chosen is None:
            return
        at = None if minutes is None else self.clock.now + timedelta(minutes=minutes)
        self.act(lambda: print_sheet(self.records, chosen.id, run_id=sitting.id, who="Ben", at=at))

    @precondition(has("sheets"))
    @rule(pick=PICK)
    def print_a_whole_load(self, pick: int) -> None:
        """As at the bench: a sitting, and every sheet of it that waits."""
        facts = self.facts()
        candidate = self.pick([one for one in facts.candidates if one.withdrawn_at is None], pick)
        if candidate is None:
            return
        self.act(lambda: begin_run(self.records, candidate.id, who="Ben", printer_id="p1"))
        open_run = next(
            (one for one in self.facts().runs if one.candidate_id == candidate.id and not one.ended_at), None
        )
        for sheet in self.facts().sheets_of(candidate.id):
            if open_run is not None and sheet.use == "test":
                deed = self._printing(sheet.id, open_run.id)
                self.act(deed)

    def _printing(self, sheet_id: str, run_id: str) -> Callable[[], Any]:
        return lambda: print_sheet(self.records, sheet_id, run_id=run_id, who="Ben")

    @precondition(has("sheets"))
    @rule(pick=PICK, why=WHY, replaced=st.booleans())
    def spoil(self, pick: int, why: str, replaced: bool) -> None:
        sheet = self.pick(self.facts().sheets, pick)
        if sheet:
            self.act(lambda: spoil_sheet(self.records, sheet.id, why=why, who="Ben", replaced=replaced))

    @precondition(has("sheets"))
    @rule(pick=PICK)
    def replace_a_spoiled_one(self, pick: int) -> None:
        spoiled = [event.sheet_id for event in self.facts().events if event.kind == "spoiled"]
        sheet_id = self.pick(spoiled or [one.id for one in self.facts().sheets], pick)
        if sheet_id:
            self.act(lambda: replace_with_spare(self.records, sheet_id, who="Ben"))

    @precondition(has("candidates"))
    @rule(pick=PICK, use=st.sampled_from(["setting", "spare", "control strip", "test"]))
    def add_one(self, pick: int, use: Any) -> None:
        candidate = self.pick(self.facts().candidates, pick)
        if candidate:
            self.act(lambda: add_sheet(self.records, candidate.id, use=use, who="Ben"))

    # ------------------------------------------------------------ settling

    @precondition(has("events"))
    @rule(picks=st.lists(PICK, min_size=1, max_size=3), why=WHY, wanted=st.booleans())
    def coat(self, picks: list[int], why: str, wanted: bool) -> None:
        facts = self.facts()
        arms = {one.id for one in facts.candidates if one.finish == "coated"}
        printed = {one.id for one in self.printed()}
        sheets = [
            one for one in facts.sheets if not wanted or (one.candidate_id in arms and one.id in printed)
        ]
        chosen = [sheet.id for pick in picks if (sheet := self.pick(sheets, pick))]
        coat = Coat(product="Clear", coats=2)
        self.act(lambda: coat_sheets(self.records, self.trial, chosen, coat, who="Cleo", early_why=why))

    @precondition(has("events"))
    @rule(
        pick=PICK,
        kind=st.sampled_from(["trimmed", "glazed", "mounted", "handled", "other"]),
        why=WHY,
        wanted=st.booleans(),
    )
    def note(self, pick: int, kind: Any, why: str, wanted: bool) -> None:
        sheet = self.pick(self.printed() if wanted else self.facts().sheets, pick)
        if sheet:
            self.act(
                lambda: note_event(self.records, sheet.id, kind=kind, who="Cleo", words=why, early_why=why)
            )

    @precondition(has("events"))
    @rule(pick=PICK, hours=HOURS, why=WHY)
    def correct(self, pick: int, hours: int, why: str) -> None:
        event = self.pick(self.facts().events, pick)
        if event:
            at = event.at + timedelta(hours=hours / 10)
            self.act(lambda: correct_event(self.records, event.id, at=at, why=why, who="Cleo"))

    @precondition(has("events"))
    @rule(pick=PICK, why=WHY)
    def take_back(self, pick: int, why: str) -> None:
        event = self.pick(self.facts().events, pick)
        if event:
            self.act(lambda: take_back_event(self.records, event.id, why=why, who="Cleo"))

    @precondition(has("candidates"))
    @rule(pick=PICK, cure=st.sampled_from([None, 0, 3, 30, 300]), why=WHY)
    def set_the_hours(self, pick: int, cure: float | None, why: str) -> None:
        candidate = self.pick(self.facts().candidates, pick)
        if candidate:
            self.act(
                lambda: set_hours(
                    self.records, candidate.id, cure_hours=cure, dry_hours=cure, why=why, who="Cleo"
                )
            )

    # ------------------------------------------------------------ measuring

    @precondition(has("events"))
    @rule(pick=PICK, hours=st.integers(-1, 60))
    def read(self, pick: int, hours: int) -> None:
        sheet = self.pick(self.printed() or self.facts().sheets, pick)
        if sheet:
            self.number += 1
            file = HandedIn(f"{sheet.code} {self.number}.csv", chart(self.number / 7))
            at = self.clock.now - timedelta(hours=hours / 10)
            self.act(
                lambda: attach_readings(
                    self.records, self.trial, [file], who="Cleo", sheet_id=sheet.id, measured_at=at
                )
            )

    @precondition(has("readings"))
    @rule(pick=PICK, why=WHY)
    def use_early(self, pick: int, why: str) -> None:
        reading = self.pick(self.facts().readings, pick)
        if reading:
            self.act(lambda: use_early_reading(self.records, reading.id, why=why, who="Cleo"))

    @precondition(has("readings"))
    @rule(pick=PICK)
    def leave_out(self, pick: int) -> None:
        let_in = [one for one in self.facts().readings if one.early_used_at is not None]
        reading = self.pick(let_in or self.facts().readings, pick)
        if reading:
            self.act(lambda: leave_out_reading(self.records, reading.id, who="Cleo"))

    @precondition(has("readings"))
    @rule(pick=PICK, why=WHY, back=st.booleans())
    def put_aside(self, pick: int, why: str, back: bool) -> None:
        reading = self.pick(self.facts().readings, pick)
        if reading is None:
            return
        if back:
            self.act(lambda: bring_back(self.records, reading.id, who="Cleo"))
        else:
            self.act(lambda: set_aside(self.records, reading.id, why=why, who="Cleo"))

    # ------------------------------------------------------------ time, and undoing anything

    @rule(hours=st.sampled_from([0.02, 0.5, 3, 25, 49, 340]))
    def time_passes(self, hours: float) -> None:
        self.clock.advance(hours=hours)

    @rule(pick=st.integers(0, 6) | st.integers(0, 60))
    def undo_something(self, pick: int) -> None:
        with self.records.look() as look:
            entries = look.entries(trial_id=self.trial, limit=60)
        # The beginning of the trial itself is left: without it there is nothing more to try.
        entry = self.pick([one for one in entries if one.action != "began" or len(one.changes) > 1], pick)
        if entry:
            self.act(lambda: undo(self.records, entry.id, who="Ada"))

    # ------------------------------------------------------------ what holds after every act

    @invariant()
    def nothing_contradicts_itself(self) -> None:
        assert contradictions(self.facts(), now=self.clock.now) == ()

    @invariant()
    def the_route_is_consistent(self) -> None:
        facts, route = self.facts(), route_of(self.facts(), now=self.clock.now)
        reached = {one.name: one for one in route.stations[:5]}
        for station in reached.values():
            assert 0 <= station.done <= station.total, station
            assert station.words
        done = {name for name, one in reached.items() if one.status == "done"}
        # Withdrawing may leave one candidate, all of whose sheets are printed: nothing to compare it with.
        still_in = sum(one.withdrawn_at is None for one in facts.candidates)
        assert not done & {"print", "settle", "measure"} or "plan" in done or still_in < 2
        assert not done & {"settle", "measure"} or "print" in done
        assert "print" not in done or "brief" in done
        if reached["print"].done:
            assert facts.brief is not None
            assert facts.brief.sealed_at is not None
        assert reached["settle"].done <= reached["print"].done
        assert reached["measure"].done <= reached["print"].done
        assert route.current in reached

    @invariant()
    def clocks_run_only_on_what_was_printed(self) -> None:
        for sheet in self.facts().sheets:
            clocks = sheet_clocks(self.facts(), sheet, now=self.clock.now)
            printed = self.facts().events_of(sheet.id, "printed")
            assert (clocks.stage in ("planned", "spoiled")) or printed, sheet.code
            assert clocks.stage not in ("drying", "dry") or self.facts().events_of(sheet.id, "coated")
            if printed:
                run = self.facts().run(sheet.run_id or "")
                assert run.candidate_id == sheet.candidate_id
                assert run.begun_at <= printed[0].at or self._corrected(printed[0])

    def _corrected(self, event: SheetEvent) -> bool:
        """Whether the time of a print was put right by hand: then it may lie outside its sitting."""
        with self.records.look() as look:
            return any(entry.action in ("corrected", "undid") for entry in look.entries(record_id=event.id))

    @invariant()
    def only_settled_readings_count_but_for_a_reason(self) -> None:
        facts = self.facts()
        for reading in facts.readings:
            if is_usable(facts, reading_id=reading.id):
                age = reading_age(facts, reading)
                assert age is not None
                assert not age.early or (reading.early_used_why and reading.early_used_by)

    @invariant()
    def the_board_shows_what_the_rules_say(self) -> None:
        facts = self.facts()
        running = facts.trial.closed_at is None and facts.trial.removed_at is None
        gone = {one.id for one in facts.candidates if one.withdrawn_at is not None}
        wanted = [
            line
            for line in trial_lines(facts, now=self.clock.now)
            if running and line.waits_for != "nothing" and line.candidate.id not in gone
        ]
        with self.records.look() as look:
            assert list(board(look, now=self.clock.now)) == wanted

    @invariant()
    def what_was_taken_from_rolls_belongs_to_a_print_or_a_sitting(self) -> None:
        printed = {event.id for event in self.facts().events if event.kind == "printed"}
        with self.records.look() as look:
            uses = look.find(RollUse)
            runs = {run.id for run in look.find(BenchRun)}
        assert {use.id for use in uses} <= printed | runs
        assert all((use.length_mm or 0) >= 0 and (use.sheets or 0) >= 0 for use in uses)

    def teardown(self) -> None:
        """The journal, played from its first entry, gives everything that is kept."""
        try:
            found = verify(self.records)
            assert found.troubles == ()
        finally:
            self.records.close()
            shutil.rmtree(self.folder, ignore_errors=True)


@pytest.mark.timeout(240)
def test_no_order_of_acts_brings_a_trial_out_of_joint(empty_sqlite: Path) -> None:
    run_state_machine_as_test(
        lambda: RouteMachine(empty_sqlite),
        settings=settings(
            max_examples=25,
            stateful_step_count=40,
            deadline=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )


def test_the_machine_gets_as_far_as_measuring(empty_sqlite: Path) -> None:
    """The acts it draws from lead through every station, so that a run of it means something."""
    machine = RouteMachine(empty_sqlite)
    machine.begin_with_stock_and_trial("sealed")
    for number in range(3):
        machine.print_a_whole_load(number)
        machine.time_passes(0.5)
    machine.time_passes(49)
    machine.coat([0, 1], "", wanted=True)
    machine.time_passes(25)
    for number, _ in enumerate(machine.facts().sheets):
        machine.read(number, 0)
    route = route_of(machine.facts(), now=machine.clock.now)
    assert [one.status for one in route.stations[:4]] == ["done"] * 4
    assert route.station("measure").done == 6
    assert date(2026, 3, 2) == machine.facts().trial.begun
    machine.teardown()
