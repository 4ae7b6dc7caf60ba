"""Sheets: printed, spoiled and replaced, coated, glazed, corrected; and the roll they take."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.kernel.errors import BadSetting, ChangedMeanwhile, Contradiction, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.clocks import sheet_clocks
from laydown.trials.recipe import Coat
from laydown.trials.route import route_of
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Roll, RollUse
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate
from laydown.usecases.bench.begin_run import begin_run, end_run
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.bench.settle_hours import hours_said, set_hours
from laydown.usecases.bench.sheet_events import correct_event, note_event, take_back_event
from laydown.usecases.bench.spoil_sheet import add_sheet, replace_with_spare, spoil_sheet
from laydown.usecases.undo import undo
from ticking_clock import Clock

COAT = Coat(product="Clear coat 5", batch="B-12", dilution="10 % water", tool="foam roller", coats=2)


def begun(records: Records, candidate: str) -> BenchRun:
    return begin_run(records, candidate, who="Ada", room_c=21.0, room_rh=40.0).thing


def printed(records: Records, trial: BenchTrial, candidate: str, number: int = 0) -> Sheet:
    sheet = trial.sheet(records, candidate, number)
    print_sheet(records, sheet.id, run_id=begun(records, candidate).id, who="Ada")
    return sheet


def uses(records: Records) -> list[tuple[str, float | None, int | None]]:
    with records.look() as look:
        return [(use.roll_id, use.length_mm, use.sheets) for use in look.find(RollUse)]


def test_a_printed_sheet_knows_its_sitting_room_and_roll(any_records: Records) -> None:
    trial = make_bench_trial(any_records)
    run = begun(any_records, trial.rag)
    event = print_sheet(any_records, "s-K2", run_id=run.id, who="Ben").thing
    facts = trial.facts(any_records)
    assert (facts.sheet("s-K2").run_id, facts.sheet("s-K2").roll_id) == (run.id, "r-rag")
    assert facts.events_of("s-K2") == (event,)
    assert (event.kind, event.by, event.room_c, event.room_rh) == ("printed", "Ben", 21.0, 40.0)
    assert uses(any_records) == [("r-rag", 480.0, None)]


def test_undo_takes_the_print_and_its_use_back_together(records: Records, bench_trial: BenchTrial) -> None:
    run = begun(records, bench_trial.rag)
    acted = print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    undo(records, acted.entry_id, who="Ada")
    facts = bench_trial.facts(records)
    assert facts.events == ()
    assert facts.sheet("s-K2").run_id is None
    assert uses(records) == []


def test_a_sheet_from_a_box_takes_one_sheet(records: Records, bench_trial: BenchTrial) -> None:
    with records.work("opened", who="Ada") as work:
        work.add(Roll(id="box", lot_id="l-rag", form="sheets", sheets=25))
    run = begin_run(records, bench_trial.rag, who="Ada", roll_id="box").thing
    print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    assert uses(records) == [("box", None, 1)]


def test_a_length_that_nobody_knows_is_not_made_up(records: Records, bench_trial: BenchTrial) -> None:
    strip = add_sheet(records, bench_trial.rag, use="control strip", who="Ada").thing
    print_sheet(records, strip.id, run_id=begun(records, bench_trial.rag).id, who="Ada")
    assert uses(records) == []


def test_a_length_that_was_measured_goes_before_the_planned_one(
    records: Records, bench_trial: BenchTrial
) -> None:
    print_sheet(records, "s-K2", run_id=begun(records, bench_trial.rag).id, who="Ada", used_mm=515.0)
    assert uses(records) == [("r-rag", 515.0, None)]


def test_a_sheet_is_printed_once(records: Records, bench_trial: BenchTrial) -> None:
    run = begun(records, bench_trial.rag)
    print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    with pytest.raises(Contradiction, match="only once"):
        print_sheet(records, "s-K2", run_id=run.id, who="Ada")


def test_a_print_that_is_sent_twice_is_kept_once(records: Records, bench_trial: BenchTrial) -> None:
    run = begun(records, bench_trial.rag)
    at = records.now()
    first = print_sheet(records, "s-K2", run_id=run.id, who="Ada", at=at).thing
    assert print_sheet(records, "s-K2", run_id=run.id, who="Ada", at=at).thing == first
    assert len(uses(records)) == 1
    with pytest.raises(Contradiction):
        print_sheet(records, "s-K2", run_id=run.id, who="Ada", at=at + timedelta(seconds=1))


def test_the_sheet_of_another_medium_is_refused(records: Records, bench_trial: BenchTrial) -> None:
    with pytest.raises(RefusedInput, match="belongs to Samphire Gloss"):
        print_sheet(records, "s-X2", run_id=begun(records, bench_trial.rag).id, who="Ada")


def test_nothing_is_printed_outside_its_sitting(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    run = begun(records, bench_trial.rag)
    with pytest.raises(RefusedInput, match="before the sitting began"):
        print_sheet(records, "s-K2", run_id=run.id, who="Ada", at=run.begun_at - timedelta(minutes=5))
    end_run(records, run.id, who="Ada", all_the_same=True)
    clock.advance(hours=2)
    with pytest.raises(RefusedInput, match="has ended"):
        print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    print_sheet(records, "s-K2", run_id=run.id, who="Ada", at=run.begun_at + timedelta(seconds=1))


def test_no_test_sheet_is_printed_before_the_seal(records: Records) -> None:
    trial = make_bench_trial(records, sealed=False)
    run = begun(records, trial.rag)
    setting = add_sheet(records, trial.rag, use="setting", who="Ada").thing
    print_sheet(records, setting.id, run_id=run.id, who="Ada")
    with pytest.raises(Contradiction, match="sealed"):
        print_sheet(records, "s-K2", run_id=run.id, who="Ada")


# ---------------------------------------------------------------- out of turn


def two_days(records: Records) -> BenchTrial:
    """The first sheet of each arm on day 1, the second on day 2."""
    trial = make_bench_trial(records, spares=2)
    with records.work("planned", who="Ada") as work:
        for sheet in trial.facts(records).sheets:
            if sheet.place > 4:
                work.change(replace(sheet, day=2))
    return trial


def first_day(records: Records, trial: BenchTrial) -> None:
    for candidate in (trial.rag, trial.canvas, trial.canvas_coated, trial.gloss):
        printed(records, trial, candidate)


def words_of(records: Records, trial: BenchTrial, sheet: str) -> str:
    (event,) = trial.facts(records).events_of(sheet, "printed")
    return event.words


def test_a_sheet_of_another_day_is_printed_and_noted(records: Records, clock: Clock) -> None:
    trial = two_days(records)
    first_day(records, trial)
    acted = print_sheet(records, "s-K3", run_id=begun(records, trial.rag).id, who="Ada")
    told = "Drawn for day 2, printed on 2 March, the day of day 1."
    assert acted.thing.words == words_of(records, trial, "s-K3") == told
    with records.look() as look:
        assert look.entry(acted.entry_id).words == f"sheet K3 on Fenland Rag. {told}"
    clock.advance(days=1)
    printed(records, trial, "canvas", 1)
    assert words_of(records, trial, "s-R3") == ""


@pytest.mark.parametrize(("zone", "told"), [("Pacific/Auckland", False), ("Europe/Paris", True)])
def test_the_day_is_the_studios_own(records: Records, clock: Clock, zone: str, told: bool) -> None:
    """From 9:00 to 21:00 UTC on Monday it becomes Tuesday in Auckland and stays Monday in Paris."""
    trial = two_days(records)
    with records.work("moved", who="Ada") as work:
        work.change(replace(work.get(Studio, STUDIO_ID), time_zone=zone))
    first_day(records, trial)
    clock.advance(hours=12)
    printed(records, trial, "rag", 1)
    assert bool(words_of(records, trial, "s-K3")) == told


def test_a_sheet_before_another_candidates_is_noted(records: Records, bench_trial: BenchTrial) -> None:
    printed(records, bench_trial, "gloss")
    assert (
        words_of(records, bench_trial, "s-X2") == "Out of turn: K2 on Fenland Rag and 2 more come before it."
    )


def test_a_corrected_time_corrects_what_is_said_of_the_day(records: Records, clock: Clock) -> None:
    trial = two_days(records)
    first_day(records, trial)
    clock.advance(days=1)
    printed(records, trial, "rag", 1)
    assert words_of(records, trial, "s-K3") == ""
    (event,) = trial.facts(records).events_of("s-K3", "printed")
    earlier = event.at - timedelta(hours=20)
    correct_event(records, event.id, at=earlier, why="it was the evening before", who="Ada")
    assert "the day of day 1" in words_of(records, trial, "s-K3")
    correct_event(records, event.id, at=event.at, why="it was not", who="Ada")
    assert words_of(records, trial, "s-K3") == ""


def test_a_spare_printed_on_another_day_than_the_sheet_it_replaces_is_noted(
    records: Records, clock: Clock
) -> None:
    trial = two_days(records)
    first_day(records, trial)
    clock.advance(days=1)
    print_sheet(records, "s-C2", run_id=begun(records, trial.rag).id, who="Ada")
    assert words_of(records, trial, "s-C2") == ""
    spoil_sheet(records, "s-K2", why="head strike", who="Ada", replaced=True)
    assert words_of(records, trial, "s-C2") == (
        "Drawn for day 1, which was begun on 2 March; printed on 3 March."
    )


# ---------------------------------------------------------------- spoiled


def test_a_spare_takes_the_turn_of_a_spoiled_sheet(records: Records, bench_trial: BenchTrial) -> None:
    sheet = printed(records, bench_trial, "rag")
    spoil_sheet(records, sheet.id, why="banding", who="Ada")
    spare = replace_with_spare(records, sheet.id, who="Ada").thing
    facts = bench_trial.facts(records)
    assert (spare.code, spare.use, spare.place, spare.day) == ("C2", "test", sheet.place, sheet.day)
    assert (facts.sheet(sheet.id).use, facts.sheet(sheet.id).place) == ("test", 0)
    assert not [one for one in facts.sheets_of("rag") if one.use == "spare"]
    assert [one.place for one in facts.sheets_of("rag") if one.place] == [1, 5]
    assert facts.events_of(sheet.id, "spoiled")[0].words == "banding; C2 takes its place"
    with pytest.raises(RefusedInput, match="replaced already"):
        replace_with_spare(records, sheet.id, who="Ada")


def test_a_spoiled_setting_sheet_is_replaced_once(records: Records) -> None:
    trial = make_bench_trial(records, spares=2)
    setting = add_sheet(records, trial.rag, use="setting", who="Ada").thing
    spoil_sheet(records, setting.id, why="creased", who="Ada", replaced=True)
    with pytest.raises(RefusedInput, match="replaced already"):
        replace_with_spare(records, setting.id, who="Ada")
    assert [one.code for one in trial.facts(records).sheets_of("rag") if one.use == "spare"] == ["C3"]


def test_spoiling_and_replacing_is_one_act_and_undone_as_one(
    records: Records, bench_trial: BenchTrial
) -> None:
    before = bench_trial.facts(records).sheets
    acted = spoil_sheet(records, "s-K2", why="creased on loading", who="Ada", replaced=True)
    assert {one.code for one in bench_trial.facts(records).sheets if one.place == 1} == {"C2"}
    undo(records, acted.entry_id, who="Ada")
    assert bench_trial.facts(records).sheets == before


def test_a_spare_that_is_printed_already_goes_first(records: Records) -> None:
    trial = make_bench_trial(records, spares=2)
    print_sheet(records, "s-C3", run_id=begun(records, trial.rag).id, who="Ada")
    spoil_sheet(records, "s-K2", why="creased", who="Ada")
    assert replace_with_spare(records, "s-K2", who="Ada").thing.code == "C3"


def test_without_a_spare_one_can_be_added(records: Records) -> None:
    trial = make_bench_trial(records, spares=0)
    spoil_sheet(records, "s-K2", why="head strike", who="Ada")
    with pytest.raises(RefusedInput, match="no spare is left"):
        replace_with_spare(records, "s-K2", who="Ada")
    added = add_sheet(records, trial.rag, use="spare", who="Ada").thing
    assert added.code not in {"K2", "K3", "R2", "R3", "T2", "T3", "X2", "X3"}
    assert replace_with_spare(records, "s-K2", who="Ada").thing.id == added.id


def test_test_sheets_are_not_added_by_hand(records: Records, bench_trial: BenchTrial) -> None:
    with pytest.raises(RefusedInput, match="drawn print order"):
        add_sheet(records, bench_trial.rag, use="test", who="Ada")


def test_a_spoiled_sheet_is_not_printed_or_spoiled_again(records: Records, bench_trial: BenchTrial) -> None:
    spoil_sheet(records, "s-K2", why="creased", who="Ada")
    with pytest.raises(RefusedInput, match="spoiled already"):
        spoil_sheet(records, "s-K2", why="creased again", who="Ada")
    with pytest.raises(RefusedInput, match="was spoiled"):
        print_sheet(records, "s-K2", run_id=begun(records, bench_trial.rag).id, who="Ada")
    with pytest.raises(BadSetting, match="why"):
        spoil_sheet(records, "s-K3", why=" ", who="Ada")


# ---------------------------------------------------------------- coated, glazed


def test_sheets_are_coated_together_once_they_have_cured(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    first = printed(records, bench_trial, "canvas-coated")
    with pytest.raises(RefusedInput, match="had not cured"):
        coat_sheets(records, bench_trial.trial, [first.id], COAT, who="Ada")
    clock.advance(hours=25)
    made = coat_sheets(records, bench_trial.trial, [first.id], COAT, who="Ada", room_rh=44.0).thing
    assert (made[0].coat, made[0].room_rh) == (COAT, 44.0)
    clocks = sheet_clocks(bench_trial.facts(records), first, now=clock.now)
    assert (clocks.stage, clocks.dry_at) == ("drying", made[0].at + timedelta(hours=24))


def test_coating_early_wants_a_reason_and_keeps_it(records: Records, bench_trial: BenchTrial) -> None:
    sheet = printed(records, bench_trial, "canvas-coated")
    made = coat_sheets(
        records, bench_trial.trial, [sheet.id], COAT, who="Ada", early_why="the client waits"
    ).thing
    assert made[0].coat is not None
    assert "Coated early: the client waits" in made[0].coat.words


def test_uncoated_arms_and_unprinted_sheets_are_not_coated(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    sheet = printed(records, bench_trial, "rag")
    clock.advance(hours=25)
    with pytest.raises(Contradiction, match="uncoated arm"):
        coat_sheets(records, bench_trial.trial, [sheet.id], COAT, who="Ada")
    with pytest.raises(Contradiction, match="before it is printed"):
        coat_sheets(records, bench_trial.trial, ["s-T2"], COAT, who="Ada")
    with pytest.raises(RefusedInput, match="not of this trial"):
        coat_sheets(records, bench_trial.trial, ["elsewhere"], COAT, who="Ada")


@pytest.mark.parametrize(
    "coat",
    [
        Coat(),
        replace(COAT, coats=0),
        replace(COAT, wet_g_m2=-5.0),
        replace(COAT, flow_cup_seconds=10_000.0),
    ],
)
def test_a_coat_that_cannot_be_is_refused(records: Records, bench_trial: BenchTrial, coat: Coat) -> None:
    with pytest.raises(BadSetting):
        coat_sheets(records, bench_trial.trial, ["s-T2"], coat, who="Ada")


def test_glazing_waits_for_volatiles_longest_on_barrier_media(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    sheet = printed(records, bench_trial, "gloss")
    clock.advance(days=5)
    with pytest.raises(RefusedInput, match="glazed yet"):
        note_event(records, sheet.id, kind="glazed", who="Ada")
    event = note_event(records, sheet.id, kind="glazed", who="Ada", early_why="a fogging test").thing
    assert "Glazed early: a fogging test" in event.words


def test_something_else_is_said_in_words(records: Records, bench_trial: BenchTrial) -> None:
    sheet = printed(records, bench_trial, "rag")
    with pytest.raises(BadSetting, match="what happened"):
        note_event(records, sheet.id, kind="other", who="Ada")
    assert (
        note_event(records, sheet.id, kind="other", who="Ada", words="shown to the client").thing.by == "Ada"
    )


# ---------------------------------------------------------------- corrected


def test_a_wrong_time_is_put_right_and_the_journal_keeps_both(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    sheet = printed(records, bench_trial, "rag")
    event = bench_trial.facts(records).events_of(sheet.id)[0]
    clock.advance(hours=3)
    right = event.at + timedelta(hours=2)
    acted = correct_event(records, event.id, at=right, why="noted too early", who="Ben")
    assert bench_trial.facts(records).events_of(sheet.id)[0].at == right
    with records.look() as look:
        assert look.get(RollUse, event.id).at == right
        (change,) = [c for c in look.entry(acted.entry_id).changes if c.noun == "SheetEvent"]
    assert change.before is not None
    assert change.after is not None
    assert change.before["at"] != change.after["at"]
    with pytest.raises(BadSetting, match="why"):
        correct_event(records, event.id, at=right, why="", who="Ben")


def test_a_correction_made_from_an_old_page_is_refused(records: Records, bench_trial: BenchTrial) -> None:
    sheet = printed(records, bench_trial, "rag")
    event = bench_trial.facts(records).events_of(sheet.id)[0]
    with records.look() as look:
        seen = look.revision(SheetEvent, event.id)
    correct_event(records, event.id, room_c=20.0, why="read wrongly", who="Ada", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        correct_event(records, event.id, room_c=25.0, why="read wrongly", who="Ben", seen=seen)


def test_what_did_not_happen_is_taken_back_with_its_use(records: Records, bench_trial: BenchTrial) -> None:
    sheet = printed(records, bench_trial, "rag")
    event = bench_trial.facts(records).events_of(sheet.id)[0]
    note_event(records, sheet.id, kind="trimmed", who="Ada")
    with pytest.raises(Contradiction):
        take_back_event(records, event.id, why="it was another sheet", who="Ada")
    trimmed = bench_trial.facts(records).events_of(sheet.id, "trimmed")[0]
    take_back_event(records, trimmed.id, why="it was another sheet", who="Ada")
    take_back_event(records, event.id, why="it was another sheet", who="Ada")
    facts = bench_trial.facts(records)
    assert facts.events == ()
    assert facts.sheet(sheet.id).run_id is None
    assert uses(records) == []


# ---------------------------------------------------------------- hours


def test_hours_of_its_own_move_every_clock_and_say_why(
    records: Records, bench_trial: BenchTrial, clock: Clock
) -> None:
    sheet = printed(records, bench_trial, "rag")
    acted = set_hours(
        records, bench_trial.rag, cure_hours=6, dry_hours=None, why="steady after 5 h in our test", who="Ada"
    )
    clocks = sheet_clocks(bench_trial.facts(records), sheet, now=clock.now)
    assert clocks.cure_hours == 6
    with records.look() as look:
        said = hours_said(look, look.get(Candidate, bench_trial.rag))
        assert said is not None
        assert (said.words, said.by) == ("steady after 5 h in our test", "Ada")
    undone = undo(records, acted.entry_id, who="Ada")
    with records.look() as look:
        assert hours_said(look, look.get(Candidate, bench_trial.rag)) is None
    undo(records, undone, who="Ada")
    with records.look() as look:
        said = hours_said(look, look.get(Candidate, bench_trial.rag))
    assert said is not None
    assert said.words.startswith("steady")


@pytest.mark.parametrize("hours", [0, -2, 100_000])
def test_hours_that_cannot_be_are_refused(records: Records, bench_trial: BenchTrial, hours: float) -> None:
    with pytest.raises(BadSetting):
        set_hours(records, bench_trial.rag, cure_hours=hours, dry_hours=None, why="test", who="Ada")
    with pytest.raises(BadSetting, match="why"):
        set_hours(records, bench_trial.rag, cure_hours=5, dry_hours=None, why="", who="Ada")


def test_the_route_follows_the_bench(records: Records, bench_trial: BenchTrial, clock: Clock) -> None:
    for candidate in ("rag", "canvas", "canvas-coated", "gloss"):
        run = begun(records, candidate)
        for number in range(2):
            sheet = bench_trial.sheet(records, candidate, number)
            print_sheet(records, sheet.id, run_id=run.id, who="Ada")
    route = route_of(bench_trial.facts(records), now=clock.now)
    assert route.station("print").status == "done"
    assert route.station("settle").done == 0
    clock.advance(hours=49)
    route = route_of(bench_trial.facts(records), now=clock.now)
    assert (route.station("settle").done, route.station("settle").next) == (6, "Coat 2 cured sheets.")
    coat_sheets(records, bench_trial.trial, ["s-T2", "s-T3"], COAT, who="Ada")
    clock.advance(hours=25)
    assert route_of(bench_trial.facts(records), now=clock.now).station("settle").status == "done"
