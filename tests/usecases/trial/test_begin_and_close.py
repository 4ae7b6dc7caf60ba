"""A trial is begun, named, closed, put into the trash and brought back; nothing of it is ever lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.measured import Doubt, Reading
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.studio import Studio
from laydown.trials.trial import Brief, Candidate, Trial
from laydown.usecases.stock.set_studio import set_studio
from laydown.usecases.trial.begin_trial import LONGEST_NAME, begin_trial
from laydown.usecases.trial.close_trial import close_trial, reopen_trial
from laydown.usecases.trial.list_trials import PAGE_LENGTH, PUT_AWAY_SHOWN, list_trials
from laydown.usecases.trial.remove_trial import bring_back_trial, remove_trial
from laydown.usecases.trial.rename_trial import rename_trial
from laydown.usecases.undo import undo
from ticking_clock import Clock

WHO = "Ada"


def test_a_trial_begins_today_where_the_studio_is(any_records: Records, clock: Clock) -> None:
    zone = Studio(id="studio", time_zone="Pacific/Auckland", cure_hours=36.0, dry_hours=12.0)
    set_studio(any_records, zone, who=WHO)
    clock.now = datetime(2026, 3, 2, 20, tzinfo=UTC)  # Tuesday there, 13 h ahead
    act = begin_trial(any_records, " Spring \n editions ", question="Which?", client="Own", who=WHO)
    trial = act.thing
    assert (trial.name, trial.begun) == ("Spring editions", date(2026, 3, 3))
    assert (trial.cure_hours, trial.dry_hours) == (36.0, 12.0)
    with any_records.look() as look:
        entry = look.entry(act.entry_id)
    assert (entry.who, entry.action, entry.words, entry.trial_id) == (
        WHO, "began", "the trial “Spring editions”", trial.id,
    )  # fmt: skip


def test_hours_set_later_leave_a_trial_as_it_began(records: Records) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    set_studio(records, Studio(id="studio", cure_hours=48.0), who=WHO)
    with records.look() as look:
        assert look.get(Trial, trial.id).cure_hours == 24.0


def test_a_name_is_needed_and_belongs_to_one_trial(any_records: Records) -> None:
    begin_trial(any_records, "Frühling", who=WHO)
    for name, why in ((" ", "no name"), ("FRÜHLING", "already"), ("x" * (LONGEST_NAME + 1), "longer than")):
        with pytest.raises(BadSetting, match=why):
            begin_trial(any_records, name, who=WHO)
    begin_trial(any_records, "Frühling 2", who=WHO)
    assert list_trials(any_records).counts["running"] == 2


def test_naming_says_what_was_changed_and_minds_who_was_quicker(records: Records) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    with records.look() as look:
        seen = look.revision(Trial, trial.id)
    act = rename_trial(records, trial.id, name="Autumn", question="", client="Own", who=WHO, seen=seen)
    with records.look() as look:
        assert look.entry(act.entry_id).words == "the name and the client of the trial “Spring”"
    with pytest.raises(ChangedMeanwhile):
        rename_trial(records, trial.id, name="Winter", question="", client="", who="Joris", seen=seen)
    undo(records, act.entry_id, who=WHO)
    with records.look() as look:
        assert look.get(Trial, trial.id) == trial


def test_a_sealed_question_is_not_reworded_here(records: Records) -> None:
    trial = begin_trial(records, "Spring", question="Which?", who=WHO).thing
    brief = Brief(id="b", trial_id=trial.id, question="Which?")
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    with records.work("sealed", who=WHO) as work:
        work.add(
            Brief(id="b", trial_id=trial.id, question="Which?", sealed_at=at, sealed_by=WHO,
                  seal=seal_of(brief, at=at, by=WHO))
        )  # fmt: skip
    with pytest.raises(RefusedInput, match="sealed with the brief"):
        rename_trial(records, trial.id, name="Spring", question="Why?", client="", who=WHO)
    act = rename_trial(records, trial.id, name="Late spring", question="Which?", client="", who=WHO)
    assert act.thing.name == "Late spring"


def test_the_trash_gives_back_what_went_in(any_records: Records) -> None:
    trial = begin_trial(any_records, "Spring", who=WHO).thing
    gone = remove_trial(any_records, trial.id, who=WHO)
    assert gone.thing.removed_at is not None
    for refuse in (close_trial, reopen_trial):
        with pytest.raises(RefusedInput, match="in the trash"):
            refuse(any_records, trial.id, who=WHO)
    with pytest.raises(RefusedInput, match="in the trash"):
        rename_trial(any_records, trial.id, name="A", question="", client="", who=WHO)
    begin_trial(any_records, "Spring", who=WHO)  # its name is free now
    with pytest.raises(BadSetting, match="already"):
        bring_back_trial(any_records, trial.id, who=WHO)
    with any_records.look() as look:
        assert look.get(Trial, trial.id) == gone.thing
    undo(any_records, gone.entry_id, who=WHO)
    with any_records.look() as look:
        assert look.get(Trial, trial.id) == trial


def test_closing_and_opening_again(records: Records) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    closed = close_trial(records, trial.id, who=WHO).thing
    assert close_trial(records, trial.id, who=WHO).thing == closed  # it was closed when it was closed
    assert reopen_trial(records, trial.id, who=WHO).thing == trial


def test_shelves_hold_each_trial_once_and_pages_all_of_them(any_records: Records, clock: Clock) -> None:
    trials = [
        begin_trial(any_records, f"Trial {number}", who=WHO).thing for number in range(PAGE_LENGTH + 12)
    ]
    for trial in trials[:2]:
        close_trial(any_records, trial.id, who=WHO)
    for trial in trials[2:12]:
        clock.advance(minutes=1)
        remove_trial(any_records, trial.id, who=WHO)
    first, second = (list_trials(any_records, number=number) for number in (1, 2))
    assert dict(first.counts) == {"running": PAGE_LENGTH, "closed": 2, "trash": 10}
    assert [facts.trial.id for facts in first.running] == [trial.id for trial in reversed(trials[12:])]
    assert (first.more, second.running, second.more) == (False, (), False)
    assert [trial.id for trial in first.trash] == [trial.id for trial in reversed(trials[4:12])]
    assert len(first.trash) == PUT_AWAY_SHOWN
    closed = list_trials(any_records, shelf="closed")
    assert {trial.id for trial in closed.listed} == {trial.id for trial in trials[:2]}


def test_whoever_was_worked_on_last_comes_first(any_records: Records) -> None:
    old, new = (begin_trial(any_records, name, who=WHO).thing for name in ("Old", "New"))
    rename_trial(any_records, old.id, name="Old", question="Which?", client="", who=WHO)
    assert [facts.trial.id for facts in list_trials(any_records).running] == [old.id, new.id]


def test_open_questions_are_counted_where_a_trial_runs(any_records: Records) -> None:
    asked = Doubt(kind="x", words="w", question='Is "answer": "" the answer?')
    answered = replace(asked, answer="yes")
    with any_records.work("filled", who=WHO) as work:
        work.add(Medium(id="m", name="Rag"))
        for trial, doubts in (("a", (answered,)), ("b", (answered, asked)), ("c", (asked,)), ("d", ())):
            closed = work.now if trial == "c" else None
            work.add(Trial(id=trial, name=trial, begun=date(2026, 1, 1), closed_at=closed))
            work.add(Candidate(id=f"c{trial}", trial_id=trial, medium_id="m", name="Rag"))
            work.add(Sheet(id=f"s{trial}", trial_id=trial, candidate_id=f"c{trial}", code="K7", use="spare"))
            at = work.now - timedelta(hours=30)
            work.add(SheetEvent(id=f"e{trial}", trial_id=trial, sheet_id=f"s{trial}", at=at, kind="printed"))
            for number, sheet in enumerate((f"s{trial}", None if trial == "d" else f"s{trial}")):
                told = doubts if number == 0 else ()
                work.add(
                    Reading(id=f"{trial}{number}", trial_id=trial, sheet_id=sheet, source="dropped",
                            file_name="f", file_sha256="0" * 64, received_at=work.now, doubts=told)
                )  # fmt: skip
    found = {one.trial_id: (one.asked, one.unplaced) for one in list_trials(any_records).questions}
    assert found == {"b": (1, 0), "d": (0, 1)}


def test_a_closed_trial_keeps_the_day_it_was_closed(records: Records, clock: Clock) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    clock.advance(days=3)
    closed = close_trial(records, trial.id, who=WHO).thing
    assert closed.closed_at is not None
    assert closed.closed_at - datetime(2026, 3, 5, 9, tzinfo=UTC) < timedelta(minutes=1)
