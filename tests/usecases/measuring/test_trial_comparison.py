"""A trial's own comparison: the same numbers as from a folder, and everything said that must be said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from laydown.compute.runner import ProcessRunner
from laydown.records.measurement_files import find_measurement_files
from laydown.report.brief_words import brief_words
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Roll
from laydown.trials.trial import BriefChange, Candidate, Criterion, Gate
from laydown.usecases.bench.early_readings import use_early_reading
from laydown.usecases.compare_media import CompareOptions, compare_media
from laydown.usecases.comparison import BriefAsked, BriefCriterion, Comparison
from laydown.usecases.demo_trial import HOUSE
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.set_aside import set_aside
from laydown.usecases.measuring.sorting import By, age_classes
from laydown.usecases.measuring.trial_comparison import (
    TrialRequest,
    conditions_of,
    margins_of,
    trial_request,
)
from laydown.usecases.trial_file import parse_trial
from spring_trial import brief

Scans = Callable[..., list[HandedIn]]
PRINTED = datetime(2026, 1, 12, 9, 30, tzinfo=UTC)
GLOSS = "Samphire Gloss"
EARLY = (
    b"CREATED: 2026-01-12T11:36:00Z\nid,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,9,9,9,18,0,0\n"
)


def request(bench, by: By = "medium", condition: str = "") -> TrialRequest:
    with bench.records.look() as look:
        return trial_request(look, bench.facts, by=by, condition=condition)


def compared(told: TrialRequest) -> Comparison:
    return compare_media(told.files, options=told.options)


def numbers(comparison: Comparison) -> dict[tuple[str, str, str], float]:
    return {
        (item.candidate, item.finding, name): getattr(item, name)
        for item in comparison.differences
        for name in ("difference", "low", "high", "p_adjusted")
    }


@pytest.fixture
def measured(bench, scans: Scans):
    attach_readings(bench.records, "spring", scans(), who="Ada")
    return bench


def test_the_numbers_are_those_of_the_same_files_in_a_folder(
    measured, demo_files: dict[str, bytes], tmp_path: Path
) -> None:
    for name, content in demo_files.items():
        medium, _, file = name.partition("/")
        if medium in (HOUSE, GLOSS) and file[:6] in ("sheet1", "sheet2", "sheet3"):
            (tmp_path / "folder" / medium).mkdir(parents=True, exist_ok=True)
            (tmp_path / "folder" / medium / file).write_bytes(content)
    found = find_measurement_files([tmp_path / "folder"])
    told = request(measured)
    margins = told.options.margins
    trial = replace(parse_trial(demo_files["trial.json"], file="trial.json"), candidates={})
    from_folder = compare_media(
        found.files, options=CompareOptions(house=HOUSE, margins=margins, trial=trial)
    )
    from_trial = compared(told)
    expected = numbers(from_folder)
    assert len(expected) > 15
    assert numbers(from_trial) == pytest.approx(expected, nan_ok=True, rel=1e-12)
    assert [d.call for d in from_trial.differences] == [d.call for d in from_folder.differences]
    for one, other in zip(from_trial.candidates, from_folder.candidates, strict=True):
        assert [(f.id, f.value, f.condition) for f in one.findings] == [
            (f.id, f.value, f.condition) for f in other.findings
        ]
        assert one.gamut is not None
        assert other.gamut is not None
        assert one.gamut.volume == other.gamut.volume


def test_sheets_go_by_their_codes_and_the_house_by_its_candidate(measured) -> None:
    told = compared(request(measured))
    assert told.house == HOUSE
    assert [[sheet.name for sheet in one.sheets] for one in told.candidates] == [
        ["K2", "K3", "K4"],
        ["H5", "H6", "H7"],
    ]
    assert told.candidates[0].sheets[0].files == (
        f"{HOUSE}/K2/scan K2-M1.txt",
        f"{HOUSE}/K2/scan K2-M2.txt",
    )
    assert (told.title, told.question, told.invented) == (
        "Spring trial",
        "Is the gloss better than the rag?",
        True,
    )


def test_files_are_read_where_they_are_needed(measured) -> None:
    """Only a hash and the vault's address go to another process, never the content."""
    import pickle

    told = request(measured)
    assert all(len(pickle.dumps(file)) < 4000 for file in told.files)
    runner = ProcessRunner(workers=2, at_least=2)
    there = compare_media(told.files, options=told.options, runner=runner)
    assert numbers(there) == pytest.approx(numbers(compared(told)), nan_ok=True)


def test_margins_are_those_of_the_brief_in_force(measured) -> None:
    told = {item.finding: item for item in compared(request(measured)).by_finding}
    assert told["dmax_visual"].margin == pytest.approx(0.03)
    assert told["dmax_visual"].margin_source == "this trial's brief, sealed 11 January 2026"
    gamut = compared(request(measured)).candidate(HOUSE).finding("gamut_volume")
    assert gamut is not None
    assert told["gamut_volume"].margin == pytest.approx(0.08 * gamut.value)
    change = BriefChange(
        id="change",
        trial_id="spring",
        at=PRINTED + timedelta(days=3),
        by="Ada",
        field="differences",
        part="dmax_visual",
        before="0.03 D",
        after="0.06 D",
        before_plain='{"amount":0.03,"finding":"dmax_visual"}',
        after_plain='{"amount":0.06,"finding":"dmax_visual"}',
        why="the client looks from afar",
    )
    measured.keep(change)
    assert margins_of(measured.facts)["dmax_visual"].margin.value == 0.06
    (caution, *_) = request(measured).options.cautions
    assert caution == (
        "The brief was changed once after it was sealed, last on 15 January 2026 by Ada "
        "(differences: the client looks from afar)."
    )


def test_what_the_brief_in_force_asks_goes_with_a_comparison_of_media(measured) -> None:
    """The criteria with their shares and what matters; another way of comparing asks something else."""
    black = Criterion(name="deep black", weight=3.0, finding="dmax_visual")
    asked = brief(criteria=(black, Criterion(name="look", weight=1.0)), gates=(Gate(name="no flakes"),))
    with measured.records.work("fixed", who="Ada") as work:
        work.change(asked)
    told = request(measured)
    result = compared(told)
    assert result.brief == BriefAsked(
        "sealed 11 January 2026",
        (BriefCriterion("deep black", 0.75, "dmax_visual", "0.03 D"), BriefCriterion("look", 0.25)),
        ("no flakes",),
    )
    words = brief_words(result)
    assert words is not None
    (criterion,) = words.criteria
    (difference,) = (one for one in result.differences if one.finding == "dmax_visual")
    assert difference.call == "better"
    assert criterion.sentences[0].startswith(f"Better than {HOUSE}: {GLOSS} by ")
    assert "n = 3 and 3 sheets" in criterion.sentences[0]
    assert request(measured, by="lot").options.brief is None
    heavier = replace(asked, criteria=(replace(black, weight=4.0), *asked.criteria[1:]))
    with measured.records.work("fixed", who="Ada") as work:
        work.change(brief(criteria=heavier.criteria, gates=heavier.gates))
    assert request(measured).fingerprint != told.fingerprint


def test_what_is_left_out_is_said_with_its_reason(measured) -> None:
    readings = {one.file_name: one for one in measured.facts.readings}
    set_aside(measured.records, readings["scan K2-M1.txt"].id, why="a finger on it", who="Ada")
    measured.happened("K3", "spoiled", PRINTED + timedelta(days=9))
    attach_readings(
        measured.records,
        "spring",
        [
            HandedIn("x.csv", b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"),
            HandedIn("H5 again.csv", EARLY),
        ],
        who="Ada",
    )
    cautions = request(measured).options.cautions
    left = [one for one in cautions if one.startswith("Left out")]
    assert left == [
        "Left out: 1 reading read too early: H5 (read 2.0 h after it was printed, 24 h are wanted).",
        "Left out: 1 reading set aside: K2 (a finger on it).",
        "Left out: 2 readings of spoiled sheets: K3 (the sheet was spoiled); K3 (the sheet was spoiled).",
        "Left out: 1 reading without a sheet: x.csv (it is not known which sheet it is of).",
    ]
    names = [file.name for file in request(measured).files]
    assert f"{HOUSE}/K2/scan K2-M1.txt" not in names
    assert len(names) == 9


def test_an_early_reading_is_used_on_somebodys_word(measured) -> None:
    early = HandedIn("H5 early.csv", EARLY)
    reading = attach_readings(measured.records, "spring", [early], who="Ada").thing.readings[0]
    use_early_reading(measured.records, reading.id, why="the show opens tomorrow", who="Bob")
    told = request(measured).options.cautions
    assert (
        "Sheet H5 was read 2.0 h after it was printed, 24 h are wanted; it is used all the same on the word "
        "of Bob, 2 March 2026: the show opens tomorrow."
    ) in told


def test_recipes_that_are_not_alike_are_said(measured) -> None:
    gloss = measured.facts.candidate("c-gloss")
    rag = measured.facts.candidate("c-rag")
    with measured.records.work("set", who="Ada") as work:
        work.change(replace(gloss, recipe=replace(gloss.recipe, intent="perceptual")))
        work.change(replace(rag, recipe=replace(rag.recipe, intent="relative colorimetric")))
    (told,) = (one for one in request(measured).options.cautions if one.startswith("Not alike"))
    assert told == (
        "Not alike, which breaks the comparison: rendering intent (relative colorimetric: Fenland Rag "
        "(house); perceptual: Samphire Gloss). It moves every colour outside the gamut, and with some "
        "intents all of them."
    )


def test_one_sheet_is_said_and_nothing_is_called(bench, scans: Scans) -> None:
    attach_readings(bench.records, "spring", scans(sheets=1), who="Ada")
    told = compared(request(bench))
    assert f"One sheet only, so nothing is called: {HOUSE}, {GLOSS}." in told.cautions
    assert {item.call for item in told.differences} == {"cannot_tell"}


def test_cautions_come_first_and_the_standing_ones_last(measured) -> None:
    told = compared(request(measured))
    assert told.cautions[-1] == "Nothing here says how long a print lasts."


def test_by_lot_takes_the_lot_of_the_sheets_own_roll(measured) -> None:
    from laydown.trials.stock import Lot

    measured.keep(Lot(id="lot3", medium_id="rag", code="R-102"), Roll(id="roll", lot_id="lot3", form="roll"))
    sheet = measured.sheet("K4")
    with measured.records.work("loaded", who="Ada") as work:
        work.change(replace(sheet, roll_id="roll"))
    found = request(measured, "lot").found
    assert {name: len(readings) for name, readings in found.media.items()} == {
        f"{HOUSE}, lot R-101": 4,
        f"{HOUSE}, lot R-102": 2,
        f"{GLOSS}, lot G-7": 6,
    }
    assert found.house == f"{HOUSE}, lot R-101"


def test_the_fingerprint_follows_everything_the_result_depends_on(measured) -> None:
    first = request(measured).fingerprint
    assert request(measured).fingerprint == first
    assert request(measured, condition="M2").fingerprint != first
    assert request(measured, "lot").fingerprint != first
    done = set_aside(measured.records, measured.facts.readings[0].id, why="odd", who="Ada")
    assert request(measured).fingerprint != first
    from laydown.usecases.undo import undo

    undo(measured.records, done.entry_id, who="Ada")
    assert request(measured).fingerprint == first
    with measured.records.work("renamed", who="Ada") as work:
        work.change(replace(measured.facts.candidate("c-gloss"), name="Samphire"))
    assert request(measured).fingerprint != first


def test_conditions_all_media_share(measured) -> None:
    assert conditions_of(request(measured).found) == ("M1", "M2")


def test_ages_that_are_near_share_a_name() -> None:
    """A quarter of the greater age is the tolerance of ``science.findings.likeness``."""
    assert age_classes([0.5, 24.0, 25.5, 30.0, 200.0, 1.0]) == {
        0.5: "30 min",
        1.0: "1 h",
        24.0: "26 h",
        25.5: "26 h",
        30.0: "26 h",
        200.0: "8 days",
    }
    assert age_classes([]) == {}


def test_by_age_sets_early_and_settled_readings_side_by_side(measured, demo_files: dict[str, bytes]) -> None:
    """The sheets of sheet 1 to 3 again, as if read two hours after printing."""
    early = []
    for number, code in enumerate(("K2", "K3", "K4"), start=1):
        content = demo_files[f"{HOUSE}/sheet{number}-M1.txt"]
        stated = content.replace(b"2026-01-13T", b"2026-01-12T").replace(b"2026-01-14T", b"2026-01-12T")
        stated = stated.replace(b"T10:", b"T12:").replace(b'PRINT_AGE_HOURS\t"24"', b'PRINT_AGE_HOURS\t"2"')
        early.append(HandedIn(f"{code} early.txt", stated))
    attach_readings(measured.records, "spring", early, who="Ada")
    told = request(measured, "age")
    assert list(told.found.media) == [
        f"{HOUSE}, 3 h",
        f"{HOUSE}, 25 h",
        f"{HOUSE}, 49 h",
        f"{GLOSS}, 25 h",
        f"{GLOSS}, 49 h",
    ]
    assert told.found.house == f"{HOUSE}, 49 h"
    comparison = compared(told)
    ages = [item for item in comparison.differences if item.candidate == f"{HOUSE}, 3 h"]
    assert ages
    assert not any(item.refused for item in ages)
    assert any("intervals wider" in caution for caution in comparison.cautions)
    by_medium = compared(request(measured))
    assert [one.name for one in by_medium.candidates] == [HOUSE, GLOSS]
    assert any("3 readings read too early" in caution for caution in by_medium.cautions)


@pytest.fixture
def coated(measured, demo_files: dict[str, bytes]):
    """A coated arm of the rag: three sheets printed with the others, coated a day later."""
    arm = Candidate(
        id="c-coat",
        trial_id="spring",
        medium_id="rag",
        name="Fenland Rag coated",
        finish="coated",
        twin_id="c-rag",
        position=2,
        lot_id="lot1",
    )
    codes = ("L2", "L3", "L4")
    sheets = [
        Sheet(id=f"s-{code}", trial_id="spring", candidate_id="c-coat", code=code, place=20 + n)
        for n, code in enumerate(codes)
    ]
    events = [
        SheetEvent(id=f"{kind}-{code}", trial_id="spring", sheet_id=f"s-{code}", at=at, kind=kind)
        for code in codes
        for kind, at in (("printed", PRINTED), ("coated", PRINTED + timedelta(days=2)))
    ]
    measured.keep(arm, *sheets, *events)
    return measured


def stated(content: bytes, at: str, finish: str) -> bytes:
    """A demo file as if read at another time and finish."""
    lines = content.split(b"\n")
    kept = [line for line in lines if not line.startswith((b"CREATED", b"FINISH", b"PRINT_AGE", b"KEYWORD"))]
    return b"\n".join(
        [
            kept[0],
            b'CREATED\t"%s"' % at.encode(),
            b'KEYWORD\t"FINISH"',
            b'FINISH\t"%s"' % finish.encode(),
            *kept[1:],
        ]
    )


def test_by_finish_sets_twins_side_by_side_and_never_mixes_them(coated, demo_files: dict[str, bytes]) -> None:
    drop = [
        HandedIn(
            f"L{n + 1}.txt", stated(demo_files[f"{GLOSS}/sheet{n}-M1.txt"], "2026-01-16T10:00:00Z", "coated")
        )
        for n in (1, 2, 3)
    ]
    attach_readings(coated.records, "spring", drop, who="Ada")
    told = request(coated, "finish")
    assert list(told.found.media) == [f"{HOUSE}, uncoated", "Fenland Rag coated"]
    comparison = compared(told)
    assert not any(item.refused for item in comparison.differences)
    assert any("the question is about the coat" in caution for caution in comparison.cautions)
    # By medium the two finishes are kept apart.
    by_medium = compared(request(coated))
    between = [d for d in by_medium.differences if "Fenland Rag coated" in (d.candidate, d.against)]
    assert between
    assert all(item.refused and "unlike finish" in item.reason for item in between)


def test_a_trials_own_hours_say_when_a_print_has_settled(measured) -> None:
    """Cure of 6 h for the rag: its sheets, read at 8 h, are settled and compared with others read at 25 h."""
    rag = measured.facts.candidate("c-rag")
    with measured.records.work("set", who="Ada") as work:
        work.change(replace(rag, cure_hours=6.0))
        for one in measured.facts.readings:
            if one.file_name.startswith("scan K") and "M1" in one.file_name:
                work.change(replace(one, measured_at=PRINTED + timedelta(hours=8)))
    told = request(measured, condition="M1")
    assert any(
        "before the usual 24 h; this trial's own hours" in caution for caution in told.options.cautions
    )
    # What the files say of their age (24 h) is theirs; it is the records that are asked here.
    assert told.options.across == {"age"}
    assert not any(item.refused for item in compared(told).differences)


def test_a_kept_file_that_was_altered_is_named_as_people_know_it(measured, tmp_path: Path) -> None:
    reading = next(one for one in measured.facts.readings if one.file_name == "scan K2-M1.txt")
    (kept,) = (path for path in (tmp_path / "files").rglob("*") if path.name.startswith(reading.file_sha256))
    kept.chmod(0o600)
    kept.write_bytes(b"altered")
    problems = compared(request(measured)).problems
    assert [problem.file for problem in problems if problem.severity == "error"] == [
        f"{HOUSE}/K2/scan K2-M1.txt"
    ]


def test_nothing_to_compare_is_no_error_of_the_request(bench) -> None:
    told = request(bench)
    assert told.files == ()
    assert told.options.house == ""
