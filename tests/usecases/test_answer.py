"""The answer in sentences says what the calls say, and no more."""

from __future__ import annotations

from itertools import combinations

import pytest

from laydown.science.deciding.types import Call
from laydown.science.findings.catalogue import METRICS
from laydown.usecases.answer import MOST_PAIRS, answer
from laydown.usecases.comparison import Candidate, ComparedDifference, SheetSummary


def medium(name: str, sheets: int = 3, *, house: bool = False) -> Candidate:
    listed = tuple(SheetSummary(f"s{n}", (), (), 9) for n in range(sheets))
    return Candidate(name=name, house=house, sheets=listed, facts=(), findings=())


def difference(
    finding: str, call: Call, *, refused: str = "", pair: tuple[str, str] = ("A", "H")
) -> ComparedDifference:
    return ComparedDifference(
        finding=finding,
        label=METRICS[finding].label,
        unit="",
        decimals=1,
        condition="M1",
        candidate=pair[0],
        against=pair[1],
        difference=1.0,
        low=0.5,
        high=1.5,
        margin=1.0,
        margin_source="",
        call=call,
        sheets_needed=None,
        p_adjusted=0.01,
        real=True,
        refused=bool(refused),
        reason=refused,
    )


HOUSE = [medium("H", house=True), medium("A")]


def test_calls_are_gathered_in_one_sentence() -> None:
    told = answer(
        HOUSE,
        [
            difference("dmax_visual", "better"),
            difference("grey_balance", "worse"),
            difference("white_b", "lower"),
            difference("repeat_mcdm", "same"),
            difference("tone_reversal", "cannot_tell"),
        ],
        house="H",
    )
    assert told == (
        (
            "A against H: better in Dmax visual; worse in Grey balance; lower in White b*; "
            "the same within the margin that matters in 1 finding; not yet to be told: Tone reversal."
        ),
    )


def test_an_echo_is_left_out_only_where_its_main_finding_is_told_apart() -> None:
    both = answer(HOUSE, [difference("dmax_visual", "better"), difference("black_l", "better")], house="H")
    assert "better in Dmax visual and 1 finding that goes with these" in both[0]
    alone = answer(HOUSE, [difference("dmax_visual", "same"), difference("black_l", "better")], house="H")
    assert "better in Black L*" in alone[0]


def test_everything_the_same_says_all() -> None:
    told = answer(HOUSE, [difference("white_l", "same"), difference("white_b", "same")], house="H")
    assert told == ("A against H: the same within the margin that matters in all 2 findings.",)


def test_refused_throughout_says_why() -> None:
    told = answer(
        HOUSE, [difference("white_l", "cannot_tell", refused="unlike finish: a against b")], house="H"
    )
    assert told == ("A cannot be compared with H: unlike finish: a against b.",)


def test_one_sheet_is_never_a_verdict() -> None:
    told = answer(
        [medium("H", house=True), medium("A", 1)], [difference("white_l", "cannot_tell")], house="H"
    )
    assert told == ("One sheet only, so no call: A. Print at least two more.",)


def test_unlike_conditions_come_before_advice_to_print_more() -> None:
    alone = [medium("H", 1, house=True), medium("A", 1)]
    told = answer(alone, [difference("white_l", "cannot_tell", refused="M0 against M2")], house="H")
    assert told == ("A and H cannot be compared: M0 against M2.",)


def test_every_finding_is_counted_or_named() -> None:
    told = answer(
        HOUSE,
        [
            difference("dmax_visual", "better"),
            difference("black_l", "better"),
            difference("dmax_status_t", "better"),
        ],
        house="H",
    )
    assert told == ("A against H: better in Dmax visual and 2 findings that go with these.",)


def test_without_a_house_each_pair_has_a_sentence_until_there_are_too_many() -> None:
    few = answer([medium("A"), medium("B")], [difference("dmax_visual", "better", pair=("A", "B"))], house="")
    assert "A and B: told apart in Dmax visual" in few[0]
    names = [f"M{n}" for n in range(6)]
    pairs = [difference("dmax_visual", "better", pair=pair) for pair in combinations(names, 2)]
    assert len(pairs) > MOST_PAIRS
    many = answer([medium(name) for name in names], pairs, house="")
    assert many[0].startswith("6 media make 15 pairs")
    assert len(many) == 2


@pytest.mark.parametrize("metric", [m for m in METRICS.values() if m.echoes])
def test_an_echo_names_a_finding_that_is_judged(metric: object) -> None:
    assert METRICS[metric.echoes].judged  # type: ignore[attr-defined]
