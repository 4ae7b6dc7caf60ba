"""What must be said beside a comparison of a trial's sheets: what was left out, and what was not alike."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from laydown.science.findings.likeness import SETTLED_HOURS
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import UnfairDifference, unfair_differences
from laydown.trials.studio_time import day_said
from laydown.usecases.measuring.sorting import By, Sorted
from laydown.usecases.measuring.standings import Standing, State

MOST_NAMED = 8
LEFT_OUT: Mapping[State, str] = {
    "early": "read too early",
    "other finish": "read in another finish",
    "set aside": "set aside",
    "in question": "with an open question",
    "spoiled": "of spoiled sheets",
    "no sheet": "without a sheet",
    "not in the trial": "of sheets that are not compared",
}
# What a way of comparing asks about is the question and no unfairness.
ASKED: Mapping[By, frozenset[str]] = {
    "medium": frozenset(),
    "lot": frozenset({"lot"}),
    "finish": frozenset({"finish", "coat"}),
    "coat": frozenset({"finish", "coat", "age"}),
    "age": frozenset({"age"}),
}


def cautions_of(
    facts: TrialFacts, standings: Sequence[Standing], found: Sorted, *, by: By
) -> tuple[str, ...]:
    """Sentences to stand beside every number of a comparison, in the order a reader needs them."""
    used = found.readings
    return (
        *_of_brief(facts),
        *_left_out(standings, used),
        *_early(facts, used),
        *_received(used),
        *_young(used, by),
        *_unfair(facts, found, by),
        *_few_sheets(found),
        *_of_way(found, by),
    )


def _of_brief(facts: TrialFacts) -> Iterator[str]:
    if facts.brief is None or facts.brief.sealed_at is None:
        yield "The brief is not sealed, so what would matter was not fixed before the prints were seen."
        return
    if facts.brief_changes:
        last = facts.brief_changes[-1]
        count = len(facts.brief_changes)
        times = "once" if count == 1 else f"{count} times"
        yield (
            f"The brief was changed {times} after it was sealed, "
            f"last on {day_said(last.at, facts.studio)} by {last.by} "
            f"({last.field}: {last.why})."
        )
    test = {sheet.id for sheet in facts.sheets if sheet.use == "test"}
    first = min((e.at for e in facts.events if e.kind == "printed" and e.sheet_id in test), default=None)
    if first is not None and first < facts.brief.sealed_at:
        yield "Printing had begun before the brief was sealed."


def _left_out(standings: Sequence[Standing], used: Sequence[Standing]) -> Iterator[str]:
    taken = {one.reading.id for one in used}
    left: dict[State, list[Standing]] = defaultdict(list)
    for one in standings:
        if one.reading.id not in taken:
            left[one.state].append(one)
    for state, kind in LEFT_OUT.items():
        if left[state]:
            named = [_named(one) for one in left[state]]
            shown = "; ".join(named[:MOST_NAMED])
            more = f"; and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
            count = "1 reading" if len(named) == 1 else f"{len(named)} readings"
            yield f"Left out: {count} {kind}: {shown}{more}."
    others = sum(len(left[state]) for state in ("used", "used early"))
    if others:
        count = "1 reading is" if others == 1 else f"{others} readings are"
        yield f"{count} of media this comparison does not ask about."


def _named(one: Standing) -> str:
    where = one.sheet.code if one.sheet else one.reading.file_name
    return f"{where} ({one.words.rstrip('.')})" if one.words else where


def _early(facts: TrialFacts, used: Sequence[Standing]) -> Iterator[str]:
    for one in used:
        reading = one.reading
        if one.state == "used early" and one.sheet and one.age and reading.early_used_at:
            why = f": {reading.early_used_why}" if reading.early_used_why else ""
            yield (
                f"Sheet {one.sheet.code} was {one.age.why}; it is used all the same on the word of "
                f"{reading.early_used_by}, {day_said(reading.early_used_at, facts.studio)}{why}."
            )


def _received(used: Sequence[Standing]) -> Iterator[str]:
    codes = list(
        dict.fromkeys(
            one.sheet.code for one in used if one.sheet and one.age and not one.age.measured_at_stated
        )
    )
    if codes:
        shown = ", ".join(codes[:MOST_NAMED]) + (" and others" if len(codes) > MOST_NAMED else "")
        yield f"When it was measured is not stated for {shown}; the time of receipt stands in."


def _young(used: Sequence[Standing], by: By) -> Iterator[str]:
    """Prints younger than is usual, which this trial's own hours take as settled."""
    ages = [
        one.age.hours
        for one in used
        if one.state == "used" and one.age and one.age.hours is not None and one.age.finish == "uncoated"
    ]
    if by != "age" and ages and min(ages) < float(SETTLED_HOURS):
        yield (
            f"Some sheets were read {min(ages):.0f} h after printing, before the usual "
            f"{float(SETTLED_HOURS):g} h; this trial's own hours take them as settled by then."
        )


def _unfair(facts: TrialFacts, found: Sorted, by: By) -> Iterator[str]:
    compared = {one.candidate.name for one in found.readings if one.candidate}
    for unfair in unfair_differences(facts):
        about = compared & set(unfair.candidates)
        if unfair.severity != "note" and unfair.id not in ASKED[by] and about:
            yield _unfair_words(unfair)


def _unfair_words(unfair: UnfairDifference) -> str:
    values = "; ".join(f"{value}: {', '.join(names)}" for value, names in unfair.values)
    grave = "Not alike, which breaks the comparison" if unfair.severity.startswith("breaks") else "Not alike"
    return f"{grave}: {unfair.what} ({values}). {unfair.why}"


def _few_sheets(found: Sorted) -> Iterator[str]:
    few = [
        name
        for name, readings in found.media.items()
        if len({one.sheet.id for one in readings if one.sheet}) == 1
    ]
    if few:
        yield f"One sheet only, so nothing is called: {', '.join(few)}."


def _of_way(found: Sorted, by: By) -> Iterator[str]:
    if by in ("finish", "coat"):
        yield ("Coated and uncoated prints are set side by side because the question is about the coat.")
    if by == "age":
        yield "Prints of unlike age are set side by side because the question is about age."
        shared: dict[str, set[str]] = defaultdict(set)
        for name, readings in found.media.items():
            for one in readings:
                if one.sheet:
                    shared[one.sheet.id].add(name)
        if any(len(names) > 1 for names in shared.values()):
            yield (
                "The same sheets were read at several ages and are judged as if they were different ones, "
                "which makes intervals wider than they need be."
            )
