"""What can never be true of a trial; asked before anything is kept, whoever asks for it and however."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta

from laydown.kernel.constants import Constant
from laydown.science.medium import gloss
from laydown.trials.brief_changes import LABELS, changes_that_do_not_follow
from laydown.trials.facts import TrialFacts
from laydown.trials.form_contradictions import form_contradictions
from laydown.trials.seals import seal_holds
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.studio_time import moment_said
from laydown.trials.trial import Candidate

CLOCK_LEEWAY = Constant(1.0, "h", "chosen here: clocks of tablets and laptops differ", "computed")
LONGEST_WAIT = Constant(8760.0, "h", "a year; chosen here: longer is a slip of the keyboard", "computed")


def contradictions(facts: TrialFacts, *, now: datetime | None) -> tuple[str, ...]:
    """Sentences about what contradicts itself; empty where all is well.

    ``now`` lets what has not happened yet be found; None leaves that out.
    """
    return (
        *_of_brief(facts),
        *_of_candidates(facts),
        *_of_waits(facts),
        *_of_runs(facts),
        *_of_sheets(facts, now),
        *_of_order(facts),
        *_of_readings(facts),
        *_of_gloss(facts),
        *form_contradictions(facts.forms),
    )


def _of_brief(facts: TrialFacts) -> Iterator[str]:
    if facts.brief is not None and not seal_holds(facts.brief):
        yield "a sealed brief cannot be altered; add a dated change instead."
    if facts.brief_changes and (facts.brief is None or facts.brief.sealed_at is None):
        yield "only a sealed brief has dated changes."
    if facts.brief is not None:
        for change in changes_that_do_not_follow(facts.brief, facts.brief_changes):
            yield f"a later change of the brief ({LABELS[change.field]}) rests on this one; undo that first."
    sealed_at = facts.brief.sealed_at if facts.brief is not None else None
    printed = {event.sheet_id: event.at for event in facts.events if event.kind == "printed"}
    for sheet in facts.sheets:
        if sheet.use == "test" and sheet.id in printed and not _was_before(sealed_at, printed[sheet.id]):
            dated = "" if sealed_at is None else _dated(facts, printed[sheet.id], sealed_at)
            yield f"sheet {sheet.code} cannot be printed before the brief is sealed{dated}."


def _was_before(sealed_at: datetime | None, printed_at: datetime) -> bool:
    return sealed_at is not None and sealed_at <= printed_at + timedelta(hours=CLOCK_LEEWAY.value)


def _dated(facts: TrialFacts, printed_at: datetime, sealed_at: datetime) -> str:
    printed, sealed = (moment_said(at, facts.studio) for at in (printed_at, sealed_at))
    return f" ({printed}; sealed {sealed})"


def _of_candidates(facts: TrialFacts) -> Iterator[str]:
    if sum(candidate.house for candidate in facts.candidates) > 1:
        yield "a trial has one house medium, not two."
    names = Counter(candidate.name.casefold() for candidate in facts.candidates)
    for candidate in facts.candidates:
        if names[candidate.name.casefold()] > 1:
            yield f'two candidates are called "{candidate.name}".'
        if candidate.twin_id is None:
            continue
        twin = next((one for one in facts.candidates if one.id == candidate.twin_id), None)
        if twin is None or twin.medium_id != candidate.medium_id:
            yield f"{candidate.name}: its uncoated arm must be the same medium in the same trial."
        elif (candidate.finish, twin.finish) != ("coated", "uncoated"):
            yield f"{candidate.name}: a coated arm goes with an uncoated one."


def _of_waits(facts: TrialFacts) -> Iterator[str]:
    arms = [(one.name, one.cure_hours, one.dry_hours) for one in facts.candidates]
    for name, cure, dry in (("this trial", facts.trial.cure_hours, facts.trial.dry_hours), *arms):
        for hours, what in ((cure, "cure"), (dry, "dry")):
            if hours is not None and not 0 <= hours <= LONGEST_WAIT.value:
                yield f"{name}: {hours:g} hours to {what}; give 0 to {LONGEST_WAIT.value:g}."


def _of_runs(facts: TrialFacts) -> Iterator[str]:
    known = {candidate.id for candidate in facts.candidates}
    for run in facts.runs:
        if run.candidate_id not in known:
            yield "a bench run belongs to a candidate of another trial."
        if run.ended_at is not None and run.ended_at < run.begun_at:
            yield "a bench run cannot end before it begins."


def _of_sheets(facts: TrialFacts, now: datetime | None) -> Iterator[str]:
    candidates = {candidate.id: candidate for candidate in facts.candidates}
    run_of = {run.id: run.candidate_id for run in facts.runs}
    for sheet in facts.sheets:
        candidate = candidates.get(sheet.candidate_id)
        if candidate is None:
            yield f"sheet {sheet.code} belongs to a candidate of another trial."
            continue
        if sheet.run_id is not None and run_of.get(sheet.run_id) != sheet.candidate_id:
            yield f"sheet {sheet.code} cannot come from a bench run of another candidate."
        yield from _of_sheet(facts, sheet, candidate, now)


def _of_sheet(facts: TrialFacts, sheet: Sheet, candidate: Candidate, now: datetime | None) -> Iterator[str]:
    events = facts.events_of(sheet.id)
    printed = [event for event in events if event.kind == "printed"]
    coated = [event for event in events if event.kind == "coated"]
    if len(printed) > 1:
        yield f"sheet {sheet.code} can be printed only once."
    if len(coated) > 1:
        yield f"sheet {sheet.code} is coated once; several coats are one coating."
    if coated and candidate.finish == "uncoated":
        yield f"sheet {sheet.code} belongs to the uncoated arm and cannot be coated."
    spoiled_at = min((event.at for event in events if event.kind == "spoiled"), default=None)
    for event in events:
        if event.kind not in {"printed", "spoiled"} and not printed:
            yield f"sheet {sheet.code} cannot be {_done(event)} before it is printed."
        elif printed and event.at < printed[0].at:
            yield f"sheet {sheet.code} cannot be {_done(event)} before it was printed."
        if spoiled_at is not None and event.at > spoiled_at:
            yield f"sheet {sheet.code} was spoiled; nothing happens to it after that."
        if now is not None and event.at > now + timedelta(hours=CLOCK_LEEWAY.value):
            yield f"sheet {sheet.code} cannot be {_done(event)} in the future."


def _done(event: SheetEvent) -> str:
    return "worked on" if event.kind == "other" else event.kind


def _of_order(facts: TrialFacts) -> Iterator[str]:
    codes = Counter(sheet.code.casefold() for sheet in facts.sheets)
    places = Counter(sheet.place for sheet in facts.sheets if sheet.place)
    for sheet in facts.sheets:
        if codes[sheet.code.casefold()] > 1:
            yield f"two sheets are called {sheet.code}."
        if places[sheet.place] > 1 and sheet.place:
            yield f"sheet {sheet.code} shares its turn in the print order with another."


def _of_readings(facts: TrialFacts) -> Iterator[str]:
    sheets = {sheet.id: sheet for sheet in facts.sheets}
    for reading in facts.readings:
        if reading.sheet_id is None:
            continue
        sheet = sheets.get(reading.sheet_id)
        if sheet is None:
            yield f"{reading.file_name} belongs to a sheet of another trial."
            continue
        printed = facts.events_of(sheet.id, "printed")
        if not printed:
            yield f"sheet {sheet.code} has readings ({reading.file_name}) but was never printed."
        elif (reading.measured_at or reading.received_at) < printed[0].at:
            yield f"{reading.file_name}: sheet {sheet.code} cannot be read before it was printed."


def _of_gloss(facts: TrialFacts) -> Iterator[str]:
    sheets = {sheet.id: sheet for sheet in facts.sheets}
    for one in facts.gloss:
        sheet = sheets.get(one.sheet_id)
        if sheet is None:
            yield f"a gloss reading ({one.place}, {one.angle}°) belongs to a sheet of another trial."
            continue
        printed = facts.events_of(sheet.id, "printed")
        if not printed:
            yield f"sheet {sheet.code} has a gloss reading ({one.place}) but was never printed."
        elif (one.measured_at or one.received_at) < printed[0].at:
            yield f"gloss of sheet {sheet.code} ({one.place}) cannot be read before it was printed."
        if one.angle not in gloss.ANGLES:
            yield f"gloss of sheet {sheet.code} cannot be read at {one.angle}°; the angles are {_angles()}."
        highest = float(gloss.HIGHEST)
        if not one.values or not all(0.0 <= value <= highest for value in one.values):
            yield f"gloss of sheet {sheet.code} ({one.place}) needs values from 0 to {highest:g} GU."


def _angles() -> str:
    return ", ".join(f"{angle}°" for angle in gloss.ANGLES)
