"""Recipes side by side: what changed, what is not stated, what contradicts itself."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from laydown.kernel.constants import Constant
from laydown.trials.black_inks import black_named, black_of_setting, black_wanted
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.stock import NOT_STATED, Medium
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate

HEAVY_CALIPER = Constant(
    500.0, "um", "above 0.5 mm, and for canvas, one gap wider than usual", "common practice, no source"
)
HEAVY_WEIGHT = Constant(
    400.0, "g/m2", "our own choice where no caliper is stated; such media are near 0.5 mm", "from memory"
)

LABELS: dict[str, str] = {
    "media_setting": "media setting",
    "quality": "quality",
    "resolution_ppi": "resolution",
    "passes": "passes",
    "direction": "direction",
    "ink_adjust_percent": "ink adjustment",
    "ink_load_ml_m2": "ink load",
    "black_ink": "black ink",
    "head_gap": "head gap",
    "cutter_off": "cutter off",
    "feed_adjust": "feed adjustment",
    "drying_seconds_per_pass": "drying time per pass",
    "profile_name": "profile",
    "profile_sha256": "checksum of the profile",
    "profile_origin": "origin of the profile",
    "profile_media_setting": "media setting the profile was built on",
    "intent": "rendering intent",
    "black_point_compensation": "black-point compensation",
    "colour_managed_by": "colour managed by",
    "file_name": "file",
    "file_sha256": "checksum of the file",
    "words": "remarks",
}
UNITS: dict[str, str] = {
    "resolution_ppi": "ppi",
    "ink_adjust_percent": "%",
    "ink_load_ml_m2": "ml/m2",
    "drying_seconds_per_pass": "s",
}
SHOWN_OF_CHECKSUM = 8


@dataclass(frozen=True, slots=True)
class SettingDifference:
    """One setting that differs between two recipes, in words; "not stated" where it is empty."""

    field: str
    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class RecipeGap:
    """A setting that is not stated and matters: why, and what to do."""

    field: str
    label: str
    why: str
    todo: str


@dataclass(frozen=True, slots=True)
class RecipeProblem:
    """A setting that contradicts itself, the medium or the printer: what, why, and what to do."""

    field: str
    what: str
    why: str
    todo: str


def setting_words(recipe: Recipe, field: str) -> str:
    """A setting as it is shown: yes or no, numbers with units, short checksums; "not stated" where empty."""
    value: Any = getattr(recipe, field)
    if value is None or value in ("", ()):
        return NOT_STATED
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return " and ".join(value)
    if isinstance(value, int | float):
        return f"{value:g} {UNITS.get(field, '')}".strip()
    return str(value)[:SHOWN_OF_CHECKSUM] if field.endswith("sha256") else str(value)


def recipe_differences(before: Recipe, after: Recipe) -> tuple[SettingDifference, ...]:
    """Every setting that differs between two recipes, in the order of the recipe's fields."""
    return tuple(
        SettingDifference(
            item.name, LABELS[item.name], setting_words(before, item.name), setting_words(after, item.name)
        )
        for item in fields(Recipe)
        if getattr(before, item.name) != getattr(after, item.name)
    )


def is_heavy(medium: Medium) -> bool:
    """Whether a medium asks for the widest head gap: canvas, or thicker than 0.5 mm, or very heavy."""
    if medium.kind == "canvas":
        return True
    if medium.caliper_um is not None:
        return medium.caliper_um > HEAVY_CALIPER.value
    return medium.weight_gsm is not None and medium.weight_gsm >= HEAVY_WEIGHT.value


def recipe_gaps(candidate: Candidate, *, printer: Printer | None = None) -> tuple[RecipeGap, ...]:
    """What is not stated yet about a candidate and would be missed later, most important first.

    What the printer does not have is not asked for. ``field`` is a field of the candidate or of its recipe.
    """
    unstated = [
        RecipeGap(name, label, why, todo)
        for name, (label, why, todo) in WANTED_OF_CANDIDATE.items()
        if not getattr(candidate, name)
    ]
    if candidate.finish == "coated" and candidate.coat in (None, Coat()):
        unstated.append(
            RecipeGap("coat", "coat", "Coats differ as much as media.", "Say which, and how many.")
        )
    return (
        *unstated,
        *(
            RecipeGap(name, LABELS[name], why, todo)
            for name, (why, todo) in WANTED.items()
            if getattr(candidate.recipe, name) in (None, "", ()) and not _not_there(name, printer)
        ),
    )


def recipe_problems(
    recipe: Recipe, medium: Medium, printer: Printer | None, *, for_chart: bool
) -> tuple[RecipeProblem, ...]:
    """What contradicts itself in a recipe for a medium on a printer; only what is stated is judged.

    ``for_chart`` is for a chart that is to be profiled or measured: it is printed without colour management.
    """
    found = (
        _colour_management(recipe, for_chart=for_chart),
        _black_ink(recipe, medium),
        _setting_for_other_black(recipe, medium),
        _gap(recipe, medium, printer),
        _cutter(recipe, medium, printer),
        _profile_for_other_black(recipe, medium, for_chart=for_chart)
        or _foreign_profile(recipe, for_chart=for_chart),
        _unnamed_profile(recipe, for_chart=for_chart),
    )
    return tuple(problem for problem in found if problem is not None)


WANTED_OF_CANDIDATE: dict[str, tuple[str, str, str]] = {
    "lot_id": (
        "lot",
        "Lots differ; without one the result stands for a product that may not be this one.",
        "Copy the lot number from the label of the roll or box.",
    ),
    "printer_id": ("printer", "Prints of two printers are two trials.", "Say which printer it is for."),
    "roll_id": (
        "roll or box",
        "Without it nobody knows whether the material lasts.",
        "Choose the roll or box it is printed on.",
    ),
}
WANTED: dict[str, tuple[str, str]] = {
    "media_setting": (
        "It sets ink, drops, drying and gap; a profile cannot mend a wrong one.",
        "Copy its name from the printer's dialog.",
    ),
    "quality": ("It changes how much ink is laid down and how.", "Copy it from the printer's dialog."),
    "resolution_ppi": ("Other resolutions lay other amounts of ink.", "Copy it from the printer's dialog."),
    "direction": ("Printing both ways shows more grain and edges.", "Say one way or both ways."),
    "black_ink": ("Matte and photo black are as unlike as two media.", "Look at the printer's ink list."),
    "head_gap": ("A gap that is too small strikes; too large, and it blurs.", "Read it off the printer."),
    "cutter_off": ("The cutter makes dust on canvas and thick rag.", "Say whether it was switched off."),
    "profile_name": ("Without it the print cannot be made again.", "Name the profile that was used."),
    "profile_sha256": ("Two profiles can have one name.", "Keep the profile file with the candidate."),
    "profile_origin": (
        "A profile made for this printer beats one that was not.",
        "Say own, supplier, borrowed or none.",
    ),
    "profile_media_setting": (
        "A profile is right only for the setting it was built on.",
        "Say which media setting its chart was printed with.",
    ),
    "intent": (
        "It moves every colour outside the gamut.",
        "Copy it from the dialog that applies the profile.",
    ),
    "black_point_compensation": ("It decides how shadows are kept.", "Say whether it was on."),
    "colour_managed_by": ("Colour must be managed once.", "Say which program, driver or printer does it."),
    "file_sha256": ("Two files can have one name.", "Keep the printed file, or its checksum."),
}


def _not_there(field: str, printer: Printer | None) -> bool:
    if printer is None:
        return False
    return (field == "head_gap" and not printer.head_gaps) or (
        field == "cutter_off" and printer.has_cutter is False
    )


def _colour_management(recipe: Recipe, *, for_chart: bool) -> RecipeProblem | None:
    places = recipe.colour_managed_by
    if for_chart and places:
        return RecipeProblem(
            "colour_managed_by",
            f"the chart is colour managed by {' and '.join(places)}",
            "A chart shows what the printer does by itself; with a profile in between it shows nothing.",
            "Switch colour management off everywhere and print the chart again.",
        )
    if not for_chart and len(places) > 1:
        return RecipeProblem(
            "colour_managed_by",
            f"colour is managed {len(places)} times: by {' and '.join(places)}",
            "Applied twice, prints turn dark and dull with a cast.",
            "Switch all but one off and save the preset.",
        )
    if not for_chart and not places and "none" in (recipe.profile_origin, recipe.intent):
        return RecipeProblem(
            "colour_managed_by",
            "no profile is applied",
            "Without one, colours are flat or too strong and cannot be compared.",
            "Apply the output profile once.",
        )
    return None


def _black_ink(recipe: Recipe, medium: Medium) -> RecipeProblem | None:
    named, wanted = black_named(recipe.black_ink), black_wanted(medium)
    if not named or not wanted or named == wanted:
        return None
    why = (
        "Photo black on a matte surface is grey and rubs off."
        if wanted == "matte"
        else "Matte black does not hold on a glossy surface: it is dull and dusty."
    )
    return RecipeProblem(
        "black_ink",
        f"{named} black on a medium for {wanted} black",
        why,
        f"Choose a media setting that uses {wanted} black.",
    )


def _setting_for_other_black(recipe: Recipe, medium: Medium) -> RecipeProblem | None:
    named = black_of_setting(recipe.media_setting)
    wanted = black_wanted(medium) or black_named(recipe.black_ink)
    if not named or not wanted or named == wanted:
        return None
    return RecipeProblem(
        "media_setting",
        f'"{recipe.media_setting}" is a media setting for {named} black, where {wanted} black belongs',
        "It chooses black ink, amount of ink and drying for another surface.",
        "Choose the setting made for this surface, and print a setting sheet.",
    )


def _profile_for_other_black(recipe: Recipe, medium: Medium, *, for_chart: bool) -> RecipeProblem | None:
    built = black_of_setting(recipe.profile_media_setting)
    used = black_named(recipe.black_ink) or black_wanted(medium)
    if for_chart or not built or not used or built == used:
        return None
    return RecipeProblem(
        "profile_media_setting",
        f'{used} black with a profile built on "{recipe.profile_media_setting}", a setting for {built} black',
        "The profile describes another black ink on another surface: blacks block up or turn grey, and "
        "colours shift.",
        f"Use a profile that was built with {used} black on this medium.",
    )


def _gap(recipe: Recipe, medium: Medium, printer: Printer | None) -> RecipeProblem | None:
    gaps = printer.head_gaps if printer else ()
    if not recipe.head_gap or not gaps or not is_heavy(medium):
        return None
    if recipe.head_gap.casefold() == gaps[-1].casefold():
        return None
    return RecipeProblem(
        "head_gap",
        f"head gap {recipe.head_gap} on a thick or heavy medium",
        "The head may strike it: a smear, a damaged head.",
        f'Set the gap to "{gaps[-1]}", or state why less is enough.',
    )


def _cutter(recipe: Recipe, medium: Medium, printer: Printer | None) -> RecipeProblem | None:
    if recipe.cutter_off is not False or (printer is not None and printer.has_cutter is False):
        return None
    if not is_heavy(medium):
        return None
    return RecipeProblem(
        "cutter_off",
        "the printer's cutter is on for canvas or thick rag",
        "It makes dust that shows as white specks, and dulls the blade.",
        "Switch the cutter off and cut by hand away from the printer.",
    )


def _foreign_profile(recipe: Recipe, *, for_chart: bool) -> RecipeProblem | None:
    built, used = recipe.profile_media_setting, recipe.media_setting
    if for_chart or not built or not used or built.strip().casefold() == used.strip().casefold():
        return None
    return RecipeProblem(
        "profile_media_setting",
        f'the profile was built on "{built}" and is used with "{used}"',
        "Another media setting lays other ink; the profile describes a print that is not made.",
        f'Print with "{built}", or build a profile on "{used}".',
    )


def _unnamed_profile(recipe: Recipe, *, for_chart: bool) -> RecipeProblem | None:
    if for_chart or not recipe.profile_name or recipe.profile_sha256:
        return None
    return RecipeProblem(
        "profile_sha256",
        f'profile "{recipe.profile_name}" has no checksum',
        "Two profiles can have one name, and one of them will be replaced some day.",
        "Keep the profile file with the candidate.",
    )
