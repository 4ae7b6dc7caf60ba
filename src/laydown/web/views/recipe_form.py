"""The form of a recipe: every setting as text, and back to a recipe."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TypeVar, get_args

from laydown.kernel.errors import BadSetting
from laydown.trials.recipe import ColourManagement, Direction, Intent, ProfileOrigin, Recipe
from laydown.web.forms import Form

PLACES: tuple[ColourManagement, ...] = get_args(ColourManagement)
DIRECTIONS: tuple[Direction, ...] = get_args(Direction)
INTENTS: tuple[Intent, ...] = get_args(Intent)
ORIGINS: tuple[ProfileOrigin, ...] = get_args(ProfileOrigin)

Choice = TypeVar("Choice", bound=str)
_NUMBERS = {
    "resolution_ppi": ("Resolution", 1.0, 20_000.0),
    "ink_adjust_percent": ("Ink adjustment", -100.0, 300.0),
    "ink_load_ml_m2": ("Ink load", 0.0, 200.0),
    "drying_seconds_per_pass": ("Drying time per pass", 0.0, 600.0),
}
_MOST_PASSES = 256


def recipe_texts(recipe: Recipe) -> dict[str, str]:
    """Every setting as the text of its field."""
    return {item.name: _text(getattr(recipe, item.name)) for item in fields(Recipe)}


def typed_recipe(form: Form) -> dict[str, str]:
    """Every setting as it was typed."""
    told = form.texts(item.name for item in fields(Recipe))
    return told | {"colour_managed_by": "|".join(form.many("colour_managed_by"))}


def told_recipe(form: Form, base: Recipe) -> Recipe:
    """The recipe a form says, on top of ``base``.

    Raises
    ------
    BadSetting
        A number or a choice is none.
    """
    numbers = {
        name: form.number(name, what, low=low, high=high) for name, (what, low, high) in _NUMBERS.items()
    }
    return replace(
        base,
        media_setting=form.text("media_setting"),
        quality=form.text("quality"),
        resolution_ppi=numbers["resolution_ppi"],
        passes=form.whole("passes", "Passes", low=1, high=_MOST_PASSES),
        direction=_one_of(DIRECTIONS, form.text("direction"), "Direction"),
        ink_adjust_percent=numbers["ink_adjust_percent"],
        ink_load_ml_m2=numbers["ink_load_ml_m2"],
        black_ink=form.text("black_ink"),
        head_gap=form.text("head_gap"),
        cutter_off=form.yes_no("cutter_off"),
        feed_adjust=form.text("feed_adjust"),
        drying_seconds_per_pass=numbers["drying_seconds_per_pass"],
        profile_name=form.text("profile_name"),
        profile_sha256=form.text("profile_sha256").lower(),
        profile_origin=_one_of(ORIGINS, form.text("profile_origin"), "Origin of the profile"),
        profile_media_setting=form.text("profile_media_setting"),
        intent=_one_of(INTENTS, form.text("intent"), "Rendering intent"),
        black_point_compensation=form.yes_no("black_point_compensation"),
        colour_managed_by=tuple(one for one in PLACES if one in form.many("colour_managed_by")),
        file_name=form.text("file_name"),
        file_sha256=form.text("file_sha256").lower(),
        words=form.text("words"),
    )


def gap_choices(named: tuple[str, ...], present: str) -> tuple[tuple[str, str], ...]:
    """The printer's own head gaps to choose from, and whatever is stated now; none where it names none."""
    if not named:
        return ()
    told = [*named, present] if present and present not in named else [*named]
    return (("", "not stated"), *((gap, gap) for gap in told))


def _text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "|".join(value)
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _one_of(allowed: tuple[Choice, ...], text: str, what: str) -> Choice:
    for one in allowed:
        if one == text:
            return one
    raise BadSetting(f'{what}: "{text}" is none of the choices.', todo="Choose one.")
