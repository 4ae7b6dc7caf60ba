"""Evidence from the readings of a bad print, against its good siblings where there are any."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.errors import NotEnoughData
from laydown.records.look import Look
from laydown.science.colour import delta_e_2000
from laydown.science.faults import Evidence, SheetShift, Surface, measured_evidence, sheet_shift
from laydown.science.faults.measured import HOOK
from laydown.science.numeric.known_mean import known_mean
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.trials.stock import Medium
from laydown.usecases.retracing.sheet_numbers import (
    SheetNumbers,
    numbers_of_sheet,
    white_difference_labs,
)

_MATTE, _GLOSSY = ("matte", "textured matte"), ("satin", "gloss", "baryta")


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Evidence from readings; ``unknown`` says what they cannot tell, ``numbers`` what was read."""

    evidence: tuple[Evidence, ...]
    unknown: tuple[str, ...]
    numbers: SheetNumbers | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Siblings:
    """Other sheets of the same arm read in the same way; ``good`` are those nothing is known against."""

    every: tuple[SheetNumbers, ...]
    good: tuple[SheetNumbers, ...]
    why: str


def surface_of(medium: Medium, *, coated: bool) -> Surface | None:
    """The kind of surface, as the science of faults knows it; None where the medium's is not stated."""
    if medium.kind == "canvas":
        return "coated canvas" if coated else "canvas"
    return "matte" if medium.surface in _MATTE else "gloss" if medium.surface in _GLOSSY else None


def measured_of_sheet(look: Look, facts: TrialFacts, sheet: Sheet, *, recipe: Recipe) -> Measured:
    """What the readings of a sheet speak for and against."""
    numbers = numbers_of_sheet(look, facts, sheet)
    if numbers is None:
        return Measured((), ("How it measures: the sheet has no settled reading of a chart.",))
    candidate = facts.candidate(sheet.candidate_id)
    siblings = _siblings(look, facts, sheet, numbers)
    surface = surface_of(facts.medium_of(candidate), coated=numbers.finish == "coated")
    against = tuple(one.dmax for one in siblings.good if one.dmax is not None)
    if not against:
        against = _house_blacks(look, facts, sheet, numbers, surface)
    shift = _shift(numbers, siblings.good)
    white = white_difference_labs(siblings.every)
    difference = (
        float(delta_e_2000(numbers.white, white)) if numbers.white is not None and white is not None else None
    )
    managed = bool(recipe.colour_managed_by)
    found = measured_evidence(
        hook_l=numbers.hook_l,
        lost_shadow_steps=numbers.lost_shadow_steps,
        shadow_steps=numbers.shadow_steps,
        dmax=numbers.dmax,
        sibling_dmax=against,
        surface=surface,
        grey_lean=numbers.lean if managed else None,
        shift=shift,
        white_difference=difference,
    )
    unknown = [
        (numbers.hook_l is None, "Whether more ink still gave more black: the chart does not show it."),
        (numbers.shadow_steps is None, "Whether dark steps are lost: the chart has no whole grey ramp."),
        (numbers.dmax is None, "How deep black is: the readings have no absolute density."),
        (
            not managed,
            "What its greys say: no profile is on record, and then greys need not be neutral.",
        ),
        (shift is None, f"How it differs from a good sheet of this medium: {siblings.why}."),
        (difference is None, "Whether its white is that of other sheets: none was read in the same way."),
    ]
    return Measured(found, tuple(words for lacking, words in unknown if lacking), numbers)


def _siblings(look: Look, facts: TrialFacts, sheet: Sheet, numbers: SheetNumbers) -> _Siblings:
    others = [one for one in facts.sheets_of(sheet.candidate_id) if one.id != sheet.id]
    accused = {one.sheet_id for one in look.find(Retrace, trial_id=facts.trial.id)}
    every, good, hooked = [], [], 0
    for other in others:
        read = numbers_of_sheet(look, facts, other, condition=numbers.condition)
        if read is None or read.finish != numbers.finish:
            continue
        every.append(read)
        turned = read.hook_l is not None and read.hook_l >= HOOK.value
        hooked += turned
        if not turned and other.id not in accused and not facts.events_of(other.id, "spoiled"):
            good.append(read)
    if not every:
        why = "no other sheet of it was read in the same way"
    elif hooked == len(every):
        why = "its other sheets too are lighter at full ink than before, so that they are no measure"
    else:
        why = "its other sheets are spoiled, retraced or lighter at full ink, or of another chart"
    return _Siblings(tuple(every), tuple(good), why)


def _house_blacks(
    look: Look, facts: TrialFacts, sheet: Sheet, numbers: SheetNumbers, surface: Surface | None
) -> tuple[float, ...]:
    """Dmax of the house medium's sheets, where it is of the same kind of surface."""
    found = []
    for house in facts.candidates:
        coated = house.finish == "coated"
        same = surface is not None and surface_of(facts.medium_of(house), coated=coated) == surface
        if not house.house or not same or house.id == sheet.candidate_id:
            continue
        for other in facts.sheets_of(house.id):
            read = numbers_of_sheet(look, facts, other, condition=numbers.condition)
            if read is not None and read.dmax is not None and not facts.events_of(other.id, "spoiled"):
                found.append(read.dmax)
    return tuple(found)


def _shift(numbers: SheetNumbers, good: tuple[SheetNumbers, ...]) -> SheetShift | None:
    alike = [one for one in good if np.array_equal(one.device, numbers.device)]
    if not alike:
        return None
    reference = known_mean(np.stack([one.lab for one in alike]))
    try:
        return sheet_shift(
            numbers.device, numbers.lab, reference_device=alike[0].device, reference_lab=reference
        )
    except NotEnoughData:
        return None
