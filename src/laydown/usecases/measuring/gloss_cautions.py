"""What must be said beside gloss: what was left out, unlike meters and angles, and where to read better."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np

from laydown.science.medium.gloss import fitting_angle
from laydown.trials.facts import TrialFacts
from laydown.usecases.measuring.comparison_cautions import LEFT_OUT, MOST_NAMED
from laydown.usecases.measuring.gloss_of_sheets import DIFFERENTIAL, METER_NOT_STATED, GlossOfSheet
from laydown.usecases.measuring.standings import GlossStanding

USUAL_ANGLE = 60


def gloss_cautions(
    facts: TrialFacts, standings: Sequence[GlossStanding], sheets: Sequence[GlossOfSheet]
) -> tuple[str, ...]:
    """Sentences to stand beside gloss, in the order a reader needs them."""
    return (
        *_left_out(standings),
        *_early(standings),
        *_received(standings),
        *_unlike(sheets),
        *_meters(sheets),
        *_one_sheet(facts, sheets),
        *_better_angle(facts, sheets),
    )


def _left_out(standings: Sequence[GlossStanding]) -> Iterator[str]:
    for state, kind in LEFT_OUT.items():
        left = [one for one in standings if one.state == state]
        if left:
            named = _named(left)
            more = f"; and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
            count = "1 gloss reading" if len(left) == 1 else f"{len(left)} gloss readings"
            yield f"Left out: {count} {kind}: {'; '.join(named[:MOST_NAMED])}{more}."


def _named(left: Sequence[GlossStanding]) -> list[str]:
    """Such as "K2, K3: black (dust)": each reason once, with the sheets and places it holds for."""
    sheets: dict[tuple[str, str], list[str]] = defaultdict(list)
    for one in left:
        sheets[one.reading.place, one.words.rstrip(".")].append(one.sheet.code)
    places: dict[tuple[str, str], list[str]] = defaultdict(list)
    for (place, words), codes in sheets.items():
        places[", ".join(dict.fromkeys(codes)), words].append(place)
    return [
        f"{codes}: {' and '.join(held)}" + (f" ({words})" if words else "")
        for (codes, words), held in places.items()
    ]


def _early(standings: Sequence[GlossStanding]) -> Iterator[str]:
    for one in standings:
        if one.state == "used early":
            yield f"Gloss of sheet {one.sheet.code}, {one.reading.place}: {one.words}."


def _received(standings: Sequence[GlossStanding]) -> Iterator[str]:
    codes = list(
        dict.fromkeys(
            one.sheet.code for one in standings if one.used and one.age and not one.age.measured_at_stated
        )
    )
    if codes:
        shown = ", ".join(codes[:MOST_NAMED]) + (" and others" if len(codes) > MOST_NAMED else "")
        yield f"When gloss was read is not stated for {shown}; the time it was typed in stands in."


def _unlike(sheets: Sequence[GlossOfSheet]) -> Iterator[str]:
    angles = sorted({one.under.angle for one in sheets})
    if len(angles) > 1:
        told = " and ".join(f"{angle}°" for angle in angles)
        yield f"Read at {told}: gloss at unlike angles is never compared, and each stands by itself."
    if len({one.under.direction for one in sheets}) > 1:
        yield "The meter lay unlike ways to the feed: only what was read the same way is compared."


def _meters(sheets: Sequence[GlossOfSheet]) -> Iterator[str]:
    meters = sorted({meter for one in sheets for meter in one.meters})
    if len(meters) > 1:
        yield f"Read with more than one meter ({', '.join(meters)}); meters differ among themselves."
    elif meters == [METER_NOT_STATED]:
        yield "Which meter was used is not stated; the comparison takes it to be the same for all."


def _one_sheet(facts: TrialFacts, sheets: Sequence[GlossOfSheet]) -> Iterator[str]:
    held: dict[tuple[str, str], set[str]] = defaultdict(set)
    for one in sheets:
        held[one.candidate_id, f"{one.under.label}, {one.under.words}"].add(one.sheet.id)
    few = {name for (name, _), ids in held.items() if len(ids) == 1}
    if few:
        names = [one.name for one in facts.candidates if one.id in few]
        yield f"One sheet only somewhere, so nothing is called there: {', '.join(names)}."


def _better_angle(facts: TrialFacts, sheets: Sequence[GlossOfSheet]) -> Iterator[str]:
    """Where 60 degrees is not what tells prints of this gloss apart best."""
    at_usual = [one for one in sheets if one.under.angle == USUAL_ANGLE and one.under.place != DIFFERENTIAL]
    better: dict[int, list[str]] = defaultdict(list)
    for candidate in facts.candidates:
        values = [one.value for one in at_usual if one.candidate_id == candidate.id]
        if values and (angle := fitting_angle(float(np.mean(values)))) != USUAL_ANGLE:
            better[angle].append(candidate.name)
    for angle, names in better.items():
        kind = "matte prints" if angle > USUAL_ANGLE else "very glossy prints"
        yield (
            f"{', '.join(names)}: {angle}° would tell {kind} apart better than {USUAL_ANGLE}° "
            "(common rule of ISO 2813, from memory)."
        )
