"""What may be compared with what: unlike conditions, finishes and ages refuse a difference and say why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.kernel.problems import Problem
from laydown.science.findings.reduction import Reduced

SETTLED_HOURS = Constant(24.0, "h", "usual curing time of ink before measuring", "common practice, no source")
AGE_TOLERANCE = Constant(0.25, "of the greater age", "our own choice", "common practice, no source")


@dataclass(frozen=True, slots=True)
class Likeness:
    """Whether two readings may be subtracted: ``refusal`` is empty where they may."""

    refusal: str
    cautions: tuple[str, ...]


Across = Literal["finish", "age"]
NOT_ACROSS: frozenset[Across] = frozenset()


def likeness(first: Reduced, second: Reduced, *, across: frozenset[Across] = NOT_ACROSS) -> Likeness:
    """Compare how two readings were taken.

    Stated facts that differ refuse the difference. A measuring condition, illuminant or observer stated on
    one side only refuses it too, because brighteners alone can move b* by several units between conditions.
    A backing, finish or age that is missing on one side or both is a caution.

    Parameters
    ----------
    first, second
        Readings of two media.
    across
        What the question is about and may therefore differ: coated against uncoated, or age against age.

    Returns
    -------
    Likeness
        The refusal in words, or none, and cautions.

    Notes
    -----
    Refusals follow ISO 13655, which asks that condition and backing be reported with every value; the limits
    on age are common practice, no source. Checked against: every pair of cases in the tests.
    """
    a, b = first.conditions, second.conditions
    refusals = [
        _must_agree("measuring condition", a.measurement.value, b.measurement.value, one_sided=True),
        _must_agree("illuminant and observer", first.colorimetry, second.colorimetry, one_sided=True),
        _must_agree("backing", a.backing.value, b.backing.value, one_sided=False),
        _must_agree("geometry", _geometry(first), _geometry(second), one_sided=False),
        "" if "finish" in across else _must_agree("finish", a.finish.value, b.finish.value, one_sided=False),
        "" if across else _ages(a.age_hours.value, b.age_hours.value),
    ]
    if any(refusals):
        return Likeness("; ".join(r for r in refusals if r), ())
    cautions = [
        _not_stated("illuminant and observer", _stated(first), _stated(second)),
        _not_stated("measuring condition", a.measurement.value, b.measurement.value),
        _not_stated("backing", a.backing.value, b.backing.value),
        _not_stated("finish (coated or uncoated)", a.finish.value, b.finish.value),
        _not_stated("age of the print", a.age_hours.value, b.age_hours.value),
        "" if "age" in across else _fresh(a.age_hours.value, b.age_hours.value),
    ]
    return Likeness("", tuple(c for c in cautions if c))


def _stated(item: Reduced) -> str | None:
    return None if "not stated" in item.colorimetry else item.colorimetry


def _geometry(item: Reduced) -> str | None:
    """The geometry; light and eye may change places (ISO 13655 allows 45:0 and 0:45 alike)."""
    told = item.conditions.geometry.value
    return "45:0" if told == "0:45" else told


def _must_agree(name: str, a: str | None, b: str | None, *, one_sided: bool) -> str:
    if a == b or (not one_sided and (a is None or b is None)):
        return ""
    return f"unlike {name}: {a or 'not stated'} against {b or 'not stated'}"


def _ages(a: float | None, b: float | None) -> str:
    if a is None or b is None or min(a, b) >= float(SETTLED_HOURS):
        return ""
    if abs(a - b) <= float(AGE_TOLERANCE) * max(a, b):
        return ""
    return f"unlike age: read {a:g} h and {b:g} h after printing, one of them before the ink had cured"


def _fresh(a: float | None, b: float | None) -> str:
    known = [age for age in (a, b) if age is not None]
    if known and min(known) < float(SETTLED_HOURS):
        usual = float(SETTLED_HOURS)
        return f"some sheets were read {min(known):g} h after printing, before the usual {usual:g} h"
    return ""


def _not_stated(name: str, a: object, b: object) -> str:
    if a is not None and b is not None:
        return ""
    return f"{name} not stated for some sheets; the comparison takes it to be the same for all"


def leave_out_unlike(readings: Sequence[Reduced]) -> tuple[tuple[Reduced, ...], tuple[Problem, ...]]:
    """Keep the readings of one medium that were taken alike, so that no mean is over unlike things.

    Within one measuring condition and backing, the reading with which most others agree stands for the
    medium; one that may not be subtracted from it (another illuminant, finish, age, or source of its
    densities) is left out, with the reason.

    Parameters
    ----------
    readings
        All readings of one medium.

    Returns
    -------
    tuple
        The readings kept, in order, and a problem for each left out.

    Notes
    -----
    Checked against: one odd reading planted among alike ones, in the tests.
    """
    groups: dict[tuple[str, str], list[Reduced]] = defaultdict(list)
    for item in readings:
        groups[item.measurement, item.conditions.backing.value or ""].append(item)
    odd: dict[int, str] = {}
    for group in groups.values():
        agreed = [[_against(item, other) for other in group] for item in group]
        best = max(range(len(group)), key=lambda place: sum(not reason for reason in agreed[place]))
        odd |= {id(item): reason for item, reason in zip(group, agreed[best], strict=True) if reason}
    problems = [
        Problem(
            "error",
            f"left out: it was not taken like the other readings of this medium ({odd[id(item)]}).",
            todo="Compare it as a medium of its own, or correct what it states.",
            file=item.file,
        )
        for item in readings
        if id(item) in odd
    ]
    return tuple(item for item in readings if id(item) not in odd), tuple(problems)


def _against(first: Reduced, second: Reduced) -> str:
    told = likeness(first, second).refusal
    if not told and first.visual_from != second.visual_from:
        return f"densities from {first.visual_from} against {second.visual_from}"
    return told
