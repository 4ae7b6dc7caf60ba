"""What should be alike between candidates, and why: the table behind `fairness`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Literal, get_args

from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.recipes import LABELS, setting_words
from laydown.trials.stock import NOT_STATED
from laydown.trials.trial import Candidate

Severity = Literal["breaks the comparison", "weigh it", "note"]
SEVERITIES: tuple[Severity, ...] = get_args(Severity)


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that should be alike: how it is read off, how much it matters, why, and what to do."""

    id: str
    what: str
    value: Callable[[TrialFacts, Candidate], str]
    severity: Severity
    why: str
    todo: str


def recipes_used(facts: TrialFacts, candidate: Candidate) -> tuple[Recipe, ...]:
    """The recipes a candidate's test sheets were printed with, as really set; the planned one before that.

    Spoiled sheets are in no comparison and do not count. What was not noted at the bench is taken to be as
    planned. More than one means that a candidate is not even like itself.
    """
    runs = {
        sheet.run_id
        for sheet in facts.sheets_of(candidate.id)
        if sheet.use == "test" and not facts.events_of(sheet.id, "spoiled")
    }
    used = (_over(candidate.recipe, run.recipe) for run in facts.runs if run.id in runs)
    return tuple(dict.fromkeys(used)) or (candidate.recipe,)


def _over(planned: Recipe, set_so: Recipe) -> Recipe:
    stated = {item.name: getattr(set_so, item.name) for item in fields(Recipe)}
    return replace(planned, **{name: value for name, value in stated.items() if value not in (None, "", ())})


def _setting(field: str) -> Callable[[TrialFacts, Candidate], str]:
    def told(facts: TrialFacts, candidate: Candidate) -> str:
        return " and later ".join(
            dict.fromkeys(setting_words(recipe, field) for recipe in recipes_used(facts, candidate))
        )

    return told


def _printer(facts: TrialFacts, candidate: Candidate) -> str:
    printer = facts.printer_of(candidate)
    if printer is None:
        return NOT_STATED
    return f"{printer.name} ({printer.serial})" if printer.serial else printer.name


def _form(facts: TrialFacts, candidate: Candidate) -> str:
    return next((roll.form for roll in facts.rolls if roll.id == candidate.roll_id), NOT_STATED)


RULES = (
    Rule(
        "file",
        LABELS["file_sha256"],
        _setting("file_sha256"),
        "breaks the comparison",
        "Other files are other pictures: size, sharpening and colours may differ.",
        "Print the same file on every candidate.",
    ),
    Rule(
        "printer",
        "printer",
        _printer,
        "breaks the comparison",
        "Head, ink and feed of another printer differ; what is seen may be the printer.",
        "Print all candidates on one printer, or the house medium on both.",
    ),
    Rule(
        "intent",
        LABELS["intent"],
        _setting("intent"),
        "breaks the comparison",
        "It moves every colour outside the gamut, and with some intents all of them.",
        "Use one rendering intent for all.",
    ),
    Rule(
        "black-point compensation",
        LABELS["black_point_compensation"],
        _setting("black_point_compensation"),
        "breaks the comparison",
        "It decides whether shadows keep their steps or close.",
        "Switch it on for all or off for all.",
    ),
    Rule(
        "profile origin",
        LABELS["profile_origin"],
        _setting("profile_origin"),
        "weigh it",
        "A profile made on this printer beats a ready-made one: the profile is judged, not the medium.",
        "Build a profile for each candidate, or use ready-made ones for all.",
    ),
    Rule(
        "media setting",
        LABELS["media_setting"],
        _setting("media_setting"),
        "note",
        "It sets the amount of ink. Media need different ones: no fault, but part of the result.",
        "Show the setting, and the ink load if it is known, beside the result.",
    ),
    Rule(
        "ink adjustment",
        LABELS["ink_adjust_percent"],
        _setting("ink_adjust_percent"),
        "weigh it",
        "More ink gives more colour and deeper black on any medium.",
        "Say why each candidate needs its own, or use one for all.",
    ),
    Rule(
        "quality",
        LABELS["quality"],
        _setting("quality"),
        "weigh it",
        "Other qualities lay other ink and show other grain.",
        "Use one quality for all.",
    ),
    Rule(
        "resolution",
        LABELS["resolution_ppi"],
        _setting("resolution_ppi"),
        "weigh it",
        "Other resolutions lay other ink and show other detail.",
        "Use one resolution for all.",
    ),
    Rule(
        "passes",
        LABELS["passes"],
        _setting("passes"),
        "weigh it",
        "More passes band less and dry better.",
        "Use one number of passes for all.",
    ),
    Rule(
        "direction",
        LABELS["direction"],
        _setting("direction"),
        "weigh it",
        "Printing both ways shows more grain and doubled edges.",
        "Print all one way or all both ways.",
    ),
    Rule(
        "form",
        "roll or sheets",
        _form,
        "weigh it",
        "Sheets and rolls of one product can differ in coating and curl.",
        "Test in the form that will be bought, or verify the result on it.",
    ),
)
