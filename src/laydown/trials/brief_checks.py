"""What cannot stand in a brief, what is missing from it, and what must be there before it is sealed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from laydown.science.findings.catalogue import METRICS
from laydown.trials.brief_changes import LABELS
from laydown.trials.trial import Brief

WANTED: dict[str, str] = {
    "question": "Without one sentence to answer, any result looks like an answer.",
    "products": "A wrapped canvas and a framed sheet ask for different things.",
    "sizes": "Texture and weight suit some sizes and not others.",
    "display_light": "Whites and blacks change with the light they hang in.",
    "viewing_distance": "What cannot be seen from there need not decide.",
    "glazing": "Glass hides differences of black and of texture.",
    "coating": "A coat changes black and white: judge what is delivered.",
    "gates": "Without must-haves a favourite may fail at something that rules it out.",
    "criteria": "Criteria that are added later can be added until the favourite wins.",
    "judges": "Chosen afterwards, judges may be chosen for their opinion.",
    "lights": "One lamp shows one side; name two at least.",
    "stop_date": "A trial without an end is decided by tiredness.",
}


@dataclass(frozen=True, slots=True)
class BriefGap:
    """Something a brief does not state, and why it matters."""

    field: str
    label: str
    why: str


def brief_slips(brief: Brief) -> tuple[str, ...]:
    """What cannot stand in a brief: the same name twice, a weight below 0, a finding that does not exist."""
    return tuple(_slips(brief))


def brief_gaps(brief: Brief) -> tuple[BriefGap, ...]:
    """What is not stated yet and would be missed later; nothing here forbids sealing."""
    return tuple(
        BriefGap(field, LABELS[field], why)
        for field, why in WANTED.items()
        if getattr(brief, field) in (None, "", ())
    )


def missing_for_seal(brief: Brief) -> tuple[str, ...]:
    """What must be stated before a seal means anything."""
    wanted = (
        (brief.question, "The question is missing."),
        (brief.products, "What is sold is missing."),
        (brief.gates or brief.criteria, "There is neither a must-have nor a criterion."),
    )
    return tuple(words for there, words in wanted if not there)


def shares(brief: Brief) -> dict[str, float]:
    """What each criterion counts, as a share of all weights, by name; empty where all weights are 0."""
    total = sum(one.weight for one in brief.criteria)
    return {one.name: one.weight / total for one in brief.criteria} if total > 0 else {}


def _slips(brief: Brief) -> Iterator[str]:
    yield from _twice("must-have", (one.name for one in brief.gates))
    yield from _twice("criterion", (one.name for one in brief.criteria))
    yield from _twice("difference", (_label(one.finding) for one in brief.differences))
    for gate in brief.gates:
        if not gate.name.strip():
            yield "a must-have has no name."
    for criterion in brief.criteria:
        if not criterion.name.strip():
            yield "a criterion has no name."
        if not (math.isfinite(criterion.weight) and criterion.weight >= 0):
            yield f'criterion "{criterion.name}": a weight is a number from 0.'
        if criterion.finding and not _judged(criterion.finding):
            yield f'criterion "{criterion.name}": there is no finding "{criterion.finding}" to measure it by.'
    if brief.criteria and all(one.weight == 0 for one in brief.criteria):
        yield "all criteria weigh nothing."
    for wanted in brief.differences:
        if not _judged(wanted.finding):
            yield f'there is no finding "{wanted.finding}" to set a difference for.'
        if not (math.isfinite(wanted.amount) and wanted.amount > 0):
            yield f"{_label(wanted.finding)}: a difference that matters is above 0."


def _twice(what: str, names: Iterable[str]) -> Iterator[str]:
    seen: set[str] = set()
    for name in names:
        folded = name.strip().casefold()
        if folded in seen:
            yield f'{what} "{name}" stands there twice.'
        seen.add(folded)


def _judged(finding: str) -> bool:
    return finding in METRICS and METRICS[finding].judged


def _label(finding: str) -> str:
    return METRICS[finding].label if finding in METRICS else finding
