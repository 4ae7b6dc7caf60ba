"""What Laydown itself knows about a bad print: from its records and from the readings of its sheet."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.science.faults import Evidence
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.usecases.retracing.measured_of_sheet import measured_of_sheet
from laydown.usecases.retracing.recorded_of_sheet import recipe_set, recorded_of_sheet
from laydown.usecases.retracing.sheet_numbers import SheetNumbers

NO_SHEET = "It is not said which sheet it is, so that Laydown knows nothing about it by itself."


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """Evidence; in ``unknown`` what could not be told, in sentences; and the numbers that were read."""

    evidence: tuple[Evidence, ...]
    unknown: tuple[str, ...]
    numbers: SheetNumbers | None = None


def gather_evidence(look: Look, retrace: Retrace) -> tuple[Evidence, ...]:
    """Everything Laydown knows about the print of a retrace; nothing where no sheet is named."""
    return gathered(look, retrace).evidence


def gathered(look: Look, retrace: Retrace) -> Gathered:
    """Everything Laydown knows about the print of a retrace, and what it does not know."""
    if retrace.trial_id is None or retrace.sheet_id is None:
        return Gathered((), (NO_SHEET,))
    facts = load_facts(look, retrace.trial_id)
    sheet = facts.sheet(retrace.sheet_id)
    measured = measured_of_sheet(look, facts, sheet, recipe=recipe_set(facts, sheet))
    hours = measured.numbers.hours if measured.numbers is not None else _first_read(facts, sheet)
    recorded = recorded_of_sheet(look, facts, sheet, hours_to_reading=hours)
    return Gathered(
        (*recorded.evidence, *measured.evidence),
        (*measured.unknown, *recorded.unknown),
        measured.numbers,
    )


def _first_read(facts: TrialFacts, sheet: Sheet) -> float | None:
    """The age at which a sheet was last read, where all its readings are early: that is what was judged."""
    ages = [reading_age(facts, reading) for reading in facts.readings_of(sheet.id)]
    hours = [age.hours for age in ages if age is not None and age.hours is not None]
    return max(hours, default=None)
