"""The board: what cures, dries, waits for a coat or may be measured, sorted by what changes next."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from laydown.records.board_query import SheetAlone, by_sheet, sheet_alone, waiting_sheets
from laydown.records.look import Look
from laydown.trials.clocks import SheetClocks, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.route import is_usable, may_be_compared
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate, Trial

Wait = Literal["measure", "answer", "coat", "clock", "nothing"]


@dataclass(frozen=True, slots=True)
class BoardLine:
    """A printed sheet and where it stands.

    ``waits_for`` is what comes next: to be measured or coated by somebody now, an answer about a reading of
    it, a clock, or nothing any more.
    ``since`` is from when on somebody could have done it, ``next_at`` when its next clock changes anything.
    """

    sheet: Sheet
    candidate: Candidate
    trial: Trial
    time_zone: str
    clocks: SheetClocks
    measured: bool
    waits_for: Wait
    since: datetime | None
    next_at: datetime | None


def board(look: Look, *, now: datetime, trial_id: str | None = None) -> tuple[BoardLine, ...]:
    """Every sheet of running trials that waits for somebody or for a clock, in the order of what is due."""
    found = (board_line(one, now=now) for one in waiting_sheets(look, now=now, trial_id=trial_id))
    return in_order(line for line in found if line is not None and line.waits_for != "nothing")


def trial_lines(facts: TrialFacts, *, now: datetime) -> tuple[BoardLine, ...]:
    """Every printed sheet of one trial that was not spoiled, in the order of what is due."""
    lines = (board_line(one, now=now) for one in _alone(facts))
    return in_order(line for line in lines if line is not None)


def board_line(one: SheetAlone, *, now: datetime) -> BoardLine | None:
    """Where a sheet stands; None where it was never printed or was spoiled."""
    clocks = sheet_clocks(one.facts, one.sheet, now=now)
    if clocks.printed_at is None or clocks.stage == "spoiled":
        return None
    candidate = one.facts.candidate(one.sheet.candidate_id)
    measured = any(is_usable(one.facts, reading_id=reading.id) for reading in one.facts.readings)
    # Read as it should be, but asked about: reading it once more would not answer the question.
    asked = not measured and any(may_be_compared(one.facts, reading) for reading in one.facts.readings)
    coming = [x.since for x in clocks.allowances if x.since is not None and x.since > now]
    next_at = min(coming, default=None)
    waits_for, since = _waits_for(one.sheet, candidate, clocks, now, measured=measured, asked=asked)
    if waits_for == "nothing" and next_at is not None:
        waits_for = "clock"
    return BoardLine(
        sheet=one.sheet,
        candidate=candidate,
        trial=one.facts.trial,
        time_zone=one.facts.studio.time_zone,
        clocks=clocks,
        measured=measured,
        waits_for=waits_for,
        since=since,
        next_at=next_at,
    )


def in_order(lines: Iterable[BoardLine]) -> tuple[BoardLine, ...]:
    """What somebody can do now first, the longest waiting ahead; then by the next change of a clock."""

    def key(line: BoardLine) -> tuple[int, float, str]:
        if line.since is not None:
            return 0, line.since.timestamp(), line.sheet.code
        if line.next_at is not None:
            return 1, line.next_at.timestamp(), line.sheet.code
        return 2, 0.0, line.sheet.code

    return tuple(sorted(lines, key=key))


def _waits_for(
    sheet: Sheet, candidate: Candidate, clocks: SheetClocks, now: datetime, *, measured: bool, asked: bool
) -> tuple[Wait, datetime | None]:
    if sheet.use != "test":
        return "nothing", None
    if candidate.finish == "coated" and clocks.coated_at is None:
        cured = clocks.cured_at is not None and now >= clocks.cured_at
        return ("coat", clocks.cured_at) if cured else ("clock", None)
    if clocks.ready_at is not None and now < clocks.ready_at:
        return "clock", None
    if measured:
        return "nothing", None
    return "answer" if asked else "measure", clocks.ready_at


def _alone(facts: TrialFacts) -> Iterator[SheetAlone]:
    candidates = {one.id: one for one in facts.candidates}
    media = {one.id: one for one in facts.media}
    runs = {one.id: one for one in facts.runs}
    events, readings = by_sheet(facts.events), by_sheet(facts.readings)
    for sheet in facts.sheets:
        candidate = candidates[sheet.candidate_id]
        yield sheet_alone(
            sheet,
            studio=facts.studio,
            trial=facts.trial,
            candidate=candidate,
            medium=media[candidate.medium_id],
            run=runs.get(sheet.run_id or ""),
            events=events.get(sheet.id, ()),
            readings=readings.get(sheet.id, ()),
            room=facts.room_notes,
        )


def running_facts(look: Look, *, now: datetime) -> tuple[TrialFacts, ...]:
    """Of every running trial, as much as the clocks of its waiting sheets ask for."""
    by_trial: dict[str, list[TrialFacts]] = defaultdict(list)
    for one in waiting_sheets(look, now=now):
        by_trial[one.facts.trial.id].append(one.facts)
    return tuple(_joined(parts) for parts in by_trial.values())


def _joined(parts: Sequence[TrialFacts]) -> TrialFacts:
    def every(name: str) -> Any:
        return tuple({one.id: one for part in parts for one in getattr(part, name)}.values())

    kinds = ("candidates", "sheets", "events", "runs", "media")
    noted = tuple(sorted({note for part in parts for note in part.room_noted}))
    return replace(parts[0], room_noted=noted, **{name: every(name) for name in kinds})
