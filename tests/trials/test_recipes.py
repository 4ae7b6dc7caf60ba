"""Recipes: differences, gaps and contradictions with themselves, the medium and the printer."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from a_small_trial import a_trial
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.trials.recipe import Coat, Recipe
from laydown.trials.recipes import (
    LABELS,
    WANTED,
    is_heavy,
    recipe_differences,
    recipe_gaps,
    recipe_problems,
    setting_words,
)
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer

FULL = Recipe(
    media_setting="Matte 3",
    quality="high",
    resolution_ppi=360,
    passes=8,
    direction="one way",
    ink_adjust_percent=-5,
    ink_load_ml_m2=9.5,
    black_ink="Matte black",
    head_gap="widest",
    cutter_off=True,
    feed_adjust="+0.1 %",
    drying_seconds_per_pass=0.5,
    profile_name="rag-2026",
    profile_sha256="0123456789abcdef",
    profile_origin="own",
    profile_media_setting="Matte 3",
    intent="relative colorimetric",
    black_point_compensation=False,
    colour_managed_by=("application",),
    file_name="test.tif",
    file_sha256="fedcba9876543210",
    words="first try",
)
# A media setting whose name speaks of no black ink.
PLAIN = replace(FULL, media_setting="Fine 3", profile_media_setting="Fine 3")
PRINTER = Printer(id="p", name="Wide", head_gaps=("narrow", "wide", "widest"), has_cutter=True)
CANVAS = Medium(id="m", name="Canvas", kind="canvas", surface="matte")
BARYTA = Medium(id="m", name="Baryta", surface="baryta", caliper_um=330)


def test_every_field_has_a_name_and_a_word() -> None:
    assert set(LABELS) == {item.name for item in fields(Recipe)}
    assert set(WANTED) < set(LABELS)


def test_settings_in_words() -> None:
    told = {name: setting_words(FULL, name) for name in LABELS}
    assert told["resolution_ppi"] == "360 ppi"
    assert told["ink_adjust_percent"] == "-5 %"
    assert told["ink_load_ml_m2"] == "9.5 ml/m2"
    assert told["cutter_off"] == "yes"
    assert told["black_point_compensation"] == "no"
    assert told["profile_sha256"] == "01234567"
    assert told["colour_managed_by"] == "application"
    assert setting_words(replace(FULL, colour_managed_by=("application", "driver")), "colour_managed_by") == (
        "application and driver"
    )
    assert {setting_words(Recipe(), name) for name in LABELS} == {"not stated"}


def test_zero_and_no_are_stated() -> None:
    assert setting_words(Recipe(ink_adjust_percent=0), "ink_adjust_percent") == "0 %"
    assert setting_words(Recipe(cutter_off=False), "cutter_off") == "no"


def test_differences_are_shown_in_order_with_before_and_after() -> None:
    found = recipe_differences(FULL, replace(FULL, quality="", passes=4))
    assert [(one.field, one.label, one.before, one.after) for one in found] == [
        ("quality", "quality", "high", "not stated"),
        ("passes", "passes", "8", "4"),
    ]


CHANGED: dict[str, object] = {
    "resolution_ppi": 720,
    "passes": 4,
    "ink_adjust_percent": 0.0,
    "ink_load_ml_m2": 8.0,
    "cutter_off": None,
    "drying_seconds_per_pass": None,
    "black_point_compensation": True,
    "colour_managed_by": ("driver",),
}


@settings(deadline=None)
@given(st.sets(st.sampled_from(sorted(LABELS))))
def test_exactly_what_was_changed_is_shown_and_turning_round_swaps_it(changed: set[str]) -> None:
    other = replace(FULL, **{name: CHANGED.get(name, "") for name in changed})  # type: ignore[arg-type]  # by name
    there, back = recipe_differences(FULL, other), recipe_differences(other, FULL)
    assert {one.field for one in there} == changed
    assert [(one.field, one.before, one.after) for one in there] == [
        (one.field, one.after, one.before) for one in back
    ]


def test_checksums_that_differ_only_late_are_still_a_difference() -> None:
    assert recipe_differences(FULL, replace(FULL, file_sha256="fedcba98ffffffff"))


@pytest.mark.parametrize(
    ("medium", "heavy"),
    [
        (CANVAS, True),
        (Medium(id="m", name="M", caliper_um=500), False),
        (Medium(id="m", name="M", caliper_um=501), True),
        (Medium(id="m", name="M", weight_gsm=400), True),
        (Medium(id="m", name="M", weight_gsm=310), False),
        (Medium(id="m", name="M", weight_gsm=500, caliper_um=480), False),
        (Medium(id="m", name="M"), False),
    ],
)
def test_canvas_and_what_is_thicker_than_half_a_millimetre_is_heavy(medium: Medium, heavy: bool) -> None:
    """A wider gap for canvas or above 0.5 mm: common practice, no source."""
    assert is_heavy(medium) == heavy


def _fields(recipe: Recipe, medium: Medium = CANVAS, *, for_chart: bool = False) -> set[str]:
    return {one.field for one in recipe_problems(recipe, medium, PRINTER, for_chart=for_chart)}


def test_a_sound_recipe_has_no_problem_and_an_empty_one_neither() -> None:
    assert _fields(FULL) == set()
    assert _fields(Recipe()) == set()
    assert _fields(Recipe(), for_chart=True) == set()


def test_colour_is_managed_once_in_pictures_and_never_in_charts() -> None:
    twice = replace(FULL, colour_managed_by=("application", "driver"))
    assert _fields(twice) == {"colour_managed_by"}
    assert _fields(FULL, for_chart=True) == {"colour_managed_by"}
    assert _fields(replace(FULL, colour_managed_by=()), for_chart=True) == set()
    assert _fields(replace(FULL, colour_managed_by=(), profile_origin="none")) == {"colour_managed_by"}
    assert _fields(replace(FULL, colour_managed_by=(), intent="none")) == {"colour_managed_by"}


@pytest.mark.parametrize(
    ("ink", "surface", "wrong"),
    [
        ("Photo black", "matte", True),
        ("PK", "textured matte", True),
        ("Matte black", "baryta", True),
        ("MK", "gloss", True),
        ("matt", "satin", True),
        ("Photo black", "satin", False),
        ("Matte black", "matte", False),
        ("both matte and photo", "matte", False),
        ("", "matte", False),
        ("Photo black", "", False),
        ("Photo black", "other", False),
    ],
)
def test_black_ink_goes_with_the_surface(ink: str, surface: str, wrong: bool) -> None:
    medium = replace(BARYTA, surface=surface)
    assert _fields(replace(PLAIN, black_ink=ink), medium) == ({"black_ink"} if wrong else set())


def test_the_reason_fits_the_surface() -> None:
    (on_matte,) = recipe_problems(replace(PLAIN, black_ink="PK"), CANVAS, PRINTER, for_chart=False)
    (on_gloss,) = recipe_problems(PLAIN, BARYTA, PRINTER, for_chart=False)
    assert "rubs off" in on_matte.why
    assert "glossy" in on_gloss.why


def test_the_medium_knows_its_black_better_than_its_surface_does() -> None:
    satin_canvas = replace(CANVAS, surface="satin", black_ink="matte")
    assert _fields(replace(PLAIN, black_ink="PK"), satin_canvas) == {"black_ink"}


@pytest.mark.parametrize(
    ("setting", "ink", "surface", "wrong"),
    [
        ("Matte 3", "PK", "baryta", {"media_setting", "profile_media_setting"}),
        ("Baryta, photo black", "MK", "matte", {"media_setting", "profile_media_setting"}),
        ("Baryta, photo black", "PK", "matte", {"black_ink", "media_setting"}),
        ("Baryta, photo black", "PK", "baryta", set()),
        ("Photo rag", "MK", "textured matte", set()),  # a matte paper in spite of its name
        ("Photo rag", "MK", "matte", set()),
        ("Semigloss or matte", "PK", "gloss", set()),  # speaks of both
        ("Matte 3", "", "other", set()),
    ],
)
def test_a_setting_for_the_other_black_is_wrong_and_so_is_a_profile_built_on_it(
    setting: str, ink: str, surface: str, wrong: set[str]
) -> None:
    recipe = replace(FULL, black_ink=ink, media_setting=setting, profile_media_setting=setting)
    assert _fields(recipe, replace(BARYTA, surface=surface)) == wrong


def test_photo_black_with_a_profile_for_matte_black_is_said_in_those_words() -> None:
    recipe = replace(PLAIN, black_ink="PK", profile_media_setting="Matte 3")
    (found,) = recipe_problems(recipe, BARYTA, PRINTER, for_chart=False)
    assert found.what == 'photo black with a profile built on "Matte 3", a setting for matte black'
    assert recipe_problems(replace(recipe, colour_managed_by=()), BARYTA, PRINTER, for_chart=True) == ()


def test_heavy_media_want_the_widest_gap_and_no_cutter() -> None:
    assert _fields(replace(FULL, head_gap="wide")) == {"head_gap"}
    assert _fields(replace(FULL, head_gap="Widest")) == set()
    assert _fields(replace(FULL, cutter_off=False)) == {"cutter_off"}
    assert _fields(replace(PLAIN, head_gap="wide", cutter_off=False, black_ink="PK"), BARYTA) == set()


def test_what_a_printer_does_not_have_is_no_problem() -> None:
    plain = Printer(id="p", name="Plain", has_cutter=False)
    recipe = replace(FULL, head_gap="wide", cutter_off=False)
    assert recipe_problems(recipe, CANVAS, plain, for_chart=False) == ()
    assert {p.field for p in recipe_problems(recipe, CANVAS, None, for_chart=False)} == {"cutter_off"}


def test_a_profile_belongs_to_the_setting_it_was_built_on() -> None:
    assert _fields(replace(FULL, profile_media_setting="Gloss 1")) == {"profile_media_setting"}
    assert _fields(replace(FULL, profile_media_setting=" matte 3 ")) == set()
    assert (
        _fields(replace(FULL, profile_media_setting="Gloss 1", colour_managed_by=()), for_chart=True) == set()
    )


def test_a_profile_without_a_checksum_is_told() -> None:
    assert _fields(replace(FULL, profile_sha256="")) == {"profile_sha256"}
    assert _fields(replace(FULL, profile_sha256="", profile_name="")) == set()


def test_problems_say_what_why_and_what_to_do() -> None:
    bad = replace(
        FULL,
        colour_managed_by=("application", "driver"),
        black_ink="PK",
        head_gap="narrow",
        cutter_off=False,
        profile_media_setting="Gloss",
        profile_sha256="",
    )
    found = recipe_problems(bad, CANVAS, PRINTER, for_chart=False)
    assert len(found) == 6
    for one in found:
        assert one.what[0].islower()
        assert one.why.endswith(".")
        assert one.todo.endswith(".")


def test_gaps_name_what_would_be_missed_and_only_what_the_printer_has() -> None:
    candidate = a_trial().candidates[0]
    assert {one.field for one in recipe_gaps(candidate, printer=PRINTER)} == set(WANTED)
    plain = Printer(id="p", name="Plain", has_cutter=False)
    assert {one.field for one in recipe_gaps(candidate, printer=plain)} == set(WANTED) - {
        "head_gap",
        "cutter_off",
    }
    assert recipe_gaps(replace(candidate, recipe=FULL), printer=PRINTER) == ()
    assert recipe_gaps(replace(candidate, recipe=replace(FULL, cutter_off=False))) == ()


def test_gaps_of_the_candidate_come_first() -> None:
    candidate = a_trial().candidates[-1]
    bare = replace(candidate, lot_id=None, printer_id=None, roll_id=None, coat=Coat(), recipe=FULL)
    assert [one.field for one in recipe_gaps(bare)] == ["lot_id", "printer_id", "roll_id", "coat"]
    assert recipe_gaps(replace(candidate, recipe=FULL)) == ()
