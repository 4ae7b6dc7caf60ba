"""The measuring conditions as a list of facts, each with where it was found."""

from __future__ import annotations

from laydown.kernel.stated import Stated
from laydown.science.readings.types import Conditions
from laydown.usecases.comparison import StatedFact


def stated_facts(conditions: Conditions, *, colorimetry: str) -> tuple[StatedFact, ...]:
    """Every condition in a fixed order; what nobody stated is listed as not stated."""
    age = conditions.age_hours
    in_words = Stated(None if age.value is None else f"{age.value:g} h after printing", age.where)
    rows: tuple[tuple[str, Stated[str]], ...] = (
        ("Measuring condition", conditions.measurement),
        ("Backing", conditions.backing),
        ("Illuminant", conditions.illuminant),
        ("Observer", conditions.observer),
        ("Geometry", conditions.geometry),
        ("Density status", conditions.density_status),
        ("Finish", conditions.finish),
        ("Age", in_words),
        ("Instrument", conditions.instrument),
        ("Date", conditions.date),
    )
    facts = [StatedFact(name, str(told), told.where) for name, told in rows]
    facts.append(StatedFact("Lab computed for", colorimetry, "see methods, colour"))
    return tuple(facts)
