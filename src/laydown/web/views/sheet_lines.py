"""A printed sheet in a line: where it stands, what may be done with it now, and what when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from laydown.report.moments import moment_short, span_words
from laydown.trials.clocks import Allowance, SheetClocks
from laydown.usecases.bench.board import BoardLine, Wait

May = Literal["now", "later", "not yet"]
DEEDS = {"touch": "Touch", "measure": "Measure", "coat": "Coat", "glaze": "Glaze"}
# Shapes, because colour says nothing here and to nobody in gloves at arm's length.
MARKS: dict[May, str] = {"now": "●", "later": "○", "not yet": "–"}
# What somebody can do now, and where on the pages of its trial.
TO_DO: Mapping[Wait, tuple[str, str]] = {
    "measure": ("Measure it", "measure#s-{sheet}"),
    "answer": ("Answer a question about its reading", "measure#questions"),
    "coat": ("Coat it", "settle#coating"),
}
STAGES = {
    "planned": "to be printed",
    "curing": "curing",
    "cured": "cured",
    "drying": "coat drying",
    "dry": "coat dry",
    "spoiled": "spoiled",
}


@dataclass(frozen=True, slots=True)
class DeedView:
    """One thing that may be done with a sheet: now, from a time on, or not before something else."""

    name: str
    may: May
    mark: str
    when: str
    why: str


@dataclass(frozen=True, slots=True)
class ClockView:
    """A clock that runs: how far it is, as minutes of minutes, and when it ends."""

    name: str
    gone: int
    whole: int
    ends: str
    left: str


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A sheet on the board or at the settling station.

    ``todo`` is what somebody can do now, else "", and ``todo_href`` where it is done.
    """

    id: str
    code: str
    href: str
    candidate: str
    trial: str
    trial_id: str
    stage: str
    todo: str
    todo_href: str
    measured: bool
    next: str
    clock: ClockView | None
    deeds: tuple[DeedView, ...]
    hours: str


def sheet_line(line: BoardLine, *, now: datetime) -> SheetLine:
    """The line of a printed sheet."""
    clocks, time_zone = line.clocks, line.time_zone
    todo, where = TO_DO.get(line.waits_for, ("", ""))
    return SheetLine(
        id=line.sheet.id,
        code=line.sheet.code,
        href=f"/trials/{line.trial.id}/sheets/{line.sheet.id}",
        candidate=line.candidate.name,
        trial=line.trial.name,
        trial_id=line.trial.id,
        stage=_stage(line),
        todo=todo,
        todo_href=f"/trials/{line.trial.id}/{where.format(sheet=line.sheet.id)}" if where else "",
        measured=line.measured,
        next=_next(line, now=now),
        clock=clock_view(clocks, now=now, time_zone=time_zone),
        deeds=deeds_of(clocks, now=now, time_zone=time_zone),
        hours=hours_words(clocks, finish=line.candidate.finish),
    )


def deeds_of(clocks: SheetClocks, *, now: datetime, time_zone: str) -> tuple[DeedView, ...]:
    """What may be done with a sheet, each now, later or not yet."""
    return tuple(_deed(one, now=now, time_zone=time_zone) for one in clocks.allowances)


def clock_view(clocks: SheetClocks, *, now: datetime, time_zone: str) -> ClockView | None:
    """The clock of cure or coat that runs now, if one does."""
    if clocks.stage == "curing":
        name, begun, ends = "cure", clocks.printed_at, clocks.cured_at
    elif clocks.stage == "drying":
        name, begun, ends = "coat", clocks.coated_at, clocks.dry_at
    else:
        return None
    if begun is None or ends is None:
        return None
    minute = timedelta(minutes=1)
    return ClockView(
        name,
        max(0, int((now - begun) / minute)),
        max(1, int((ends - begun) / minute)),
        moment_short(ends, time_zone=time_zone, now=now),
        span_words(ends - now),
    )


def hours_words(clocks: SheetClocks, *, finish: str) -> str:
    """Why these hours: how long the clocks of a sheet are, and where that comes from."""
    cure = f"Cure {clocks.cure_hours:g} h: {clocks.cure_why}."
    return cure if finish == "uncoated" else f"{cure} Coat {clocks.dry_hours:g} h: {clocks.dry_why}."


def _deed(one: Allowance, *, now: datetime, time_zone: str) -> DeedView:
    may: May = "now" if one.now else "not yet" if one.since is None else "later"
    when = {
        "now": "now",
        "later": f"from {moment_short(one.since, time_zone=time_zone, now=now)}" if one.since else "",
        "not yet": "not yet",
    }[may]
    return DeedView(DEEDS[one.deed], may, MARKS[may], when, one.why)


def _stage(line: BoardLine) -> str:
    if line.measured and line.waits_for in ("nothing", "clock"):
        return f"{STAGES[line.clocks.stage]}, measured"
    if line.waits_for == "coat":
        return "cured, waits for its coat"
    if line.waits_for == "measure":
        return "ready to measure"
    if line.waits_for == "answer":
        return "read, not used until answered"
    return STAGES[line.clocks.stage]


def _next(line: BoardLine, *, now: datetime) -> str:
    if line.since is not None:
        return f"since {moment_short(line.since, time_zone=line.time_zone, now=now)}"
    if line.next_at is None:
        return ""
    changes = next(one for one in line.clocks.allowances if one.since == line.next_at)
    when = moment_short(line.next_at, time_zone=line.time_zone, now=now)
    return f"{changes.deed} from {when}, in {span_words(line.next_at - now)}"
