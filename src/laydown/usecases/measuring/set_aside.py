"""Set a reading aside, so that no comparison uses it, and bring it back."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial


def set_aside(
    records: Records, reading_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[Reading]:
    """Keep a reading out of comparisons; the file stays, and so does the reason.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It is set aside already, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    if not why.strip():
        raise BadSetting("why is it set aside?", todo="Say it in a few words; it stands beside results.")
    with records.work("set aside", who=who) as work:
        reading = work.get(Reading, reading_id)
        open_trial(work, reading.trial_id)
        if reading.set_aside_at is not None:
            raise RefusedInput(f"{reading.file_name} is set aside already.", todo="Nothing is to be done.")
        work.say(f"{_named(reading, work.seek(Sheet, reading.sheet_id))}: {why.strip()}")
        changed = replace(reading, set_aside_at=work.now, set_aside_why=why.strip())
        return Acted(work.change(changed, seen=seen), work.entry_id)


def bring_back(records: Records, reading_id: str, *, who: str, seen: int | None = None) -> Acted[Reading]:
    """Let comparisons use a reading again that was set aside.

    Raises
    ------
    RefusedInput
        It is not set aside, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.work("brought back", who=who) as work:
        reading = work.get(Reading, reading_id)
        open_trial(work, reading.trial_id)
        if reading.set_aside_at is None:
            raise RefusedInput(f"{reading.file_name} is not set aside.", todo="Nothing is to be done.")
        work.say(_named(reading, work.seek(Sheet, reading.sheet_id)))
        changed = replace(reading, set_aside_at=None, set_aside_why="")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def _named(reading: Reading, sheet: Sheet | None) -> str:
    return f"{reading.file_name} of sheet {sheet.code}" if sheet else reading.file_name
