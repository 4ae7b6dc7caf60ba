"""What makes a comparison between candidates unfair: settings that differ though they are not under test."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from laydown.kernel.constants import Constant
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness_rules import RULES, SEVERITIES, Rule, Severity, recipes_used
from laydown.trials.out_of_turn import departures
from laydown.trials.recipe import Coat
from laydown.trials.recipes import LABELS, setting_words
from laydown.trials.stock import NOT_STATED
from laydown.trials.studio_time import studio_zone
from laydown.trials.trial import Candidate

AGE_APART = Constant(
    0.25,
    "of the greater age",
    "our own choice, as for readings; common practice is to judge all at one age",
    "common practice, no source",
)
INK_APART = Constant(
    0.1, "of the greater load", "our own choice; within it, loads count as alike", "computed"
)


@dataclass(frozen=True, slots=True)
class UnfairDifference:
    """Something that differs between candidates though it is not under test.

    ``values`` holds what each candidate has, in groups: the value in words, and the names that have it.
    """

    id: str
    what: str
    values: tuple[tuple[str, tuple[str, ...]], ...]
    why: str
    severity: Severity
    todo: str

    @property
    def candidates(self) -> tuple[str, ...]:
        """The names of all candidates it is about."""
        return tuple(name for _, names in self.values for name in names)


def unfair_differences(facts: TrialFacts) -> tuple[UnfairDifference, ...]:
    """What differs between the candidates of a trial and is not the medium itself, gravest first.

    Candidates that were withdrawn are left out. Where a trial is run to find out about one of these (two
    profiles, coated or not), the difference is still shown: it is then the question and not a fault.
    """
    candidates = tuple(one for one in facts.candidates if one.withdrawn_at is None)
    found = [
        *(_differing(facts, candidates, rule) for rule in RULES),
        _file_names(facts, candidates),
        _finishes(candidates),
        _coats(candidates),
        _managed_not_once(facts, candidates),
        _ages(facts, candidates),
        _ink_loads(facts, candidates),
        _out_of_order(facts, candidates),
        _lots_not_stated(candidates),
    ]
    real = [one for one in found if one is not None]
    return tuple(sorted(real, key=lambda one: SEVERITIES.index(one.severity)))


def _differing(facts: TrialFacts, candidates: tuple[Candidate, ...], rule: Rule) -> UnfairDifference | None:
    groups = _grouped((rule.value(facts, one), one.name) for one in candidates)
    stated = [value for value, _ in groups if value != NOT_STATED]
    if len(groups) < 2 or not stated:
        return None
    if len(stated) == 1:
        return UnfairDifference(
            rule.id,
            f"{rule.what}: not stated for every candidate",
            groups,
            rule.why,
            "note",
            "State it for every candidate, or say that it is not known.",
        )
    return UnfairDifference(rule.id, rule.what, groups, rule.why, rule.severity, rule.todo)


def _grouped(values: Iterable[tuple[str, str]]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    names: dict[str, list[str]] = defaultdict(list)
    for value, name in values:
        names[value].append(name)
    return tuple((value, tuple(held)) for value, held in names.items())


def _file_names(facts: TrialFacts, candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    """Names of the printed file, where no checksum says better."""
    used = [(recipe, one.name) for one in candidates for recipe in recipes_used(facts, one)]
    groups = _grouped((recipe.file_name, name) for recipe, name in used if recipe.file_name)
    if any(recipe.file_sha256 for recipe, _ in used) or len(groups) < 2:
        return None
    return UnfairDifference(
        "file name",
        LABELS["file_name"],
        groups,
        "Files of other names may be other pictures, and nothing says that they are not.",
        "weigh it",
        "Keep the printed file, so that its checksum tells.",
    )


def _finishes(candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    """Grave unless every medium has both arms, so that like can be compared with like."""
    media: dict[str, set[str]] = {"coated": set(), "uncoated": set()}
    for one in candidates:
        media[one.finish].add(one.medium_id)
    if not media["coated"] or not media["uncoated"]:
        return None
    both = media["coated"] == media["uncoated"]
    return UnfairDifference(
        "finish",
        "finish",
        _grouped((one.finish, one.name) for one in candidates),
        "A coat deepens black, changes gloss and warms whites; it is part of what is compared.",
        "note" if both else "breaks the comparison",
        "Compare coated with coated and uncoated with uncoated.",
    )


def _coats(candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    coated = [one for one in candidates if one.finish == "coated"]
    groups = _grouped((_coat(one.coat), one.name) for one in coated)
    if len(groups) < 2:
        return None
    return UnfairDifference(
        "coat",
        "coat",
        groups,
        "Coats differ as much as media do.",
        "weigh it",
        "Use one coat, in one way, on every coated arm.",
    )


def _coat(coat: Coat | None) -> str:
    if coat is None:
        return NOT_STATED
    told = (
        coat.product,
        coat.dilution,
        coat.tool,
        f"{coat.coats} coats" if coat.coats is not None else "",
        f"{coat.wet_g_m2:g} g/m2 wet" if coat.wet_g_m2 is not None else "",
    )
    return ", ".join(part for part in told if part) or NOT_STATED


def _managed_not_once(facts: TrialFacts, candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    wrong = _grouped(
        (setting_words(recipe, "colour_managed_by"), one.name)
        for one in candidates
        for recipe in recipes_used(facts, one)
        if len(recipe.colour_managed_by) > 1
    )
    if not wrong:
        return None
    return UnfairDifference(
        "colour managed more than once",
        "colour managed more than once",
        wrong,
        "Applied twice, a profile turns prints dark and dull with a cast; the medium gets the blame.",
        "breaks the comparison",
        "Switch all but one off and print these again.",
    )


def _ages(facts: TrialFacts, candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    """Mean age of the readings of each candidate; coated and uncoated arms are of different age by nature."""
    means: dict[str, float] = {}
    for finish in ("uncoated", "coated"):
        names = {}
        for one in candidates:
            ages = [
                age.hours
                for sheet in facts.sheets_of(one.id)
                for reading in facts.readings_of(sheet.id)
                if reading.set_aside_at is None and (age := reading_age(facts, reading)) is not None
                if age.finish == finish == one.finish and age.hours is not None
            ]
            if ages:
                names[one.name] = sum(ages) / len(ages)
        if len(names) > 1 and max(names.values()) - min(names.values()) > AGE_APART.value * max(
            names.values()
        ):
            means |= names
    if not means:
        return None
    return UnfairDifference(
        "age",
        "age of the prints when read",
        _grouped((_age_words(hours), name) for name, hours in means.items()),
        "Colour moves after printing, most in the first hour; older prints look settled, younger ones not.",
        "weigh it",
        "Read again when all are of one age.",
    )


def _age_words(hours: float) -> str:
    return f"{hours:.0f} h" if hours >= 2 else f"{hours * 60:.0f} min"


def _ink_loads(facts: TrialFacts, candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    loads = [
        (recipe.ink_load_ml_m2, one.name)
        for one in candidates
        for recipe in recipes_used(facts, one)
        if recipe.ink_load_ml_m2 is not None
    ]
    most = max((load for load, _ in loads), default=0.0)
    least = min((load for load, _ in loads), default=0.0)
    if most - least <= INK_APART.value * most:
        return None
    return UnfairDifference(
        "ink load",
        LABELS["ink_load_ml_m2"],
        _grouped((f"{load:g} ml/m2", name) for load, name in loads),
        "More ink gives more colour and deeper black on any medium, and costs more.",
        "weigh it",
        "Show the ink load beside the result, or bring the loads together.",
    )


def _out_of_order(facts: TrialFacts, candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    """Sheets printed on another day than drawn for, or before others; their printing says so."""
    zone = studio_zone(facts.studio)
    values = [
        (
            ", ".join(
                sheet.code
                for sheet in facts.sheets_of(one.id)
                for event in facts.events_of(sheet.id, "printed")
                if event.words and departures(facts, sheet, at=event.at, zone=zone)
            )
            or "as drawn",
            one.name,
        )
        for one in candidates
    ]
    if all(value == "as drawn" for value, _ in values):
        return None
    return UnfairDifference(
        "drawn order",
        "sheets printed on another day than drawn for, or out of turn",
        _grouped(values),
        "What drifts within a day or from day to day then falls on some media more than on others.",
        "weigh it",
        "Weigh it where differences are small, or print more sheets on a further day.",
    )


def _lots_not_stated(candidates: tuple[Candidate, ...]) -> UnfairDifference | None:
    without = [one.name for one in candidates if one.lot_id is None]
    if not without:
        return None
    return UnfairDifference(
        "lot",
        "lot not stated",
        ((NOT_STATED, tuple(without)),),
        "One lot stands for the product; without its number nobody can tell whether the next one is alike.",
        "note",
        "Copy the lot from the label, and name it in the verdict.",
    )
