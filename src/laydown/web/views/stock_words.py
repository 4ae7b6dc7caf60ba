"""Rolls, boxes and what a candidate is made from, in words."""

from __future__ import annotations

from laydown.report.lengths import length_words, run_words
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Roll
from laydown.trials.studio import Units
from laydown.trials.trial import Candidate


def roll_words(roll: Roll, *, units: Units) -> str:
    """Such as "roll R1, 432 mm x 6.1 m" or "box 3, 25 sheets"."""
    if roll.form == "sheets":
        held = f"{roll.sheets} sheets" if roll.sheets is not None else ""
        sides = [length_words(side, units=units) for side in (roll.width_mm, roll.length_mm) if side]
        told = [f"box {roll.code}".strip(), " x ".join(sides), held]
    else:
        width = length_words(roll.width_mm, units=units) if roll.width_mm else ""
        long = run_words(roll.length_mm, units=units) if roll.length_mm else ""
        told = [f"roll {roll.code}".strip(), " x ".join(part for part in (width, long) if part)]
    return ", ".join(part for part in told if part)


def stock_words(facts: TrialFacts, candidate: Candidate) -> str:
    """What a candidate is made from: medium, lot, roll."""
    lot = next((one for one in facts.lots if one.id == candidate.lot_id), None)
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    told = [facts.medium_of(candidate).name, f"lot {lot.code}" if lot else "lot not stated"]
    if roll is not None:
        told.append(roll_words(roll, units=facts.studio.units))
    return ", ".join(told)
