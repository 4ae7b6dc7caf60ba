"""The bench checklist: what it asks depends on printer, medium and what is printed."""

from __future__ import annotations

from dataclasses import replace

import pytest
from a_small_trial import MONDAY, a_trial, event, with_events

from laydown.trials.checklist import Step, checklist
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.studio import Printer

RECIPE = Recipe(
    media_setting="Matte 3",
    quality="high",
    resolution_ppi=360,
    direction="one way",
    black_ink="Matte black",
    head_gap="wide",
    profile_name="rag-2026",
    profile_sha256="0123456789abcdef",
    intent="relative colorimetric",
    black_point_compensation=True,
    colour_managed_by=("application",),
    file_name="test.tif",
    file_sha256="fedcba9876543210",
)
PRINTER = Printer(id="p", name="Wide", head_gaps=("narrow", "wide", "widest"), has_cutter=True)
PLAIN = Printer(id="p", name="Plain", has_cutter=False)


def _steps(
    name: str = "rag",
    *,
    facts: TrialFacts | None = None,
    printer: Printer | None = PRINTER,
    recipe: Recipe = RECIPE,
    for_chart: bool = False,
) -> dict[str, Step]:
    facts = facts or a_trial()
    candidate = replace(next(one for one in facts.candidates if one.name == name), recipe=recipe)
    found = checklist(
        facts, candidate, printer=printer, medium=facts.medium_of(candidate), for_chart=for_chart
    )
    assert len({step.id for step in found}) == len(found)
    return {step.id: step for step in found}


ALL = [
    {step.id: step for step in steps.values()}.values()
    for steps in (
        _steps(),
        _steps("canvas"),
        _steps("canvas", printer=None),
        _steps("baryta", printer=PLAIN, for_chart=True),
        _steps(recipe=Recipe()),
    )
]


@pytest.mark.parametrize("steps", ALL)
def test_orders_are_short_and_reasons_are_sentences(steps: list[Step]) -> None:
    for step in steps:
        assert 0 < len(step.text) <= 60, step.text
        assert step.text[0].isupper()
        assert not step.text.endswith(".")
        assert step.why.endswith("."), step.id
        assert step.caution == "" or step.caution.endswith(".")


def test_the_order_is_that_of_the_work() -> None:
    ids = list(_steps("canvas"))
    for first, then in (
        ("rested", "load"),
        ("gloves", "load"),
        ("nozzles", "print"),
        ("load", "dust"),
        ("dust", "head-gap"),
        ("head-gap", "media-setting"),
        ("media-setting", "profile"),
        ("profile", "colour-managed-once"),
        ("file", "warm-up"),
        ("warm-up", "print"),
        ("print", "mark"),
        ("mark", "cut"),
        ("cut", "lay-flat"),
        ("lay-flat", "unload"),
    ):
        assert ids.index(first) < ids.index(then), (first, then)


def test_a_roll_rests_three_days_and_a_box_one() -> None:
    """72 h for a wrapped roll, 24 h for a wrapped box: common practice, no source."""
    assert _steps()["rested"].expected == "72 h"
    facts = a_trial()
    boxes = replace(facts, rolls=tuple(replace(roll, form="sheets") for roll in facts.rolls))
    steps = _steps(facts=boxes)
    assert steps["rested"].expected == "24 h"
    assert "unload" not in steps
    assert steps["used"].noted is not None
    assert steps["used"].noted.field == "used_sheets"


def test_the_roll_of_the_candidate_decides_and_not_another() -> None:
    facts = a_trial()
    mixed = replace(
        facts,
        rolls=tuple(
            replace(roll, form="sheets") if roll.id == "r-m-baryta" else roll for roll in facts.rolls[::-1]
        ),
    )
    assert _steps(facts=mixed)["rested"].expected == "72 h"
    assert _steps("baryta", facts=mixed)["rested"].expected == "24 h"
    assert _steps(facts=mixed)["used"].text == "Note how much was used"
    assert _steps("baryta", facts=mixed)["used"].text == "Note how many sheets were used"


def test_the_room_is_that_of_common_practice() -> None:
    """About 18 to 24 degrees and 40 to 60 % RH: common practice, no source."""
    assert _steps()["room-temperature"].expected == "18 to 24 °C"
    assert _steps()["room-humidity"].expected == "40 to 60 % RH"


def test_canvas_sheds_and_is_told_so() -> None:
    assert "shed most" in _steps("canvas")["dust"].why
    assert "shed most" not in _steps("baryta")["dust"].why


def test_canvas_wants_the_widest_gap_and_no_cutter_whatever_the_recipe_says() -> None:
    steps = _steps("canvas")
    assert steps["head-gap"].expected == "widest"
    assert steps["cutter"].expected == "off"
    assert "Cut away from the body" in steps["cut"].caution


def test_thin_paper_keeps_its_own_gap_and_the_cutter() -> None:
    steps = _steps()
    assert steps["head-gap"].expected == "wide"
    assert "cutter" not in steps
    assert "cut" not in steps
    assert "cutter" in _steps(recipe=replace(RECIPE, cutter_off=True))


def test_what_the_printer_does_not_have_is_not_asked() -> None:
    steps = _steps("canvas", printer=PLAIN)
    assert "head-gap" not in steps
    assert "cutter" not in steps
    assert "cut" in steps, "without a cutter somebody cuts by hand"


def test_with_an_unknown_printer_heavy_media_are_asked_all_the_same() -> None:
    steps = _steps("canvas", printer=None)
    assert steps["head-gap"].expected == "the widest"
    assert "cutter" in steps


def test_pictures_are_managed_once_and_charts_not_at_all() -> None:
    pictures, chart = _steps(), _steps(for_chart=True)
    assert pictures["colour-managed-once"].expected == "application"
    assert "no-colour-management" not in pictures
    assert chart["no-colour-management"].expected == "nowhere"
    assert not {"profile", "intent", "colour-managed-once"} & set(chart)


def test_profile_and_file_are_named_with_the_first_eight_of_their_checksums() -> None:
    steps = _steps()
    assert steps["profile"].expected == "rag-2026 (checksum 01234567)"
    assert steps["file"].expected == "test.tif (checksum fedcba98)"
    facts = a_trial()
    chart = replace(facts, trial=replace(facts.trial, chart_name="chart", chart_sha256="ab" * 32))
    assert _steps(facts=chart, for_chart=True)["file"].expected == "chart (checksum abababab)"
    assert _steps(recipe=replace(RECIPE, file_name=""))["file"].expected == "checksum fedcba98"
    assert _steps(recipe=replace(RECIPE, file_sha256=""))["file"].expected == "test.tif"


def test_intent_and_black_point_stand_together() -> None:
    assert _steps()["intent"].expected == "relative colorimetric, black-point compensation on"
    off = replace(RECIPE, black_point_compensation=False, intent="")
    assert _steps(recipe=off)["intent"].expected == "black-point compensation off"


def test_settings_that_are_rarely_used_are_asked_only_where_stated() -> None:
    rare = {"passes", "ink-adjust-percent", "feed-adjust", "drying-seconds-per-pass"}
    assert not rare & set(_steps())
    stated = replace(RECIPE, passes=8, ink_adjust_percent=0, feed_adjust="+1", drying_seconds_per_pass=0.5)
    steps = _steps(recipe=stated)
    assert rare <= set(steps)
    assert steps["ink-adjust-percent"].expected == "0 %"


def test_values_to_note_say_where_they_go_and_in_which_unit() -> None:
    steps = _steps(recipe=replace(RECIPE, resolution_ppi=None, passes=8))
    noted = {step.noted.field: step.noted for step in steps.values() if step.noted}
    assert (noted["room_c"].unit, noted["room_c"].kind) == ("°C", "number")
    assert (noted["room_rh"].unit, noted["room_rh"].kind) == ("%", "number")
    assert (noted["resolution_ppi"].unit, noted["resolution_ppi"].kind) == ("ppi", "number")
    assert noted["passes"].kind == "number"
    assert (noted["direction"].label, noted["direction"].kind) == ("direction", "text")
    assert {"used_mm", "head_gap", "media_setting", "profile_name", "file_name", "black_ink"} <= set(noted)


def test_only_sheets_that_wait_are_to_be_printed() -> None:
    assert _steps()["print"].expected == "K2, K3"
    done = with_events(a_trial(), event("s-rag-1", "printed", MONDAY))
    assert _steps(facts=done)["print"].expected == "K3"
    spoiled = with_events(done, event("s-rag-2", "spoiled", MONDAY))
    assert _steps(facts=spoiled)["print"].expected == ""


def test_the_lot_is_marked_on_the_back() -> None:
    assert _steps()["mark"].expected == "lot 21-Rag"


@pytest.mark.parametrize(
    ("step", "word"),
    [
        ("load", "manual"),
        ("load", "two people"),
        ("dust", "mask"),
        ("unload", "local rules"),
        ("cut", "glove"),
    ],
)
def test_what_can_hurt_carries_its_caution(step: str, word: str) -> None:
    assert word in _steps("canvas")[step].caution


def test_what_decides_the_trial_cannot_be_skipped() -> None:
    steps = _steps("canvas")
    for name in (
        "nozzles",
        "load",
        "media-setting",
        "colour-managed-once",
        "file",
        "print",
        "mark",
        "cutter",
    ):
        assert not steps[name].skippable, name
    for name in ("rested", "room-temperature", "room-humidity", "warm-up", "used"):
        assert steps[name].skippable, name
