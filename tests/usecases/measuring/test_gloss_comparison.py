"""Gloss of a trial's media and of its coats: means over sheets, calls, and what is never compared."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import scipy.stats

from laydown.trials.measured import GlossReading
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.trial import Candidate
from laydown.usecases.demo_trial import HOUSE
from laydown.usecases.measuring.gloss_comparison import GlossComparison, GlossQuantity, compare_gloss
from laydown.usecases.measuring.gloss_of_coat import gloss_changes
from spring_trial import GLOSS, PRINTED

SETTLED = datetime(2026, 1, 14, 10, 0, tzinfo=UTC)
COATED = PRINTED + timedelta(days=3)
DRY = COATED + timedelta(days=2)
WHITE = {
    "K2": (2.9, 3.1), "K3": (3.2, 3.4), "K4": (2.7, 2.9),
    "H5": (28.0, 30.0), "H6": (26.5, 26.5), "H7": (31.0, 31.6),
}  # fmt: skip
BLACK = {"K2": (2.0,), "K3": (2.2,), "K4": (2.1,), "H5": (35.0,), "H6": (33.0,), "H7": (36.0,)}


def gloss(code: str, values: tuple[float, ...], place: str = "paper white", **told: object) -> GlossReading:
    at = told.get("measured_at", SETTLED)
    plain: dict[str, object] = {
        "angle": 60, "instrument": "hand meter", "measured_at": SETTLED, "received_at": at or SETTLED, **told,
    }  # fmt: skip
    key = f"{code} {place} {plain['angle']} {plain.get('direction', '')} {at}"
    return GlossReading(
        id=key,
        trial_id="spring",
        sheet_id=f"s-{code}",
        place=place,
        values=values,
        **plain,  # type: ignore[arg-type]
    )


def read_all(bench, **told: object) -> None:
    bench.keep(
        *(gloss(code, values, **told) for code, values in WHITE.items()),
        *(gloss(code, values, "black", **told) for code, values in BLACK.items()),
    )


def quantity(found: GlossComparison, name: str) -> GlossQuantity:
    return next(one for one in found.quantities if one.id == name)


def test_a_medium_has_the_mean_and_interval_of_its_sheets(bench) -> None:
    read_all(bench)
    found = compare_gloss(bench.facts)
    white = quantity(found, "gloss_paper_white_60")
    assert (white.label, white.condition) == ("Gloss of paper white", "60°, hand meter")
    house, satin = white.media
    assert (house.name, house.house, satin.name) == (HOUSE, True, GLOSS)
    means = [29.0, 26.5, 31.3]
    # The oracle: scipy's t interval over three sheet means, worked by hand from the repeats.
    low, high = scipy.stats.t.interval(0.95, df=2, loc=np.mean(means), scale=scipy.stats.sem(means))
    assert satin.finding.value == pytest.approx(np.mean(means))
    assert (satin.finding.low, satin.finding.high) == pytest.approx((low, high))
    assert (satin.finding.n, satin.finding.unit, satin.finding.source) == (3, "GU", "ISO 2813; ASTM D523")
    assert satin.finding.per_sheet == (("H5", 29.0), ("H6", 26.5), ("H7", pytest.approx(31.3)))
    # Repeats differ by 2, 0 and 0.6: standard deviations of these over the root of 2, root mean square.
    assert satin.repeat_sd == pytest.approx(np.sqrt((2.0**2 + 0.0 + 0.6**2) / 2 / 3))


def test_the_house_is_held_against_by_welch_and_all_gloss_is_judged_together(bench) -> None:
    read_all(bench)
    found = compare_gloss(bench.facts)
    (difference,) = quantity(found, "gloss_paper_white_60").differences
    told = scipy.stats.ttest_ind([29.0, 26.5, 31.3], [3.0, 3.3, 2.8], equal_var=False)  # the oracle
    assert (difference.candidate, difference.against) == (GLOSS, HOUSE)
    assert (difference.low, difference.high) == pytest.approx(tuple(told.confidence_interval(0.95)))
    assert found.comparisons == 3  # white, black, differential
    assert difference.p_adjusted == pytest.approx(3 * told.pvalue)
    assert difference.call == "higher"
    assert difference.margin == 1.0  # a tenth of 3 GU is less than the least of 1


def test_the_differential_is_sheet_by_sheet(bench) -> None:
    read_all(bench)
    found = quantity(compare_gloss(bench.facts), "gloss_differential_60")
    house, satin = found.media
    assert [value for _, value in house.finding.per_sheet] == pytest.approx([1.0, 1.1, 0.7])
    assert [value for _, value in satin.finding.per_sheet] == pytest.approx([-6.0, -6.5, -4.7])
    assert np.isnan(satin.repeat_sd)
    assert found.differences[0].call == "lower"
    assert "our own simple definition" in house.finding.method


def test_unlike_angles_and_directions_are_never_compared(bench) -> None:
    bench.keep(
        *(gloss(code, WHITE[code]) for code in ("K2", "K3", "K4")),
        *(gloss(code, WHITE[code], angle=85) for code in ("H5", "H6", "H7")),
        gloss("K2", (2.5,), direction="along"),
        gloss("H5", (25.0,), direction="across"),
    )
    found = compare_gloss(bench.facts)
    assert all(one.differences == () for one in found.quantities)
    assert [one.id for one in found.quantities] == [
        "gloss_paper_white_60",
        "gloss_paper_white_60_across",
        "gloss_paper_white_60_along",
        "gloss_paper_white_85",
    ]
    assert found.comparisons == 0
    assert any("unlike angles is never compared" in text for text in found.cautions)
    assert any("unlike ways to the feed" in text for text in found.cautions)


def test_black_at_another_angle_makes_no_differential(bench) -> None:
    bench.keep(gloss("K2", (3.0,)), gloss("K2", (9.0,), "black", angle=85))
    assert all("differential" not in one.id for one in compare_gloss(bench.facts).quantities)


def test_one_sheet_calls_nothing_and_it_is_said(bench) -> None:
    bench.keep(*(gloss(code, WHITE[code]) for code in ("K2", "K3", "K4", "H5")))
    found = compare_gloss(bench.facts)
    (white,) = found.quantities
    assert white.differences[0].call == "cannot_tell"
    assert np.isnan(white.differences[0].low)
    assert white.media[1].finding.note == "one sheet: no interval"
    assert found.comparisons == 0
    assert f"One sheet only somewhere, so nothing is called there: {GLOSS}." in found.cautions


def test_what_may_not_be_compared_is_left_out_and_said(bench) -> None:
    read_all(bench)
    bench.keep(
        gloss("K2", (90.0,), measured_at=PRINTED + timedelta(hours=2)),
        gloss("K3", (2.0, 3.0), "mid grey", set_aside_at=SETTLED, set_aside_why="dust"),
    )
    found = compare_gloss(bench.facts)
    house = quantity(found, "gloss_paper_white_60").media[0]
    assert house.finding.per_sheet[0] == ("K2", 3.0)
    assert "gloss_mid_grey_60" not in {one.id for one in found.quantities}
    assert (
        "Left out: 1 gloss reading read too early: K2: paper white "
        "(read 2.0 h after it was printed, 24 h are wanted)." in found.cautions
    )
    assert "Left out: 1 gloss reading set aside: K3: mid grey (dust)." in found.cautions


def test_meters_times_and_angles_are_spoken_of(bench) -> None:
    bench.keep(
        gloss("K2", (3.0,), measured_at=None, received_at=SETTLED),
        gloss("K3", (3.1,), instrument=""),
        gloss("H5", (80.0,)),
    )
    told = compare_gloss(bench.facts).cautions
    assert any(text.startswith("When gloss was read is not stated for K2") for text in told)
    assert any(
        text.startswith("Read with more than one meter (hand meter, meter not stated)") for text in told
    )
    assert any(text.startswith(f"{HOUSE}: 85° would tell matte prints apart better") for text in told)
    assert any(text.startswith(f"{GLOSS}: 20° would tell very glossy prints apart better") for text in told)


def test_nothing_recorded_is_nothing_said(bench) -> None:
    found = compare_gloss(bench.facts)
    assert (found.quantities, found.cautions, found.comparisons) == ((), (), 0)


CODES = ("L2", "L3", "L4")


@pytest.fixture
def coat_trial(bench):
    """The rag with a coated arm of three sheets, coated three days after printing."""
    arm = Candidate(
        id="c-coat", trial_id="spring", medium_id="rag", name="Fenland Rag coated", finish="coated",
        twin_id="c-rag", position=2,
    )  # fmt: skip
    things: list[object] = [arm]
    for place, code in enumerate(CODES, start=20):
        things.append(Sheet(id=f"s-{code}", trial_id="spring", candidate_id="c-coat", code=code, place=place))
        for kind, at in (("printed", PRINTED), ("coated", COATED)):
            things.append(
                SheetEvent(id=f"{kind}-{code}", trial_id="spring", sheet_id=f"s-{code}", at=at, kind=kind)  # type: ignore[arg-type]
            )
    bench.keep(*things)
    return bench


def test_a_coat_is_told_from_the_same_sheets(coat_trial) -> None:
    before, after = (3.1, 3.6, 2.8), (31.0, 33.2, 30.1)
    for code, was, now in zip(CODES, before, after, strict=True):
        coat_trial.keep(gloss(code, (was,)), gloss(code, (now,), measured_at=DRY))
    (change,) = gloss_changes(coat_trial.facts)["c-coat"]
    told = scipy.stats.ttest_rel(after, before)  # the oracle: scipy's own paired test
    assert change.difference is not None
    assert (change.paired, change.pairs, change.difference.call) == (True, 3, "higher")
    assert (change.difference.low, change.difference.high) == pytest.approx(
        tuple(told.confidence_interval(0.95))
    )
    assert change.difference.against == "Fenland Rag coated, before coating"
    assert change.before is not None
    assert (change.before.n, change.after.n) == (3, 3)


def test_without_readings_before_arm_stands_against_arm(coat_trial) -> None:
    coat_trial.keep(
        *(gloss(code, WHITE[code]) for code in ("K2", "K3", "K4")),
        *(gloss(code, (31.0 + n,), measured_at=DRY) for n, code in enumerate(CODES)),
        # Wet ink is no "before".
        *(gloss(code, (3.0 + n,), measured_at=PRINTED + timedelta(hours=2)) for n, code in enumerate(CODES)),
    )
    (change,) = gloss_changes(coat_trial.facts)["c-coat"]
    told = scipy.stats.ttest_ind([31.0, 32.0, 33.0], [3.0, 3.3, 2.8], equal_var=False)  # the oracle
    assert change.difference is not None
    assert (change.paired, change.difference.against) == (False, f"{HOUSE}, uncoated")
    assert (change.difference.low, change.difference.high) == pytest.approx(
        tuple(told.confidence_interval(0.95))
    )


@pytest.mark.parametrize("sheets", [(1, 1), (3, 1), (1, 3), (3, 0)])
def test_one_sheet_on_either_side_says_nothing(coat_trial, sheets: tuple[int, int]) -> None:
    coated, bare = sheets
    coat_trial.keep(
        *(gloss(code, (31.0,), measured_at=DRY) for code in CODES[:coated]),
        *(gloss(code, WHITE[code]) for code in ("K2", "K3", "K4")[:bare]),
    )
    (change,) = gloss_changes(coat_trial.facts)["c-coat"]
    assert change.difference is None
    assert change.after.n == coated
    assert (change.before.n if change.before else 0) == bare


def test_a_coat_read_at_another_angle_has_no_before(coat_trial) -> None:
    for code in CODES:
        coat_trial.keep(gloss(code, (3.0,)), gloss(code, (40.0,), angle=85, measured_at=DRY))
    (change,) = gloss_changes(coat_trial.facts)["c-coat"]
    assert (change.before, change.difference) == (None, None)


def test_coated_and_uncoated_media_are_not_called_against_each_other(coat_trial) -> None:
    read_all(coat_trial)
    coat_trial.keep(*(gloss(code, (31.0 + n,), measured_at=DRY) for n, code in enumerate(CODES)))
    found = quantity(compare_gloss(coat_trial.facts), "gloss_paper_white_60")
    refused = next(one for one in found.differences if one.candidate == "Fenland Rag coated")
    assert (refused.refused, refused.reason) == (True, "unlike finish: coated against uncoated")
    assert np.isnan([refused.difference, refused.low, refused.p_adjusted]).all()
    assert compare_gloss(coat_trial.facts).comparisons == 3


def test_the_margin_of_a_coats_differential_is_a_share_of_the_white_before(coat_trial) -> None:
    for n, code in enumerate(CODES):
        coat_trial.keep(
            gloss(code, (20.0 + n,)), gloss(code, (15.0,), "black"),
            gloss(code, (50.0 + n,), measured_at=DRY), gloss(code, (52.0,), "black", measured_at=DRY),
        )  # fmt: skip
    changes = {one.under.place: one for one in gloss_changes(coat_trial.facts)["c-coat"]}
    margins = {place: one.difference.margin for place, one in changes.items() if one.difference}
    # A tenth of the means before the coat: 21, 15, and for the differential again the white's 21.
    assert margins == pytest.approx({"paper white": 2.1, "black": 1.5, "gloss differential": 2.1})
