"""Readings taken before a sheet had settled: used all the same with a reason, or left out again."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.clocks import reading_age
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial


def use_early_reading(
    records: Records, reading_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[Reading]:
    """Let a reading that was taken too early into comparisons all the same; dated, with the reason.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It was not taken too early, has no sheet, or is used already.
    ChangedMeanwhile
        ``seen`` is given and somebody changed it after that revision.
    """
    if not why.strip():
        raise BadSetting(
            "why is it used all the same?", todo="Say it in a few words; it stands beside results."
        )
    with records.work("let in", who=who) as work:
        reading = _reading(work, reading_id)
        if reading.early_used_at is not None:
            raise RefusedInput(f"{reading.file_name} is used already.", todo="Nothing is to be done.")
        age = reading_age(load_facts(work, reading.trial_id), reading)
        if age is None or not age.early:
            raise RefusedInput(
                f"{reading.file_name} was not taken too early.", todo="It is used without further ado."
            )
        work.say(f"the early reading {_named(work, reading)}: {why.strip()}")
        changed = replace(reading, early_used_at=work.now, early_used_by=who, early_used_why=why.strip())
        return Acted(work.change(changed, seen=seen), work.entry_id)


def leave_out_reading(
    records: Records, reading_id: str, *, who: str, why: str = "", seen: int | None = None
) -> Acted[Reading]:
    """Leave an early reading out of comparisons again; the journal keeps that it was used, and why.

    Raises
    ------
    RefusedInput
        It is not used early.
    ChangedMeanwhile
        ``seen`` is given and somebody changed it after that revision.
    """
    with records.work("left out", who=who) as work:
        reading = _reading(work, reading_id)
        if reading.early_used_at is None:
            raise RefusedInput(
                f"{reading.file_name} is not used before its time.", todo="Nothing is to be done."
            )
        work.say(f"the early reading {_named(work, reading)}" + (f": {why.strip()}" if why.strip() else ""))
        changed = replace(reading, early_used_at=None, early_used_by="", early_used_why="")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def _reading(work: Work, reading_id: str) -> Reading:
    reading = work.get(Reading, reading_id)
    open_trial(work, reading.trial_id)
    return reading


def _named(work: Work, reading: Reading) -> str:
    sheet = work.seek(Sheet, reading.sheet_id)
    return f"{reading.file_name} of sheet {sheet.code}" if sheet else reading.file_name
