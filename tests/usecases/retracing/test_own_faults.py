"""A studio's own numbers about faults: kept, believed, refused, dropped."""

from __future__ import annotations

import json

import pytest

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.science.faults import packaged_faults, parse_faults, with_overrides
from laydown.trials.remarks import Attachment
from laydown.trials.retracing import MarkedSymptom, Retrace
from laydown.usecases.retracing.begin_retrace import begin_retrace
from laydown.usecases.retracing.own_faults import (
    drop_own_faults,
    faults_in_use,
    keep_own_faults,
    packaged_file,
)
from laydown.usecases.retracing.rank_causes import rank_causes
from laydown.usecases.undo import undo

WHO = "Ada"


def _file(**parts: object) -> bytes:
    return json.dumps({"format": "laydown faults 1", "numbers_from": "our prints", **parts}).encode()


def _prior(records: Records) -> float:
    with records.look() as look:
        return faults_in_use(look).model.priors["missing-nozzles"]


def test_own_numbers_go_before_ours_until_they_are_dropped(any_records: Records) -> None:
    ours = packaged_faults().priors["missing-nozzles"]
    assert _prior(any_records) == ours
    keep_own_faults(any_records, _file(priors={"missing-nozzles": 0.4}), who=WHO)
    second = keep_own_faults(any_records, _file(priors={"missing-nozzles": 0.5}), who=WHO)
    assert _prior(any_records) == 0.5
    with any_records.look() as look:
        assert look.count(Attachment) == 1
        assert faults_in_use(look).model.own == ("prior of missing-nozzles",)
    undo(any_records, second.entry_id, who=WHO)
    assert _prior(any_records) == 0.4
    drop_own_faults(any_records, who=WHO)
    assert _prior(any_records) == ours
    with pytest.raises(RefusedInput, match="no file"):
        drop_own_faults(any_records, who=WHO)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"{", "faults.json"),
        (_file(priors={"gremlins": 0.1}), "gremlins"),
        (_file(priors={"missing-nozzles": 7}), "missing-nozzles"),
    ],
)
def test_a_file_with_a_mistake_changes_nothing(records: Records, content: bytes, said: str) -> None:
    with pytest.raises(BadSetting) as refused:
        keep_own_faults(records, content, who=WHO)
    assert said in str(refused.value)
    with records.look() as look:
        assert look.count(Attachment) == 0


def test_the_packaged_file_can_be_taken_in_as_it_is() -> None:
    again = with_overrides(packaged_faults(), parse_faults(packaged_file(), file="faults.json"))
    assert again.priors == packaged_faults().priors
    assert again.links == packaged_faults().links
    assert again.bearings == packaged_faults().bearings
    assert again.speaks == packaged_faults().speaks


def test_own_numbers_move_the_ranking_and_say_so(records: Records) -> None:
    retrace = begin_retrace(records, {"fine-light-lines": "present"}, who=WHO).thing

    def nozzles() -> tuple[float, str]:
        with records.look() as look:
            ranking = rank_causes(look, retrace).ranking
        found = next(one for one in ranking.causes if one.cause.id == "missing-nozzles")
        return found.probability, found.prior_from

    before, ours = nozzles()
    keep_own_faults(records, _file(priors={"missing-nozzles": 0.002}), who=WHO)
    after, own = nozzles()
    assert after < 0.5 * before
    assert (own, "judgement" in ours) == ("your own experience", True)


def test_a_file_that_no_longer_fits_does_not_stop_the_work(records: Records) -> None:
    content = _file(priors={"gremlins": 0.1})
    with records.work("attached", who=WHO) as work:
        sha256 = work.keep_file(content)
        work.add(
            Attachment(
                id="a", trial_id=None, about="studio", kind="other", name="faults.json", sha256=sha256,
                size=len(content), at=work.now,
            )
        )  # fmt: skip
    with records.look() as look:
        used = faults_in_use(look)
    assert used.model == packaged_faults()
    assert "gremlins" in used.trouble


def test_marks_of_a_list_that_was_dropped_are_passed_over_by_name(records: Records) -> None:
    with records.work("began", who=WHO) as work:
        retrace = work.add(
            Retrace(
                id="r", trial_id=None, title="t", begun_at=work.now,
                symptoms=(
                    MarkedSymptom(symptom="roll-thumps", seen="present"),
                    MarkedSymptom(symptom="hook", seen="present"),
                ),
            )
        )  # fmt: skip
    with records.look() as look:
        ranked = rank_causes(look, retrace)
    assert ranked.passed_over == ("roll-thumps",)
    assert ranked.ranking.causes[0].reasons
