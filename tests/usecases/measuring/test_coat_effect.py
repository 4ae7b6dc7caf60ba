"""What the coat did: the same sheets against themselves where that can be, else arm against arm."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import scipy.stats

from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.trial import Candidate, Coat
from laydown.usecases.compare_media import compare_media
from laydown.usecases.demo_trial import HOUSE
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.coat_effect import BETWEEN_ARMS, CoatEffect, coat_effects
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.trial_comparison import trial_request

PRINTED = datetime(2026, 1, 12, 9, 30, tzinfo=UTC)
PATCHES = [
    (255, 255, 255),
    (0, 0, 0),
    (0, 255, 255),
    (255, 0, 255),
    (255, 255, 0),
    (255, 0, 0),
    (0, 255, 0),
    (0, 0, 255),
]
# Lab of a plain matte print, invented.
COLOURS = np.array(
    [
        [96, 0, 2],
        [17, 0, 0],
        [55, -35, -45],
        [48, 70, -5],
        [88, -5, 90],
        [47, 65, 45],
        [50, -65, 30],
        [25, 20, -45],
    ],
    dtype=float,
)


def csv(name: str, at: str, lab: np.ndarray) -> HandedIn:
    rows = [
        ",".join(map(str, (n, *rgb, *np.round(colour, 3))))
        for n, (rgb, colour) in enumerate(zip(PATCHES, lab, strict=True))
    ]
    head = [f"CREATED: {at}", "MEASUREMENT_SOURCE: MeasurementCondition=M0", "SAMPLE_BACKING: white"]
    return HandedIn(name, "\n".join([*head, "id,R,G,B,L,a,b", *rows, ""]).encode())


def coated(lab: np.ndarray) -> np.ndarray:
    """A coat: black 4 L* darker, white a little warmer."""
    out = lab.copy()
    out[1, 0] -= 4.0
    out[0, 2] += 0.8
    return out


@pytest.fixture
def coat_trial(bench):
    arm = Candidate(
        id="c-coat", trial_id="spring", medium_id="rag", name="Fenland Rag coated", finish="coated",
        twin_id="c-rag", position=2, coat=Coat(product="Reedbed Matte (invented)"),
    )  # fmt: skip
    codes = ("L2", "L3", "L4")
    things: list[object] = [arm]
    for place, code in enumerate(codes, start=20):
        things.append(Sheet(id=f"s-{code}", trial_id="spring", candidate_id="c-coat", code=code, place=place))
    for code in codes:
        for kind, at in (("printed", PRINTED), ("coated", PRINTED + timedelta(days=2))):
            things.append(
                SheetEvent(id=f"{kind}-{code}", trial_id="spring", sheet_id=f"s-{code}", at=at, kind=kind)
            )
    bench.keep(*things)
    return bench


def effect(bench) -> CoatEffect:
    with bench.records.look() as look:
        told = trial_request(look, bench.facts, by="coat")
    (found,) = coat_effects(bench.facts, compare_media(told.files, options=told.options))
    return found


def test_the_same_sheets_are_set_against_themselves(coat_trial, rng: np.random.Generator) -> None:
    sheets = {
        code: COLOURS + rng.normal(0, 1.5, 3) + rng.normal(0, 0.2, COLOURS.shape)
        for code in ("L2", "L3", "L4")
    }
    after = {code: coated(lab) + rng.normal(0, 0.2, lab.shape) for code, lab in sheets.items()}
    drop = [csv(f"{code} before.csv", "2026-01-13T12:00:00Z", lab) for code, lab in sheets.items()]
    drop += [csv(f"{code} after.csv", "2026-01-16T12:00:00Z", lab) for code, lab in after.items()]
    assert len(attach_readings(coat_trial.records, "spring", drop, who="Ada").thing.readings) == 6
    found = effect(coat_trial)
    assert (found.candidate, found.coat) == ("Fenland Rag coated", "Reedbed Matte (invented)")
    changes = {change.finding: change for change in found.changes}
    assert list(changes) == ["dmax_visual", "gamut_volume", "white_l", "white_b"]
    assert all(change.paired for change in changes.values())
    assert changes["white_b"].how == "the same 3 sheets before and after coating"
    white = changes["white_b"].difference
    told = scipy.stats.ttest_rel(  # the oracle: scipy's own paired test, on numbers as the files have them
        [round(after[code][0, 2], 3) for code in after], [round(sheets[code][0, 2], 3) for code in sheets]
    )
    assert white is not None
    assert white.difference == pytest.approx(0.8, abs=0.4)
    assert (white.low, white.high) == pytest.approx(tuple(told.confidence_interval(0.95)), abs=1e-6)
    assert white.p_adjusted == pytest.approx(4 * told.pvalue, rel=1e-6)
    black = changes["dmax_visual"].difference
    assert black is not None
    assert (black.call, black.candidate, black.against) == (
        "better",
        "Fenland Rag coated",
        "Fenland Rag coated, before coating",
    )


def test_without_readings_before_the_arms_are_compared(coat_trial, rng: np.random.Generator) -> None:
    drop = [
        csv(f"{code}.csv", "2026-01-16T12:00:00Z", coated(COLOURS) + rng.normal(0, 0.1, COLOURS.shape))
        for code in ("L2", "L3", "L4")
    ]
    drop += [
        csv(f"{code}.csv", "2026-01-16T12:00:00Z", COLOURS + rng.normal(0, 0.1, COLOURS.shape))
        for code in ("K2", "K3", "K4")
    ]
    attach_readings(coat_trial.records, "spring", drop, who="Ada")
    found = effect(coat_trial)
    black = found.changes[0]
    assert (black.paired, black.how) == (False, BETWEEN_ARMS)
    assert black.difference is not None
    assert (black.difference.candidate, black.difference.against) == (
        "Fenland Rag coated",
        f"{HOUSE}, uncoated",
    )
    assert black.difference.difference > 0
    assert black.before is not None
    assert black.before.per_sheet[0][0] == "K2"


def test_a_reading_before_the_ink_had_cured_is_no_before(coat_trial) -> None:
    drop = [csv(f"{code} wet.csv", "2026-01-12T10:00:00Z", COLOURS) for code in ("L2", "L3", "L4")]
    drop += [csv(f"{code}.csv", "2026-01-16T12:00:00Z", coated(COLOURS)) for code in ("L2", "L3", "L4")]
    attach_readings(coat_trial.records, "spring", drop, who="Ada")
    found = effect(coat_trial)
    assert all(change.difference is None and not change.paired for change in found.changes)
    assert "not measured on both" in found.changes[0].how


def test_a_trial_without_a_coat_has_no_effect(bench) -> None:
    with bench.records.look() as look:
        assert trial_request(look, bench.facts, by="coat").files == ()
