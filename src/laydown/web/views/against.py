"""Differences seen from one candidate: every other candidate minus it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from laydown.science.deciding.types import Call
from laydown.usecases.comparison import ComparedDifference, Comparison

_TURNED: Mapping[Call, Call] = MappingProxyType(
    {
        "better": "worse",
        "worse": "better",
        "higher": "lower",
        "lower": "higher",
        "same": "same",
        "cannot_tell": "cannot_tell",
    }
)


def turned(difference: ComparedDifference) -> ComparedDifference:
    """The same difference seen from the other side."""
    return replace(
        difference,
        candidate=difference.against,
        against=difference.candidate,
        difference=-difference.difference,
        low=-difference.high,
        high=-difference.low,
        call=_TURNED[difference.call],
    )


def differences_against(comparison: Comparison, against: str) -> dict[tuple[str, str], ComparedDifference]:
    """Each difference to ``against``, by finding id and the other candidate's name."""
    found = {}
    for item in comparison.differences:
        if item.against == against:
            found[item.finding, item.candidate] = item
        elif item.candidate == against:
            found[item.finding, item.against] = turned(item)
    return found


def against_of(comparison: Comparison, asked: str) -> str:
    """The candidate to compare against: the one asked for, else the house medium, else the first."""
    names = [candidate.name for candidate in comparison.candidates]
    for name in (asked, comparison.house):
        if name in names:
            return name
    return names[0] if names else ""
