"""The packaged faults are whole, and say where they come from."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from laydown.science.faults.packaged import PARTS

GRADES = {"several public sources", "one weak source", "common practice, no source"}
# What can hurt, and what its caution must then speak of: the usual cautions of the trade (practice).
DANGERS = [
    (r"[Oo]pen the frame", "Glass cuts"),
    (r"[Cc]oat a (piece|scrap)|one coat\b", "safety data sheet"),
    (r"\bcut\b", "Cut away from the body"),
    (r"the platen|the gap one step wider", "unplug"),
    (r"while the trigger is pulled", "compressed air"),
    (r"\bUV-stopping|without \(M2\)", "UV lamps can hurt"),
]


def test_there_are_the_symptoms_of_the_trade_and_some_more(faults):
    assert len(faults.symptoms) >= 52
    assert len(PARTS) == 4


def test_the_method_page_counts_right(faults):
    page = (Path(__file__).resolve().parents[3] / "docs/methods/retrace.md").read_text(encoding="utf-8")
    links = sum(len(effects) for effects in faults.links.values())
    for part, count in (
        ("symptoms", len(faults.symptoms)),
        ("causes", len(faults.causes)),
        ("checks", len(faults.checks)),
        ("links", links),
        ("evidence", len(faults.speaks)),
    ):
        assert f"| {part} | {count} |" in page


def test_every_number_is_there_and_says_whose_it_is(faults):
    assert faults.numbers_from == "our judgement; overwrite them with your own experience"
    assert set(faults.priors) == set(faults.causes) == set(faults.links)
    assert set(faults.leaks) == set(faults.symptoms)
    assert set(faults.bearings) == set(faults.checks)
    assert faults.own == ()


def test_every_entry_states_how_well_it_is_supported(faults):
    entries = [*faults.symptoms.values(), *faults.causes.values(), *faults.checks.values()]
    assert {entry.source for entry in entries} == GRADES


def test_every_symptom_has_a_cause_that_often_brings_it(faults):
    for symptom in faults.symptoms:
        strongest = max(effects.get(symptom, 0.0) for effects in faults.links.values())
        assert strongest >= 0.5, symptom


def test_every_cause_has_fixes_and_a_check_that_speaks_for_it(faults):
    for cause, described in faults.causes.items():
        assert described.fixes
        raised = [b.yes_if.get(cause, 0.0) / b.otherwise for b in faults.bearings.values()]
        assert max(raised) >= 3.0, f"no check speaks for {cause}"


def test_every_check_tells_at_least_one_cause_from_the_rest(faults):
    for check, bearing in faults.bearings.items():
        ratios = [max(p / bearing.otherwise, bearing.otherwise / p) for p in bearing.yes_if.values()]
        assert max(ratios) >= 3.0, check


def test_links_are_wide(faults):
    """Symptoms share causes; a list of one cause to one symptom would need no reckoning."""
    per_symptom = [sum(s in effects for effects in faults.links.values()) for s in faults.symptoms]
    assert sum(per_symptom) / len(per_symptom) > 4.0
    assert sum(count == 1 for count in per_symptom) <= 6


def test_names_are_told_apart(faults):
    for entries in (faults.symptoms.values(), faults.causes.values()):
        names = [entry.name.casefold() for entry in entries]
        assert len(set(names)) == len(names)
    questions = [check.question for check in faults.checks.values()]
    assert len(set(questions)) == len(questions)


def test_every_question_can_be_answered_yes_or_no(faults):
    first = r"(Is|Are|Do|Does|Did|Was|Has|Seen|Under|Tilted|Between|On) |Tilted,|Seen along"
    for check in faults.checks.values():
        assert check.question.endswith("?")
        assert re.match(first, check.question), check.question


@pytest.mark.parametrize(("danger", "caution"), DANGERS)
def test_what_can_hurt_carries_its_caution(faults, danger, caution):
    risky = [c for c in faults.checks.values() if re.search(danger, f"{c.question} {c.how}")]
    assert risky, danger
    for check in risky:
        assert caution in check.caution, check.id


def test_fixes_that_spray_or_reach_into_the_printer_carry_their_caution(faults):
    for cause in ("coat-too-heavy", "spray-arrives-dry", "moisture-trapped", "left-uncoated", "scuffed"):
        assert "safety data sheet" in faults.causes[cause].caution
    for cause in ("gap-too-small", "path-dirty", "suction-wrong", "wheel-marks"):
        assert "unplug" in faults.causes[cause].caution


def test_no_promise_of_years_is_made(faults):
    words = " ".join(
        [*(c.explanation + " ".join(c.fixes) for c in faults.causes.values())]
        + [c.how for c in faults.checks.values()]
    )
    assert not re.search(r"\byears?\b|\bforever\b|\blast(s)? for\b", words)
