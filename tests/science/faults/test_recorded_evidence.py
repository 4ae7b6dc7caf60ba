"""Evidence from settings and clocks: each answer, both sides of each rule, and what it moves."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import laydown.science.faults as front
from laydown.science.faults import clock_evidence, colour_path_evidence, printer_evidence, rank, room_evidence

CASES = [
    (colour_path_evidence, {}, []),
    (colour_path_evidence, {"times_managed": 0}, ["managed-never"]),
    (colour_path_evidence, {"times_managed": 1}, ["managed-once"]),
    (colour_path_evidence, {"times_managed": 2}, ["managed-twice"]),
    (colour_path_evidence, {"profile_for_this_medium": True}, ["profile-this-medium"]),
    (colour_path_evidence, {"profile_for_this_medium": False}, ["profile-other-medium"]),
    (colour_path_evidence, {"profile_for_this_setting": True}, ["profile-this-setting"]),
    (colour_path_evidence, {"profile_for_this_setting": False}, ["profile-other-setting"]),
    (colour_path_evidence, {"profile_for_this_lot": True}, ["profile-this-lot"]),
    (colour_path_evidence, {"profile_for_this_lot": False}, ["profile-other-lot"]),
    (printer_evidence, {}, []),
    (printer_evidence, {"surface": "matte", "black_ink": "photo"}, ["black-ink-wrong"]),
    (printer_evidence, {"surface": "gloss", "black_ink": "matte"}, ["black-ink-wrong"]),
    (printer_evidence, {"surface": "gloss", "black_ink": "photo"}, ["black-ink-right"]),
    (printer_evidence, {"surface": "matte", "black_ink": "matte"}, ["black-ink-right"]),
    (printer_evidence, {"surface": "canvas", "black_ink": "matte"}, ["black-ink-right"]),
    (printer_evidence, {"surface": "canvas", "black_ink": "photo"}, []),
    (printer_evidence, {"surface": "coated canvas", "black_ink": "photo"}, []),
    (printer_evidence, {"black_ink": "photo"}, []),
    (printer_evidence, {"surface": "canvas", "gap_widened": False}, ["gap-not-widened"]),
    (printer_evidence, {"thickness_mm": 0.51, "gap_widened": False}, ["gap-not-widened"]),
    (printer_evidence, {"weight_g_m2": 310.0, "gap_widened": False}, ["gap-not-widened"]),
    (printer_evidence, {"weight_g_m2": 310.0, "gap_widened": True}, ["gap-widened"]),
    (printer_evidence, {"weight_g_m2": 200.0, "gap_widened": True}, ["gap-widened-for-thin"]),
    (printer_evidence, {"weight_g_m2": 200.0, "gap_widened": False}, []),
    (printer_evidence, {"surface": "canvas", "cutter_used": True}, ["cutter-used"]),
    (printer_evidence, {"surface": "canvas", "cutter_used": False}, ["cutter-not-used"]),
    (printer_evidence, {"weight_g_m2": 200.0, "cutter_used": True}, []),
    (printer_evidence, {"nozzles_whole": True}, ["nozzles-whole"]),
    (printer_evidence, {"nozzles_whole": False}, ["nozzles-not-whole"]),
    (printer_evidence, {"first_after_pause": True}, ["first-after-pause"]),
    (printer_evidence, {"first_after_pause": False}, ["later-than-first"]),
    (printer_evidence, {"setting_for_this_medium": True}, ["setting-of-recipe"]),
    (printer_evidence, {"setting_for_this_medium": False}, ["setting-not-of-recipe"]),
    (printer_evidence, {"two_way": True}, ["two-way"]),
    (printer_evidence, {"two_way": False}, ["one-way"]),
    (printer_evidence, {"protected": True}, ["protected"]),
    (printer_evidence, {"protected": False}, ["not-protected"]),
    (clock_evidence, {}, []),
    (clock_evidence, {"hours_to_reading": 23.0}, ["read-soon"]),
    (clock_evidence, {"hours_to_reading": 24.0}, ["read-cured"]),
    (clock_evidence, {"hours_to_reading": 24.0, "humidity_percent": 46.0}, ["read-soon"]),
    (clock_evidence, {"hours_to_reading": 48.0, "humidity_percent": 46.0}, ["read-cured"]),
    (clock_evidence, {"hours_to_coating": 12.0}, ["coated-soon"]),
    (clock_evidence, {"hours_to_coating": 30.0}, ["coated-cured"]),
    (clock_evidence, {"hours_to_lamination": 30.0}, ["laminated-soon"]),
    (clock_evidence, {"hours_to_lamination": 60.0}, ["laminated-cured"]),
    (clock_evidence, {"hours_to_lamination": 60.0, "barrier_paper": True}, ["laminated-soon"]),
    (clock_evidence, {"hours_to_glazing": 30.0}, ["glazed-cured"]),
    (clock_evidence, {"hours_to_glazing": 300.0, "barrier_paper": True}, ["glazed-soon"]),
    (clock_evidence, {"hours_to_glazing": 340.0, "barrier_paper": True}, ["glazed-cured"]),
    (room_evidence, {}, []),
    (room_evidence, {"humidity_percent": 34.0}, ["air-dry"]),
    (room_evidence, {"humidity_percent": 35.0}, ["air-right"]),
    (room_evidence, {"humidity_percent": 60.0}, ["air-right"]),
    (room_evidence, {"humidity_percent": 61.0}, ["air-damp"]),
    (room_evidence, {"hours_rested": 30.0}, ["rested-long"]),
    (room_evidence, {"hours_rested": 30.0, "roll": True}, ["rested-short"]),
    (room_evidence, {"degrees_from_calibration": -5.0}, ["temperature-other"]),
    (room_evidence, {"degrees_from_calibration": 3.0}, ["temperature-same"]),
]


@pytest.mark.parametrize(("function", "told", "expected"), CASES)
def test_each_answer_and_both_sides_of_each_rule(function, told, expected):
    assert [piece.id for piece in function(**told)] == expected


def test_every_evidence_that_can_be_found_is_packaged_and_the_other_way_about(faults):
    """What code can say and what the strengths file weighs are the same list."""
    folder = Path(front.__file__).parent
    text = "".join(
        (folder / name).read_text(encoding="utf-8") for name in ("measured.py", "recorded.py", "clocks.py")
    )
    steps = {
        f"{step}-{when}" for step in ("read", "coated", "laminated", "glazed") for when in ("soon", "cured")
    }
    named = set(re.findall(r'"([a-z]+(?:-[a-z]+)*)"', text)) | steps
    assert set(faults.speaks) <= named
    found = {known for _, _, expected in CASES for known in expected}
    measured = {
        known
        for known in faults.speaks
        if re.match(r"(hook|shadows|black-(weak|usual)|greys|shift|white)", known)
    }
    assert found | measured == set(faults.speaks)


@pytest.mark.parametrize(
    ("function", "told", "cause", "raised"),
    [
        (colour_path_evidence, {"times_managed": 2}, "colour-managed-twice", True),
        (colour_path_evidence, {"times_managed": 0}, "colour-not-managed", True),
        (colour_path_evidence, {"times_managed": 1}, "colour-managed-twice", False),
        (colour_path_evidence, {"profile_for_this_medium": False}, "wrong-profile", True),
        (colour_path_evidence, {"profile_for_this_setting": False}, "wrong-media-setting", True),
        (colour_path_evidence, {"profile_for_this_lot": False}, "lot-changed", True),
        (printer_evidence, {"surface": "matte", "black_ink": "photo"}, "wrong-black-ink", True),
        (printer_evidence, {"surface": "canvas", "gap_widened": False}, "gap-too-small", True),
        (printer_evidence, {"surface": "canvas", "cutter_used": True}, "loose-lint", True),
        (printer_evidence, {"nozzles_whole": False}, "missing-nozzles", True),
        (printer_evidence, {"nozzles_whole": True}, "missing-nozzles", False),
        (printer_evidence, {"first_after_pause": True}, "idle-or-cleaning", True),
        (printer_evidence, {"setting_for_this_medium": False}, "wrong-media-setting", True),
        (printer_evidence, {"two_way": False}, "head-misaligned", False),
        (printer_evidence, {"protected": False}, "left-uncoated", True),
        (clock_evidence, {"hours_to_reading": 2.0}, "not-cured", True),
        (clock_evidence, {"hours_to_coating": 2.0}, "coated-too-soon", True),
        (clock_evidence, {"hours_to_lamination": 2.0}, "laminated-too-soon", True),
        (clock_evidence, {"hours_to_glazing": 2.0}, "glazed-too-soon", True),
        (room_evidence, {"humidity_percent": 25.0}, "room-too-dry", True),
        (room_evidence, {"humidity_percent": 70.0}, "room-too-humid", True),
        (room_evidence, {"hours_rested": 2.0}, "not-rested", True),
        (room_evidence, {"degrees_from_calibration": 8.0}, "temperature-change", True),
    ],
)
def test_a_record_moves_the_cause_it_should(faults, function, told, cause, raised):
    found = {item.cause.id: item for item in rank(faults, {}, evidence=function(**told)).causes}
    ratio = found[cause].probability / found[cause].prior
    assert ratio > 1.5 if raised else ratio < 0.7


def test_the_words_name_the_hours_and_the_rule():
    (piece,) = clock_evidence(hours_to_coating=6.0, humidity_percent=50.0)
    assert piece.words == "It was coated 6 h after printing; the usual rule is 48 h."
    (piece,) = room_evidence(degrees_from_calibration=-6.0)
    assert piece.words == "It was 6 degrees colder than at calibration."


def test_records_and_symptoms_together_settle_what_neither_does_alone(faults):
    """Milky coat: four causes are close, until the clock shows that it was coated in the first hours."""
    marks = {"milky-patches": "present"}
    alone = {item.cause.id: item.probability for item in rank(faults, marks).causes}
    pieces = (*clock_evidence(hours_to_coating=3.0), *room_evidence(humidity_percent=50.0))
    settled = rank(faults, marks, evidence=pieces)
    assert settled.causes[0].cause.id == "coated-too-soon"
    assert settled.causes[0].probability > 2.0 * alone["coated-too-soon"]
