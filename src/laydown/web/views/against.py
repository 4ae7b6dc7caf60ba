"""Differences seen from one candidate: every other candidate minus it."""

from __future__ import annotations

from laydown.usecases.comparison import ComparedDifference, Comparison


def differences_against(comparison: Comparison, against: str) -> dict[tuple[str, str], ComparedDifference]:
    """Each difference to ``against``, by finding id and the other candidate's name."""
    found = {}
    for item in comparison.differences:
        if item.against == against:
            found[item.finding, item.candidate] = item
        elif item.candidate == against:
            found[item.finding, item.against] = item.turned()
    return found


def against_of(comparison: Comparison, asked: str) -> str:
    """The candidate to compare against: the one asked for, else the house medium, else the first."""
    names = [candidate.name for candidate in comparison.candidates]
    for name in (asked, comparison.house):
        if name in names:
            return name
    return names[0] if names else ""
