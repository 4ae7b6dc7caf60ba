"""One profile or media setting for two media, as when a recipe is taken over: right for one at most."""

from __future__ import annotations

from laydown.trials.black_inks import black_wanted
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.recipes import SHOWN_OF_CHECKSUM, RecipeProblem, recipe_problems
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate


def problems_here(
    facts: TrialFacts, candidate: Candidate, recipe: Recipe, *, printer: Printer | None, for_chart: bool
) -> tuple[RecipeProblem, ...]:
    """What is wrong with a recipe for a candidate of this trial: in itself, and beside the other media.

    ``recipe`` is its own or one that is to be taken over; ``for_chart`` is as in ``recipe_problems``.
    """
    medium = facts.medium_of(candidate)
    return (
        *recipe_problems(recipe, medium, printer, for_chart=for_chart),
        *shared_settings(facts, candidate, recipe, for_chart=for_chart),
    )


def shared_settings(
    facts: TrialFacts, candidate: Candidate, recipe: Recipe, *, for_chart: bool
) -> tuple[RecipeProblem, ...]:
    """Profile and media setting that other media of the trial have as well, each said once.

    A profile is right for one medium; a media setting serves several, but not a matte and a glossy one. A
    profile that is stated to be borrowed is said only where it was borrowed from another surface.
    """
    own = facts.medium_of(candidate)
    others = [
        (one.recipe, facts.medium_of(one))
        for one in facts.candidates
        if one.withdrawn_at is None and one.medium_id != own.id
    ]
    found = []
    sharing = {medium.id: medium for used, medium in others if not for_chart and _one_profile(used, recipe)}
    other_surface = [medium for medium in sharing.values() if _unlike(own, medium)]
    if other_surface:
        found.append(_profile_of_other_surface(recipe, own, other_surface[0]))
    elif sharing and recipe.profile_origin != "borrowed":
        found.append(_profile_of_other_medium(recipe, own, next(iter(sharing.values()))))
    for used, medium in others:
        if _same(used.media_setting, recipe.media_setting) and _unlike(own, medium):
            found.append(_setting_of_other_surface(recipe, own, medium))
            break
    return tuple(found)


def _one_profile(one: Recipe, other: Recipe) -> bool:
    if one.profile_sha256 and other.profile_sha256:
        return one.profile_sha256 == other.profile_sha256
    return _same(one.profile_name, other.profile_name)


def _same(one: str, other: str) -> bool:
    return bool(one) and one.strip().casefold() == other.strip().casefold()


def _unlike(one: Medium, other: Medium) -> bool:
    """Whether two media want different black inks, which parts matte from glossy surfaces."""
    wanted = {black_wanted(one), black_wanted(other)}
    return "" not in wanted and len(wanted) == 2


def _surface(medium: Medium) -> str:
    return f"{medium.name}, which is {medium.surface or f'for {medium.black_ink} black'}"


def _profile_of_other_surface(recipe: Recipe, own: Medium, other: Medium) -> RecipeProblem:
    return RecipeProblem(
        "profile_name",
        f"one profile, {_profile(recipe)}, for {_surface(own)}, and {_surface(other)}",
        "A profile describes one black ink on one surface. On the other one, blacks block up or turn grey, "
        "colours shift, and the medium gets the blame.",
        "Check for which of them it was built. Give the other its own: media setting, black ink, ink "
        "adjustment, drying time and profile.",
    )


def _profile_of_other_medium(recipe: Recipe, own: Medium, other: Medium) -> RecipeProblem:
    return RecipeProblem(
        "profile_name",
        f"one profile, {_profile(recipe)}, for {own.name} and {other.name}",
        "A profile is right for one medium: white and blacks of another differ, and look like faults of it.",
        "Check for which of them it was built, and build one for the other; or state that it is borrowed.",
    )


def _setting_of_other_surface(recipe: Recipe, own: Medium, other: Medium) -> RecipeProblem:
    return RecipeProblem(
        "media_setting",
        f'media setting "{recipe.media_setting}" for {_surface(own)}, and {_surface(other)}',
        "It chooses black ink, amount of ink and drying for one kind of surface.",
        "Choose the setting made for this surface, check the black ink, and print a setting sheet.",
    )


def _profile(recipe: Recipe) -> str:
    return (
        f'"{recipe.profile_name}"'
        if recipe.profile_name
        else f"checksum {recipe.profile_sha256[:SHOWN_OF_CHECKSUM]}"
    )
