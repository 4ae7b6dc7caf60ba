"""What is ticked as expected is noted as set, whether the plan states it or only the checklist asks."""

from __future__ import annotations

from dataclasses import replace

import pytest

from laydown.trials.checklist import Noted, Step
from laydown.trials.recipe import NOTHING_SET, Recipe
from laydown.trials.sheets import BenchRun
from laydown.usecases.bench.run_steps import noted_on
from ticking_clock import Clock


def _run(clock: Clock) -> BenchRun:
    return BenchRun(id="r", trial_id="t", candidate_id="c", printer_id="p", begun_at=clock.now)


def _step(field: str, expected: str) -> Step:
    return Step("step", "Do it", "Because.", expected=expected, noted=Noted(field, field))


@pytest.mark.parametrize("value", ["", "widest"])
def test_the_widest_gap_is_noted_though_the_plan_states_none(clock: Clock, value: str) -> None:
    noted = noted_on(_run(clock), _step("head_gap", "widest"), value, planned=NOTHING_SET)
    assert noted.recipe.head_gap == "widest"


def test_the_cutter_is_noted_as_off(clock: Clock) -> None:
    noted = noted_on(_run(clock), _step("cutter_off", "off"), "", planned=NOTHING_SET)
    assert noted.recipe.cutter_off is True


def test_a_chart_is_managed_nowhere_whatever_the_plan_says_of_pictures(clock: Clock) -> None:
    planned = Recipe(colour_managed_by=("application",))
    before = replace(_run(clock), recipe=planned)
    noted = noted_on(before, _step("colour_managed_by", "nowhere"), "", planned=planned)
    assert noted.recipe.colour_managed_by == ()


def test_what_the_plan_states_is_noted_as_planned(clock: Clock) -> None:
    planned = Recipe(media_setting="Heavy rag 2")
    noted = noted_on(_run(clock), _step("media_setting", "Heavy rag 2"), "", planned=planned)
    assert noted.recipe.media_setting == "Heavy rag 2"
