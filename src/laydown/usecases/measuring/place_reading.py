"""Say which sheet a reading was read on, and when."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.find_doubts import doubts_about
from laydown.usecases.measuring.placing import usable_moment


def place_reading(
    records: Records, reading_id: str, sheet_id: str | None, *, who: str, seen: int | None = None
) -> Acted[Reading]:
    """Give a reading to a sheet, or let it wait without one; its questions are asked anew.

    A stated time of measuring that lies before the sheet was printed is put aside with a word.

    Raises
    ------
    RefusedInput
        The sheet belongs to another trial or is not printed yet, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.look() as look:
        reading = look.get(Reading, reading_id)
        looked_at = look.revision(Reading, reading_id)
        facts = load_facts(look, reading.trial_id)
        sheet = next((one for one in facts.sheets if one.id == sheet_id), None)
        doubts = doubts_about(look, facts, replace(reading, sheet_id=sheet.id if sheet else None))
    if sheet_id is not None and sheet is None:
        raise RefusedInput("this sheet belongs to another trial.", todo="Choose a sheet of this trial.")
    if sheet is not None and not facts.events_of(sheet.id, "printed"):
        raise RefusedInput(
            f"sheet {sheet.code} is not printed yet.", todo="Note when it was printed, or choose another."
        )
    with records.work("placed", who=who) as work:
        open_trial(work, reading.trial_id)
        reading = work.get(Reading, reading_id)
        before = work.seek(Sheet, reading.sheet_id)
        measured_at, why = reading.measured_at, ""
        if measured_at is not None:
            measured_at, why = usable_moment(facts, sheet, measured_at, now=work.now)
        came = f" (before: {before.code})" if before else ""
        work.say(f"{reading.file_name}: " + (f"sheet {sheet.code}{came}" if sheet else f"no sheet{came}"))
        changed = replace(
            reading,
            sheet_id=sheet.id if sheet else None,
            measured_at=measured_at,
            doubts=doubts,
            words=" ".join(part for part in (_without_waiting(reading.words), why) if part),
        )
        # Its questions belong to the state that was looked at.
        return Acted(work.change(changed, seen=looked_at if seen is None else seen), work.entry_id)


def time_reading(
    records: Records, reading_id: str, measured_at: datetime | None, *, who: str, seen: int | None = None
) -> Acted[Reading]:
    """Say when a reading was taken; None lets the time of receipt stand in again.

    Raises
    ------
    RefusedInput
        The time lies in the future or before the sheet was printed, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.work("timed", who=who) as work:
        reading = work.get(Reading, reading_id)
        open_trial(work, reading.trial_id)
        facts = load_facts(work, reading.trial_id)
        sheet = facts.sheet(reading.sheet_id) if reading.sheet_id else None
        if measured_at is not None and usable_moment(facts, sheet, measured_at, now=work.now)[0] is None:
            raise RefusedInput(
                f"{reading.file_name} cannot have been read then: the time lies in the future, or before the "
                "sheet was printed.",
                todo="Correct the time.",
            )
        work.say(f"{reading.file_name}" + ("" if measured_at else ": not stated"))
        return Acted(work.change(replace(reading, measured_at=measured_at), seen=seen), work.entry_id)


def _without_waiting(words: str) -> str:
    """What was said of a reading, without why it waited for a sheet."""
    sentences = words.split(". ")
    kept = [one for one in sentences if not one.startswith("waits:")]
    return ". ".join(kept)
