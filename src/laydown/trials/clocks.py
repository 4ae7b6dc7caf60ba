"""The clocks of a sheet: when it has cured and dried, and what may be done with it when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import AnyReading
from laydown.trials.room import note_near
from laydown.trials.sheets import Sheet

HUMID_RH = Constant(
    45.0, "% relative humidity", "above it shops wait 48 h instead of 24 h", "common practice, no source"
)
LONGER_CURE = Constant(
    2.0, "times", "48 h instead of 24 h in humid rooms or on barrier media", "common practice, no source"
)
TOUCH_HOURS = Constant(1.0, "h", "colour moves most in the first hour", "common practice, no source")
GLAZE_BARRIER_HOURS = Constant(
    336.0, "h", "up to two weeks where a barrier layer holds volatiles back", "common practice, no source"
)

Stage = Literal["planned", "curing", "cured", "drying", "dry", "spoiled"]
Deed = Literal["touch", "measure", "coat", "glaze"]


@dataclass(frozen=True, slots=True)
class Allowance:
    """Whether something may be done with a sheet: from when (None: not before something else), and why."""

    deed: Deed
    now: bool
    since: datetime | None
    why: str


@dataclass(frozen=True, slots=True)
class SheetClocks:
    """Where a sheet stands. ``ready_at`` is when it may be measured in the finish its candidate has.

    ``cure_why`` and ``dry_why`` say where the hours come from.
    """

    sheet_id: str
    stage: Stage
    printed_at: datetime | None
    cure_hours: float
    cure_why: str
    cured_at: datetime | None
    coated_at: datetime | None
    dry_hours: float
    dry_why: str
    dry_at: datetime | None
    ready_at: datetime | None
    allowances: tuple[Allowance, ...]


@dataclass(frozen=True, slots=True)
class ReadingAge:
    """How old a sheet was when it was read. ``finish`` is its state then; ``early`` says it had not settled.

    ``measured_at_stated`` is False where the time of receipt had to stand in for the time of measurement.
    """

    reading_id: str
    hours: float | None
    finish: Literal["uncoated", "coated"]
    early: bool
    measured_at: datetime
    measured_at_stated: bool
    why: str


def sheet_clocks(facts: TrialFacts, sheet: Sheet, *, now: datetime) -> SheetClocks:
    """Where a sheet stands at ``now``, from its events, its candidate and the room it was printed in."""
    candidate = facts.candidate(sheet.candidate_id)
    printed = next(iter(facts.events_of(sheet.id, "printed")), None)
    coated = next(iter(facts.events_of(sheet.id, "coated")), None)
    spoiled = bool(facts.events_of(sheet.id, "spoiled"))
    cure_hours, cure_why = _cure(facts, sheet)
    dry_hours, dry_why = _dry(facts, sheet)
    printed_at = printed.at if printed else None
    cured_at = printed_at + timedelta(hours=cure_hours) if printed_at else None
    coated_at = coated.at if coated else None
    dry_at = coated_at + timedelta(hours=dry_hours) if coated_at else None
    if dry_at and coated_at and cured_at and coated_at < cured_at:
        # A coat over ink that had not cured holds its volatiles back: dry is not before the ink had its time.
        dry_at, dry_why = max(dry_at, cured_at), f"{dry_why}; coated before it had cured"
    ready_at = dry_at if candidate.finish == "coated" else cured_at
    return SheetClocks(
        sheet_id=sheet.id,
        stage=_stage(now, printed_at, cured_at, dry_at, spoiled=spoiled),
        printed_at=printed_at,
        cure_hours=cure_hours,
        cure_why=cure_why,
        cured_at=cured_at,
        coated_at=coated_at,
        dry_hours=dry_hours,
        dry_why=dry_why,
        dry_at=dry_at,
        ready_at=ready_at,
        allowances=() if spoiled else _allowances(facts, sheet, now, printed_at, cured_at, dry_at),
    )


def reading_age(facts: TrialFacts, reading: AnyReading) -> ReadingAge | None:
    """How old the sheet of a reading was; None where the reading has no sheet or the sheet no print time."""
    if reading.sheet_id is None:
        return None
    clocks = sheet_clocks(facts, facts.sheet(reading.sheet_id), now=reading.received_at)
    at = reading.measured_at or reading.received_at
    if clocks.printed_at is None or clocks.cured_at is None:
        return None
    coated = clocks.coated_at is not None and at >= clocks.coated_at
    settled_at = clocks.dry_at if coated and clocks.dry_at else clocks.cured_at
    hours = (at - clocks.printed_at) / timedelta(hours=1)
    early = at < settled_at
    since = "coated" if coated else "printed"
    needed = clocks.dry_hours if coated else clocks.cure_hours
    elapsed = (at - (clocks.coated_at if coated and clocks.coated_at else clocks.printed_at)) / timedelta(
        hours=1
    )
    why = f"read {elapsed:.1f} h after it was {since}, {needed:g} h are wanted" if early else ""
    return ReadingAge(
        reading.id, hours, "coated" if coated else "uncoated", early, at, reading.measured_at is not None, why
    )


def _cure(facts: TrialFacts, sheet: Sheet) -> tuple[float, str]:
    candidate = facts.candidate(sheet.candidate_id)
    if candidate.cure_hours is not None:
        return candidate.cure_hours, "set for this candidate"
    hours = facts.trial.cure_hours
    room = _room(facts, sheet)
    reasons = []
    if room is not None and room.rh > HUMID_RH.value:
        reasons.append(f"the room was at {room.rh:g} % RH{room.noted}, above {HUMID_RH.value:g} %")
    if facts.medium_of(candidate).barrier:
        reasons.append("the medium has a barrier layer")
    if reasons:
        return hours * LONGER_CURE.value, f"{LONGER_CURE.value:g} times the usual: " + " and ".join(reasons)
    usual = "the usual time of this trial"
    if room is not None:
        return hours, f"{usual}; the room was at {room.rh:g} % RH{room.noted}" if room.noted else usual
    printed = facts.events_of(sheet.id, "printed")
    return hours, f"{usual}; room humidity not noted" if printed else usual


def _dry(facts: TrialFacts, sheet: Sheet) -> tuple[float, str]:
    candidate = facts.candidate(sheet.candidate_id)
    if candidate.dry_hours is not None:
        return candidate.dry_hours, "set for this candidate"
    return facts.trial.dry_hours, "the usual time of this trial"


@dataclass(frozen=True, slots=True)
class _Room:
    """The humidity a sheet was printed in; ``noted`` says where it was noted with something else."""

    rh: float
    noted: str


def _room(facts: TrialFacts, sheet: Sheet) -> _Room | None:
    """The room as noted with the sheet or its sitting, else as noted nearest to it in this trial."""
    printed = facts.events_of(sheet.id, "printed")
    own = [event.room_rh for event in printed]
    if sheet.run_id:
        own.append(facts.run(sheet.run_id).room_rh)
    rh = next((one for one in own if one is not None), None)
    if rh is not None:
        return _Room(rh, "")
    near = note_near(facts.room_notes, printed[0].at) if printed else None
    if near is None:
        return None
    hours = (printed[0].at - near.at) / timedelta(hours=1)
    return _Room(near.rh, f" (not noted at this print, but {_how_far(hours)})")


def _how_far(hours: float) -> str:
    if abs(hours) < 1:
        return f"within the hour {'before' if hours >= 0 else 'after'} it"
    return f"{abs(hours):.0f} h {'before' if hours > 0 else 'after'} it"


def _stage(
    now: datetime,
    printed_at: datetime | None,
    cured_at: datetime | None,
    dry_at: datetime | None,
    *,
    spoiled: bool,
) -> Stage:
    if spoiled:
        return "spoiled"
    if printed_at is None or cured_at is None:
        return "planned"
    if dry_at is not None:
        return "dry" if now >= dry_at else "drying"
    return "cured" if now >= cured_at else "curing"


def _allowances(
    facts: TrialFacts,
    sheet: Sheet,
    now: datetime,
    printed_at: datetime | None,
    cured_at: datetime | None,
    dry_at: datetime | None,
) -> tuple[Allowance, ...]:
    if printed_at is None or cured_at is None:
        return ()
    candidate = facts.candidate(sheet.candidate_id)
    barrier = bool(facts.medium_of(candidate).barrier)
    settled = dry_at or cured_at
    touch = (dry_at if dry_at and now < dry_at else None) or printed_at + timedelta(hours=TOUCH_HOURS.value)
    glaze = max(settled, printed_at + timedelta(hours=GLAZE_BARRIER_HOURS.value)) if barrier else settled
    wanted: list[tuple[Deed, datetime | None, str]] = [
        ("touch", touch, "by the edges, with clean gloves"),
        ("measure", settled, "readings before that are kept, marked and left out of comparisons"),
    ]
    if candidate.finish == "coated" and dry_at is None:
        wanted.append(
            ("coat", cured_at, "follow the coating's data sheet; ventilate, protect eyes and lungs")
        )
    if candidate.finish == "coated" and dry_at is None:
        wanted.append(("glaze", None, "not before it has been coated and is dry"))
    else:
        held = "volatiles leave slowly through a barrier layer and would fog the glass"
        wanted.append(("glaze", glaze, held if barrier else "volatiles would fog the glass"))
    return tuple(
        Allowance(deed, since is not None and now >= since, since, why) for deed, since, why in wanted
    )
