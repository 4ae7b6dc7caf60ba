"""The checklist of a sitting, and where what is noted at a step belongs."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime
from typing import Any, get_args

from laydown.kernel.errors import BadSetting
from laydown.trials.checklist import Step, checklist
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import NOTHING_SET, ColourManagement, Direction, Intent, Recipe
from laydown.trials.sheets import BenchRun, Tick
from laydown.trials.trial import Candidate
from laydown.usecases.bench.climate import clean_climate

RECIPE_FIELDS = frozenset(item.name for item in fields(Recipe))
NUMBERS = frozenset(
    {
        "resolution_ppi", "passes", "ink_adjust_percent", "ink_load_ml_m2", "drying_seconds_per_pass"
    }
)  # fmt: skip
#: Steps that are gone through for each candidate, even where two share a load.
AFTER_SETTING_UP = frozenset({"print", "mark", "look-over", "cut", "lay-flat", "cover", "unload", "used"})
COLOUR_PLACES: tuple[str, ...] = get_args(ColourManagement)
NOWHERE = "nowhere"
WARMTH, HUMIDITY = "room-temperature", "room-humidity"
#: The words a choice is noted in, by field of the recipe.
CHOICES: dict[str, tuple[str, ...]] = {
    "direction": tuple(word for word in get_args(Direction) if word),
    "intent": tuple(word for word in get_args(Intent) if word),
    "cutter_off": ("off", "on"),
    "colour_managed_by": (*COLOUR_PLACES, NOWHERE),
}


def prints_chart(facts: TrialFacts, recipe: Recipe) -> bool:
    """Whether what is printed is the trial's chart itself, which goes out without colour management."""
    chart = facts.trial.chart_sha256
    if recipe.file_sha256:
        return recipe.file_sha256 == chart
    return bool(chart or facts.trial.chart_name) and not recipe.file_name


def candidate_checklist(facts: TrialFacts, candidate: Candidate) -> tuple[Step, ...]:
    """The checklist of a candidate before a sitting is begun."""
    return checklist(
        facts,
        candidate,
        printer=facts.printer_of(candidate),
        medium=facts.medium_of(candidate),
        for_chart=prints_chart(facts, candidate.recipe),
    )


def run_steps(facts: TrialFacts, run: BenchRun) -> tuple[Step, ...]:
    """The checklist of a sitting: of the planned recipe, on the printer and roll that are really used."""
    planned = facts.candidate(run.candidate_id)
    return candidate_checklist(
        facts, replace(planned, printer_id=run.printer_id, roll_id=run.roll_id or planned.roll_id)
    )


def open_steps(facts: TrialFacts, run: BenchRun) -> tuple[Step, ...]:
    """The steps of a sitting that are neither ticked nor skipped."""
    dealt_with = {tick.step for tick in run.ticks}
    return tuple(step for step in run_steps(facts, run) if step.id not in dealt_with)


def with_room(
    run: BenchRun, room_c: float | None, room_rh: float | None, *, at: datetime, by: str
) -> BenchRun:
    """The sitting with the room as read off, and its steps ticked, so that it is asked for once.

    None leaves a part as it is. A tick that is there keeps its time and says the new value.
    """
    warm = run.room_c if room_c is None else room_c
    moist = run.room_rh if room_rh is None else room_rh
    ticks = {tick.step: tick for tick in run.ticks}
    for step, before, after in ((WARMTH, run.room_c, warm), (HUMIDITY, run.room_rh, moist)):
        if after is not None and after != before:
            there = ticks.get(step, Tick(step=step, at=at, by=by))
            ticks[step] = replace(there, value=f"{after:g}", skipped=False)
    in_time = tuple(sorted(ticks.values(), key=lambda one: one.at))
    return replace(run, room_c=warm, room_rh=moist, ticks=in_time)


def wants_value(step: Step) -> bool:
    """Whether a step is done only with a value: a number that no plan can foretell."""
    return step.noted is not None and step.noted.kind == "number" and step.noted.field not in RECIPE_FIELDS


def noted_on(run: BenchRun, step: Step, value: str, *, planned: Recipe) -> BenchRun:
    """The sitting with what was noted where it belongs; other words stay in the tick alone.

    Nothing noted, or what was expected, means that it was set as planned.

    Raises
    ------
    BadSetting
        A number that is none, a word that is no choice there.
    """
    if step.noted is None:
        return run
    field = step.noted.field
    if field == "room_c":
        return replace(run, room_c=clean_climate(number_of(value, step.noted.label), None)[0])
    if field == "room_rh":
        return replace(run, room_rh=clean_climate(None, number_of(value, step.noted.label))[1])
    if field not in RECIPE_FIELDS:
        return run
    if value in ("", step.expected):
        taken = {field: _as_expected(step, field, planned)}
        if field == "intent":
            taken["black_point_compensation"] = planned.black_point_compensation
        return replace(run, recipe=replace(run.recipe, **taken))
    return replace(run, recipe=replace(run.recipe, **{field: _setting(field, value, step.noted.label)}))


def _as_expected(step: Step, field: str, planned: Recipe) -> Any:
    """The planned setting; what the step asks for where the plan states none, or asks for another."""
    assert step.noted is not None
    stated = getattr(planned, field)
    if step.expected == NOWHERE:  # a chart, whatever is planned for pictures
        return ()
    if stated == getattr(NOTHING_SET, field) and step.expected:
        return _setting(field, step.expected, step.noted.label)
    return stated


def number_of(value: str, label: str) -> float:
    """A number as somebody wrote it, with point or comma."""
    try:
        return float(value.replace(",", "."))
    except ValueError as error:
        raise BadSetting(f'{label}: "{value}" is not a number.', todo="Write digits only.") from error


def _setting(field: str, value: str, label: str) -> Any:
    if field in NUMBERS:
        amount = number_of(value, label)
        return round(amount) if field == "passes" else amount
    if field not in CHOICES:
        return value
    if value not in CHOICES[field]:
        raise BadSetting(f'{label}: "{value}" is not one of {", ".join(CHOICES[field])}.', todo="Choose one.")
    if field == "cutter_off":
        return value == "off"
    if field == "colour_managed_by":
        return () if value == NOWHERE else (value,)
    return value
