"""Readings taken before a sheet had settled: used all the same with a reason, or left out again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.clocks import reading_age
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Reading
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial

NOT_SEEN: Mapping[str, int] = MappingProxyType({})
MOST_NAMED = 6


def use_early_readings(
    records: Records, reading_ids: Sequence[str], *, why: str, who: str, seen: Mapping[str, int] = NOT_SEEN
) -> Acted[tuple[Reading, ...]]:
    """Let readings that were taken too early into comparisons all the same; dated, with one reason for all.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        None is named, they are of different trials, or one was not taken too early, has no sheet, or is used
        already; none is used then.
    ChangedMeanwhile
        ``seen`` holds a revision of one of them, and somebody changed it after that.
    """
    if not why.strip():
        raise BadSetting(
            "why is it used all the same?", todo="Say it in a few words; it stands beside results."
        )
    with records.work("let in", who=who) as work:
        readings = _readings(work, reading_ids)
        facts = load_facts(work, readings[0].trial_id)
        for reading in readings:
            _refuse_to_use(facts, reading)
        work.say(f"{_named(facts, readings)}: {why.strip()}")
        changed = tuple(
            work.change(
                replace(one, early_used_at=work.now, early_used_by=who, early_used_why=why.strip()),
                seen=seen.get(one.id),
            )
            for one in readings
        )
        return Acted(changed, work.entry_id)


def leave_out_readings(
    records: Records,
    reading_ids: Sequence[str],
    *,
    who: str,
    why: str = "",
    seen: Mapping[str, int] = NOT_SEEN,
) -> Acted[tuple[Reading, ...]]:
    """Leave early readings out of comparisons again; the journal keeps that they were used, and why.

    Raises
    ------
    RefusedInput
        None is named, they are of different trials, or one is not used early; none is left out then.
    ChangedMeanwhile
        ``seen`` holds a revision of one of them, and somebody changed it after that.
    """
    with records.work("left out", who=who) as work:
        readings = _readings(work, reading_ids)
        facts = load_facts(work, readings[0].trial_id)
        for reading in readings:
            if reading.early_used_at is None:
                raise RefusedInput(
                    f"{reading.file_name} is not used before its time.", todo="Nothing is to be done."
                )
        work.say(_named(facts, readings) + (f": {why.strip()}" if why.strip() else ""))
        changed = tuple(
            work.change(
                replace(one, early_used_at=None, early_used_by="", early_used_why=""), seen=seen.get(one.id)
            )
            for one in readings
        )
        return Acted(changed, work.entry_id)


def use_early_reading(records: Records, reading_id: str, *, why: str, who: str) -> Acted[Reading]:
    """Let one reading that was taken too early into comparisons; see ``use_early_readings``."""
    acted = use_early_readings(records, [reading_id], why=why, who=who)
    return Acted(acted.thing[0], acted.entry_id)


def leave_out_reading(records: Records, reading_id: str, *, who: str, why: str = "") -> Acted[Reading]:
    """Leave one early reading out of comparisons again; see ``leave_out_readings``."""
    acted = leave_out_readings(records, [reading_id], who=who, why=why)
    return Acted(acted.thing[0], acted.entry_id)


def _readings(work: Work, reading_ids: Sequence[str]) -> tuple[Reading, ...]:
    readings = tuple(work.get(Reading, one) for one in dict.fromkeys(reading_ids))
    if not readings:
        raise RefusedInput("no reading was chosen.", todo="Tick those that are meant.")
    if len({one.trial_id for one in readings}) > 1:
        raise RefusedInput("these readings are of different trials.", todo="Take them one trial at a time.")
    open_trial(work, readings[0].trial_id)
    return readings


def _refuse_to_use(facts: TrialFacts, reading: Reading) -> None:
    if reading.early_used_at is not None:
        raise RefusedInput(f"{reading.file_name} is used already.", todo="Nothing is to be done.")
    age = reading_age(facts, reading)
    if age is None or not age.early:
        raise RefusedInput(
            f"{reading.file_name} was not taken too early.", todo="It is used without further ado."
        )


def _named(facts: TrialFacts, readings: Sequence[Reading]) -> str:
    """Such as "the early reading K7-1h.txt of sheet K7" or "2 early readings: ..., ..." for the journal."""
    told = [
        f"{one.file_name} of sheet {facts.sheet(one.sheet_id).code}" if one.sheet_id else one.file_name
        for one in readings
    ]
    if len(told) == 1:
        return f"the early reading {told[0]}"
    more = f" and {len(told) - MOST_NAMED} more" if len(told) > MOST_NAMED else ""
    return f"{len(told)} early readings: {', '.join(told[:MOST_NAMED])}{more}"
