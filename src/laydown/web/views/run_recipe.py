"""How a sitting was really set, beside the plan and beside the last sitting with the same candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.report.moments import moment_short
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import unfair_differences
from laydown.trials.recipe import NOTHING_SET, Recipe
from laydown.trials.recipes import SettingDifference, recipe_differences
from laydown.trials.shared_settings import problems_here
from laydown.trials.sheets import BenchRun
from laydown.trials.studio import Printer
from laydown.usecases.bench.run_steps import prints_chart
from laydown.web.views.candidate import Source
from laydown.web.views.print_station import settings_of
from laydown.web.views.recipe_form import gap_choices
from laydown.web.views.trial_frame import TrialFrame, trial_frame

# Differences that nobody at the printer can do anything about; the plan and the comparison show them.
NOT_SET_HERE = frozenset({"finish", "coat", "age", "lot", "drawn order"})


@dataclass(frozen=True, slots=True)
class Warned:
    """Something wrong or unfair: what, why, and what to do. ``grave`` breaks the comparison."""

    what: str
    why: str
    todo: str
    grave: bool


@dataclass(frozen=True, slots=True)
class AsSet:
    """The settings of a sitting and what they differ from. ``last`` names the sitting before, "" for none."""

    settings: tuple[tuple[str, str], ...]
    to_plan: tuple[SettingDifference, ...]
    last: str
    to_last: tuple[SettingDifference, ...]
    warned: tuple[Warned, ...]


@dataclass(frozen=True, slots=True)
class RunRecipeView:
    """The form of what was really set. ``taken`` says where it was taken over from, "" for nowhere."""

    frame: TrialFrame
    run_id: str
    candidate: str
    problem: str
    texts: Mapping[str, str]
    gap_choices: tuple[tuple[str, str], ...]
    sources: tuple[Source, ...]
    taken: str
    taking: tuple[SettingDifference, ...]
    taking_warned: tuple[Warned, ...]
    set: AsSet
    seen: int


def as_set(facts: TrialFacts, run: BenchRun, *, now: datetime) -> AsSet:
    """The settings of a sitting, every difference to plan and last sitting, and what is wrong with them."""
    candidate = facts.candidate(run.candidate_id)
    before = _last(facts, run)
    when = moment_short(before.begun_at, time_zone=facts.studio.time_zone, now=now) if before else ""
    return AsSet(
        settings=settings_of(run.recipe),
        to_plan=recipe_differences(candidate.recipe, run.recipe),
        last=when,
        to_last=recipe_differences(before.recipe, run.recipe) if before else (),
        warned=_warned(facts, run),
    )


def run_recipe_view(
    facts: TrialFacts,
    run: BenchRun,
    *,
    texts: Mapping[str, str],
    sources: Sequence[Source],
    taken: Source | None,
    now: datetime,
    seen: int,
    problem: str = "",
) -> RunRecipeView:
    """The form of what was really set; ``taken`` is an earlier recipe its fields were filled from."""
    printer = _printer(facts, run)
    return RunRecipeView(
        frame=trial_frame(facts, now=now, here="print"),
        run_id=run.id,
        candidate=facts.candidate(run.candidate_id).name,
        problem=problem,
        texts=texts,
        gap_choices=gap_choices(printer.head_gaps if printer else (), texts.get("head_gap", "")),
        sources=tuple(sources),
        taken=taken.words if taken else "",
        taking=recipe_differences(run.recipe, taken.recipe) if taken else (),
        taking_warned=_wrong(facts, run, taken.recipe) if taken else (),
        set=as_set(facts, run, now=now),
        seen=seen,
    )


def _last(facts: TrialFacts, run: BenchRun) -> BenchRun | None:
    """The sitting before this one with the same candidate, one in which anything was set."""
    earlier = [
        one
        for one in facts.runs
        if one.candidate_id == run.candidate_id and one.begun_at < run.begun_at and one.recipe != NOTHING_SET
    ]
    return earlier[-1] if earlier else None


def _printer(facts: TrialFacts, run: BenchRun) -> Printer | None:
    return next((one for one in facts.printers if one.id == run.printer_id), None)


def _warned(facts: TrialFacts, run: BenchRun) -> tuple[Warned, ...]:
    candidate = facts.candidate(run.candidate_id)
    unfair = (
        one
        for one in unfair_differences(facts)
        if candidate.name in one.candidates and one.severity != "note" and one.id not in NOT_SET_HERE
    )
    return (
        *_wrong(facts, run, run.recipe),
        *(
            Warned(
                _sentence(f"{one.what} is not the same for all: {_groups(one.values)}"),
                one.why,
                one.todo,
                one.severity == "breaks the comparison",
            )
            for one in unfair
        ),
    )


def _wrong(facts: TrialFacts, run: BenchRun, recipe: Recipe) -> tuple[Warned, ...]:
    """What is wrong with a recipe at this printer, whether it is set or is to be taken over."""
    problems = problems_here(
        facts,
        facts.candidate(run.candidate_id),
        recipe,
        printer=_printer(facts, run),
        for_chart=prints_chart(facts, recipe),
    )
    return tuple(Warned(_sentence(one.what), one.why, one.todo, True) for one in problems)


def _groups(values: tuple[tuple[str, tuple[str, ...]], ...]) -> str:
    return "; ".join(f"{value} ({', '.join(names)})" for value, names in values)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
