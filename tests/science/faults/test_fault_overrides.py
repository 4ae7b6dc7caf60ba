"""A studio's own numbers over the packaged ones: one at a time, and never with a hole left behind."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.faults import FORMAT, measured_evidence, parse_faults, rank, with_overrides

ROOT = Path(__file__).resolve().parents[3]


def ours(**parts):
    return parse_faults(json.dumps({"format": FORMAT, **parts}).encode(), file="ours.json")


def chance_of(model, cause, marks, **told):
    return next(item.probability for item in rank(model, marks, **told).causes if item.cause.id == cause)


def test_one_prior_changes_and_everything_else_stays(faults):
    laid = with_overrides(faults, ours(priors={"missing-nozzles": 0.3}))
    assert laid.priors == {**faults.priors, "missing-nozzles": 0.3}
    assert (laid.links, laid.leaks, laid.bearings) == (faults.links, faults.leaks, faults.bearings)
    marks = {"regular-bands": "present"}
    assert chance_of(laid, "missing-nozzles", marks) > chance_of(faults, "missing-nozzles", marks)
    assert faults.priors["missing-nozzles"] == 0.08, "what lies below is not touched"


def test_numbers_of_their_own_are_shown_as_their_own(faults):
    laid = with_overrides(faults, ours(priors={"missing-nozzles": 0.3}))
    found = {item.cause.id: item for item in rank(laid, {"fine-light-lines": "present"}).causes}
    assert found["missing-nozzles"].prior_from == "your own experience"
    assert found["room-too-dry"].prior_from == "our judgement; overwrite them with your own experience"


def test_one_link_changes_and_a_link_of_nothing_is_taken_away(faults):
    laid = with_overrides(faults, ours(links={"touched": {"finger-marks": 0.5, "fish-eyes": 0}}))
    assert laid.links["touched"] == {"finger-marks": 0.5, "rub-marks": 0.2}


def test_one_answer_of_a_check_changes_and_the_others_stay(faults):
    told = {"nozzles-missing": {"otherwise": 0.2, "yes_if": {"missing-nozzles": 0.7}}}
    laid = with_overrides(faults, ours(bearings=told))
    before, after = faults.bearings["nozzles-missing"], laid.bearings["nozzles-missing"]
    assert after.otherwise == 0.2
    assert after.yes_if == {**before.yes_if, "missing-nozzles": 0.7}


def test_the_weight_of_evidence_can_be_changed(faults):
    (hook,) = measured_evidence(hook_l=2.0)
    laid = with_overrides(faults, ours(speaks={"hook-found": {"total-ink-too-high": 1.0}}))
    assert chance_of(faults, "total-ink-too-high", {}, evidence=[hook]) > 0.4
    # At a ratio of 1 the evidence says nothing of this cause: its prior of 0.06 stays.
    assert chance_of(laid, "total-ink-too-high", {}, evidence=[hook]) == pytest.approx(0.06, rel=1e-9)
    doubled = with_overrides(faults, ours(speaks={"hook-found": {"total-ink-too-high": 24.0}}))
    first = rank(doubled, {}, evidence=[hook]).causes[0]
    assert (first.cause.id, first.reasons[0].ratio) == ("total-ink-too-high", 24.0), "reasons show it, too"


def test_words_are_replaced_where_they_stand_and_new_entries_come_last(faults):
    renamed = {"id": "touched", "name": "Fingers", "explanation": "Fingers.", "family": "handling"}
    laid = with_overrides(faults, ours(causes=[{**renamed, "fixes": ["Gloves."], "source": "us"}]))
    assert list(laid.causes) == list(faults.causes)
    assert laid.causes["touched"].name == "Fingers"


def test_a_new_symptom_cause_and_check_work_together(faults):
    text = (ROOT / "docs/methods/retrace.md").read_text(encoding="utf-8")
    example = text.split("```json\n")[1].split("```")[0]
    laid = with_overrides(faults, parse_faults(example.encode(), file="example.json"))
    new = [cause for cause in laid.causes if cause not in faults.causes]
    assert len(new) == 1
    (symptom,) = (symptom for symptom in laid.symptoms if symptom not in faults.symptoms)
    ranking = rank(laid, {symptom: "present"})
    assert ranking.causes[0].cause.id == new[0]
    (check,) = (check for check in laid.checks if check not in faults.checks)
    assert check in {item.check.id for item in ranking.next_checks}


SYMPTOM = {"id": "ghost", "name": "Ghost", "sentence": "Seen.", "family": "ink", "source": "us"}
CAUSE = {
    "id": "old-file",
    "name": "Old",
    "explanation": "Old.",
    "family": "files",
    "fixes": ["New."],
    "source": "us",
}
CHECK = {"id": "look", "question": "Old?", "how": "Look.", "minutes": 1, "cost": "nothing", "source": "us"}
GAPS = [
    ({"priors": {"gremlins": 0.1}}, '"priors" names "gremlins", and nothing in "causes" has that id'),
    ({"links": {"gremlins": {"hook": 0.1}}}, '"links" names "gremlins"'),
    ({"links": {"touched": {"hooks": 0.1}}}, '"links" names "hooks", and nothing in "symptoms"'),
    ({"leaks": {"hooks": 0.1}}, '"leaks" names "hooks"'),
    ({"bearings": {"look": {"otherwise": 0.1, "yes_if": {"touched": 0.5}}}}, '"bearings" names "look"'),
    (
        {"bearings": {"nozzles-missing": {"otherwise": 0.1, "yes_if": {"gremlins": 0.5}}}},
        '"bearings" names "gremlins"',
    ),
    ({"speaks": {"hook-found": {"gremlins": 2.0}}}, '"speaks" names "gremlins"'),
    ({"speaks": {"moonlight": {"touched": 2.0}}}, '"moonlight", which is no evidence that Laydown looks for'),
    ({"links": {"touched": {"finger-marks": 0, "rub-marks": 0, "fish-eyes": 0}}}, '"touched" has no symptom'),
    ({"symptoms": [SYMPTOM]}, '"ghost" has no leak. Add it under "leaks"'),
    ({"causes": [CAUSE]}, '"old-file" has no prior. Add it under "priors"'),
    ({"checks": [CHECK]}, '"look" has no cause that it speaks about. Add it under "bearings"'),
]


@pytest.mark.parametrize(("parts", "words"), GAPS)
def test_a_gap_is_refused_with_the_studios_file_and_what_to_do(faults, parts, words):
    with pytest.raises(BadSetting, match=words) as refused:
        with_overrides(faults, ours(**parts))
    assert refused.value.file == "ours.json"
    assert refused.value.todo
