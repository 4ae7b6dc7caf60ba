"""Beginning, marking, answering, trying, closing and opening again."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput, UnknownRecord
from laydown.records.ledger import Records
from laydown.science.faults import MOST_PRESENT, packaged_faults
from laydown.trials.retracing import MarkedSymptom, Retrace
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Medium
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.retracing.answer_check import answer_check
from laydown.usecases.retracing.begin_retrace import begin_retrace
from laydown.usecases.retracing.close_retrace import close_retrace, reopen_retrace
from laydown.usecases.retracing.mark_symptoms import mark_symptoms
from laydown.usecases.retracing.note_fix import note_fix_tried
from laydown.usecases.undo import undo

WHO = "Ada"


@pytest.fixture
def sheet(any_records: Records) -> Sheet:
    with any_records.work("began", who=WHO) as work:
        work.add(Trial(id="spring", name="Spring", begun=date(2026, 3, 1)))
        work.add(Medium(id="tidemill", name="Tidemill Cotton (invented)"))
        work.add(Candidate(id="arm", trial_id="spring", medium_id="tidemill", name="Tidemill Cotton"))
        return work.add(Sheet(id="k7", trial_id="spring", candidate_id="arm", code="K7"))


@pytest.fixture
def begun(records: Records) -> Retrace:
    return begin_retrace(records, {"hook": "present"}, who=WHO).thing


def _now(records: Records, retrace: Retrace) -> Retrace:
    with records.look() as look:
        return look.get(Retrace, retrace.id)


def test_begin_with_a_sheet(any_records: Records, sheet: Sheet) -> None:
    acted = begin_retrace(
        any_records,
        {"mottle": "present", "hook": "absent", "fish-eyes": "not looked at"},
        who=WHO,
        sheet_id=sheet.id,
    )
    kept = acted.thing
    assert (kept.trial_id, kept.sheet_id, kept.by, kept.outcome) == ("spring", "k7", WHO, "open")
    # In the order of the model, whatever the order of the form; what was not looked at is not kept.
    assert kept.symptoms == (
        MarkedSymptom(symptom="hook", seen="absent"),
        MarkedSymptom(symptom="mottle", seen="present"),
    )
    assert kept.title == "Tidemill Cotton, sheet K7: Cloudy, grainy dark areas"
    with any_records.look() as look:
        entry = look.entry(acted.entry_id)
    assert (entry.trial_id, entry.action) == ("spring", "began to retrace")
    undo(any_records, acted.entry_id, who=WHO)
    with any_records.look() as look:
        assert look.seek(Retrace, kept.id) is None


def test_begin_without_a_sheet_is_called_by_what_is_seen(records: Records) -> None:
    kept = begin_retrace(records, {"fish-eyes": "present"}, who=WHO).thing
    assert (kept.trial_id, kept.sheet_id) == (None, None)
    assert kept.title == "Fish-eyes: round craters in the coat"


def test_what_no_retrace_can_begin_with(records: Records) -> None:
    with pytest.raises(BadSetting, match="nothing is marked"):
        begin_retrace(records, {"hook": "absent"}, who=WHO)
    with pytest.raises(RefusedInput, match="no symptom"):
        begin_retrace(records, {"gremlins": "present"}, who=WHO)
    with pytest.raises(UnknownRecord):
        begin_retrace(records, {"hook": "present"}, who=WHO, sheet_id="nowhere")
    with pytest.raises(BadSetting, match="title"):
        begin_retrace(records, {"hook": "present"}, who=WHO, title="x" * 121)
    too_many = list(packaged_faults().symptoms)[: int(MOST_PRESENT.value) + 1]
    with pytest.raises(BadSetting, match="13 are marked as there; at most 12"):
        begin_retrace(records, dict.fromkeys(too_many, "present"), who=WHO)
    with records.look() as look:
        assert look.count(Retrace) == 0


def test_marks_are_put_in_place_of_those_before(records: Records, begun: Retrace) -> None:
    with records.look() as look:
        seen = look.revision(Retrace, begun.id)
    mark_symptoms(records, begun.id, {"mottle": "present"}, who=WHO, seen=seen)
    assert _now(records, begun).symptoms == (MarkedSymptom(symptom="mottle", seen="present"),)
    with pytest.raises(ChangedMeanwhile):
        mark_symptoms(records, begun.id, {"hook": "present"}, who="another tablet", seen=seen)
    with pytest.raises(BadSetting, match="nothing is marked"):
        mark_symptoms(records, begun.id, {}, who=WHO)


def test_an_answer_is_kept_once_and_may_change(records: Records, begun: Retrace) -> None:
    first = answer_check(records, begun.id, "last-five-steps", "yes", who=WHO)
    again = answer_check(records, begun.id, "last-five-steps", "yes", who=WHO)
    assert again.thing == first.thing
    with records.look() as look:
        assert len(look.entries(record_id=begun.id)) == 2  # a double tap is no second act
    answer_check(records, begun.id, "back-puckered", "unsure", who=WHO)
    answer_check(records, begun.id, "last-five-steps", "no", who=WHO, words="looked again")
    told = [(one.check, one.answer, one.words) for one in _now(records, begun).answers]
    assert told == [("back-puckered", "unsure", ""), ("last-five-steps", "no", "looked again")]
    with pytest.raises(RefusedInput, match="no such check"):
        answer_check(records, begun.id, "tea-leaves", "yes", who=WHO)


def test_the_newer_word_on_a_fix_stands(records: Records, begun: Retrace) -> None:
    cause, what = "total-ink-too-high", "Less ink"
    note_fix_tried(records, begun.id, cause, what, helped=None, who=WHO)
    note_fix_tried(records, begun.id, cause, "Longer drying", helped=False, who=WHO)
    note_fix_tried(records, begun.id, cause, f" {what} ", helped=True, who=WHO)
    told = [(one.words, one.helped) for one in _now(records, begun).tried]
    assert told == [("Longer drying", False), (what, True)]
    with pytest.raises(BadSetting):
        note_fix_tried(records, begun.id, cause, "  ", helped=True, who=WHO)
    with pytest.raises(RefusedInput, match="no such cause"):
        note_fix_tried(records, begun.id, "gremlins", what, helped=True, who=WHO)


def test_closed_and_opened_again(records: Records, begun: Retrace) -> None:
    acted = close_retrace(records, begun.id, "still wrong", who=WHO, words="It is the lot.")
    closed = _now(records, begun)
    assert (closed.outcome, closed.words) == ("still wrong", "It is the lot.")
    assert closed.closed_at is not None
    assert closed.closed_at > datetime(2026, 3, 2, 9, tzinfo=UTC)
    for refused in (
        lambda: answer_check(records, begun.id, "last-five-steps", "yes", who=WHO),
        lambda: mark_symptoms(records, begun.id, {"hook": "present"}, who=WHO),
        lambda: note_fix_tried(records, begun.id, "not-cured", "waited", helped=True, who=WHO),
        lambda: close_retrace(records, begun.id, "solved", who=WHO),
    ):
        with pytest.raises(RefusedInput, match="closed as still wrong"):
            refused()
    reopen_retrace(records, begun.id, who=WHO)
    assert _now(records, begun) == replace(closed, outcome="open", closed_at=None)
    with pytest.raises(RefusedInput, match="is open"):
        reopen_retrace(records, begun.id, who=WHO)
    close_retrace(records, begun.id, "solved", who=WHO)
    assert _now(records, begun).words == "It is the lot."  # nothing typed leaves what was learnt
    with pytest.raises(ChangedMeanwhile):
        undo(records, acted.entry_id, who=WHO)
