"""Set a gloss reading aside and bring it back; use one that was read too early, and leave it out again."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.clocks import reading_age
from laydown.trials.measured import GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.type_gloss import gloss_words, let_in_early

_NOTHING = "Nothing is to be done."


def set_gloss_aside(
    records: Records, gloss_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[GlossReading]:
    """Keep a gloss reading out of comparisons; it stays, and so does the reason.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It is set aside already, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    _refuse_no_reason(why, "set aside")
    with records.work("set aside", who=who) as work:
        reading = _reading(work, gloss_id)
        if reading.set_aside_at is not None:
            raise RefusedInput("this gloss reading is set aside already.", todo=_NOTHING)
        work.say(f"{_named(work, reading)}: {why.strip()}")
        changed = replace(reading, set_aside_at=work.now, set_aside_why=why.strip())
        return Acted(work.change(changed, seen=seen), work.entry_id)


def bring_gloss_back(
    records: Records, gloss_id: str, *, who: str, seen: int | None = None
) -> Acted[GlossReading]:
    """Let comparisons use a gloss reading again that was set aside.

    Raises
    ------
    RefusedInput
        It is not set aside, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.work("brought back", who=who) as work:
        reading = _reading(work, gloss_id)
        if reading.set_aside_at is None:
            raise RefusedInput("this gloss reading is not set aside.", todo=_NOTHING)
        work.say(_named(work, reading))
        changed = replace(reading, set_aside_at=None, set_aside_why="")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def use_early_gloss(
    records: Records, gloss_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[GlossReading]:
    """Let a gloss reading that was taken too early into comparisons all the same; dated, with the reason.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It was not taken too early or is used already, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    _refuse_no_reason(why, "used all the same")
    with records.work("let in", who=who) as work:
        reading = _reading(work, gloss_id)
        if reading.early_used_at is not None:
            raise RefusedInput("this gloss reading is used already.", todo=_NOTHING)
        age = reading_age(load_facts(work, reading.trial_id), reading)
        if age is None or not age.early:
            raise RefusedInput(
                "this gloss reading was not taken too early.", todo="It is used without further ado."
            )
        work.say(f"the early {_named(work, reading)}: {why.strip()}")
        changed = let_in_early(reading, why=why, who=who, now=work.now)
        return Acted(work.change(changed, seen=seen), work.entry_id)


def leave_out_early_gloss(
    records: Records, gloss_id: str, *, who: str, seen: int | None = None
) -> Acted[GlossReading]:
    """Leave an early gloss reading out of comparisons again.

    Raises
    ------
    RefusedInput
        It is not used early, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.work("left out", who=who) as work:
        reading = _reading(work, gloss_id)
        if reading.early_used_at is None:
            raise RefusedInput("this gloss reading is not used before its time.", todo=_NOTHING)
        work.say(f"the early {_named(work, reading)}")
        changed = replace(reading, early_used_at=None, early_used_by="", early_used_why="")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def _refuse_no_reason(why: str, what: str) -> None:
    if not why.strip():
        raise BadSetting(f"why is it {what}?", todo="Say it in a few words; it stands beside results.")


def _reading(work: Work, gloss_id: str) -> GlossReading:
    reading = work.get(GlossReading, gloss_id)
    open_trial(work, reading.trial_id)
    return reading


def _named(work: Work, reading: GlossReading) -> str:
    return f"gloss of sheet {work.get(Sheet, reading.sheet_id).code} ({gloss_words(reading)})"
