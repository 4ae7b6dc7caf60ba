"""What may stand in a brief, and what is missed when it is not there."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from laydown.trials.brief_checks import WANTED, brief_gaps, brief_slips, missing_for_seal, shares
from laydown.trials.brief_proposals import CRITERIA, GATES
from laydown.trials.trial import Brief, Criterion, Gate, WantedDifference

EMPTY = Brief(id="b", trial_id="t")


def test_proposals_can_all_be_taken_together() -> None:
    brief = replace(EMPTY, gates=GATES, criteria=CRITERIA)
    assert brief_slips(brief) == ()
    # The example of a fair trial adds up to 100 (our own proposal).
    assert sum(one.weight for one in CRITERIA) == 100
    assert shares(brief)["Look in the display light"] == pytest.approx(0.3)


def test_shares_are_of_the_sum_whatever_it_is() -> None:
    brief = replace(EMPTY, criteria=(Criterion(name="A", weight=1), Criterion(name="B", weight=3)))
    assert shares(brief) == {"A": 0.25, "B": 0.75}
    assert shares(EMPTY) == {}


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"gates": (Gate(name="Flat"), Gate(name=" flat"))}, "twice"),
        ({"gates": (Gate(name=" "),)}, "no name"),
        ({"criteria": (Criterion(name="A", weight=-1),)}, "number from 0"),
        ({"criteria": (Criterion(name="A", weight=math.inf),)}, "number from 0"),
        ({"criteria": (Criterion(name="A", weight=0),)}, "weigh nothing"),
        ({"criteria": (Criterion(name="A", weight=1, finding="beauty"),)}, "beauty"),
        # Found, shown, and never called: nothing can be tied to it (the catalogue says judged=False).
        ({"criteria": (Criterion(name="A", weight=1, finding="gamut_hull"),)}, "gamut_hull"),
        ({"differences": (WantedDifference(finding="opacity", amount=0),)}, "above 0"),
        ({"differences": (WantedDifference(finding="beauty", amount=1),)}, "beauty"),
        ({"differences": (WantedDifference(finding="opacity", amount=1),) * 2}, "twice"),
    ],
)
def test_slips_are_told(wrong: dict[str, object], words: str) -> None:
    (told,) = brief_slips(replace(EMPTY, **wrong))
    assert words in told


def test_gaps_close_one_by_one() -> None:
    assert {gap.field for gap in brief_gaps(EMPTY)} == set(WANTED)
    assert "sizes" not in {gap.field for gap in brief_gaps(replace(EMPTY, sizes="A2"))}


def test_a_seal_needs_a_question_a_product_and_something_that_counts() -> None:
    assert len(missing_for_seal(EMPTY)) == 3
    enough = replace(EMPTY, question="Which?", products=("loose sheet",), gates=(Gate(name="Flat"),))
    assert missing_for_seal(enough) == ()
    assert missing_for_seal(replace(enough, gates=(), criteria=(Criterion(name="A", weight=1),))) == ()
