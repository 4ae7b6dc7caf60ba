"""What else happens to a sheet, and putting right what was noted wrongly."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Literal

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.clocks import sheet_clocks
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import RollUse
from laydown.usecases.acted import Acted
from laydown.usecases.bench.climate import clean_climate
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.bench.print_sheet import turn_words
from laydown.usecases.bench.roll_uses import drop_use

LaterKind = Literal["trimmed", "glazed", "mounted", "handled", "other"]


def note_event(
    records: Records,
    sheet_id: str,
    *,
    kind: LaterKind,
    who: str,
    at: datetime | None = None,
    words: str = "",
    early_why: str = "",
) -> Acted[SheetEvent]:
    """Note that a sheet was trimmed, glazed, mounted, handled, or anything else.

    Glazing before volatiles have left is refused unless ``early_why`` says why it was done all the same.

    Raises
    ------
    RefusedInput
        It was glazed too early.
    BadSetting
        Something else happened and it is not said what.
    Contradiction
        The sheet was never printed, or was spoiled before.
    """
    if kind == "other" and not words.strip():
        raise BadSetting("what happened to it?", todo="Say it in a few words.")
    with records.work(kind if kind != "other" else "noted", who=who) as work:
        sheet = work.get(Sheet, sheet_id)
        open_trial(work, sheet.trial_id)
        when = at or work.now
        told = words.strip()
        if kind == "glazed":
            clocks = sheet_clocks(load_facts(work, sheet.trial_id), sheet, now=when)
            glazing = next((one for one in clocks.allowances if one.deed == "glaze"), None)
            if glazing is not None and not glazing.now:
                if not early_why.strip():
                    raise RefusedInput(
                        f"sheet {sheet.code} should not be glazed yet: {glazing.why}.",
                        todo="Wait for its clock, or say why it was glazed all the same.",
                    )
                told = f"{told} Glazed early: {early_why.strip()}".strip()
        work.say(f"sheet {sheet.code}" + (f": {told}" if told else ""))
        event = SheetEvent(
            id=records.new_id(),
            trial_id=sheet.trial_id,
            sheet_id=sheet.id,
            at=when,
            kind=kind,
            by=who,
            words=told,
        )
        return Acted(work.add(event), work.entry_id)


def correct_event(
    records: Records,
    event_id: str,
    *,
    why: str,
    who: str,
    at: datetime | None = None,
    room_c: float | None = None,
    room_rh: float | None = None,
    words: str | None = None,
    seen: int | None = None,
) -> Acted[SheetEvent]:
    """Put right a time, a climate or words noted wrongly; the journal keeps what was there before, and why.

    With the time of a printing goes what it says about its turn in the drawn order.

    Raises
    ------
    BadSetting
        No reason is given, or a climate no room can have.
    ChangedMeanwhile
        ``seen`` is given and somebody changed it after that revision.
    Contradiction
        With the new time the trial would contradict itself.
    """
    if not why.strip():
        raise BadSetting("why is it corrected?", todo="Say it in a few words; the journal keeps both.")
    with records.work("corrected", who=who) as work:
        event = work.get(SheetEvent, event_id)
        sheet = work.get(Sheet, event.sheet_id)
        open_trial(work, event.trial_id)
        warm, moist = clean_climate(room_c, room_rh)
        changed = replace(
            event,
            at=at or event.at,
            room_c=event.room_c if warm is None else warm,
            room_rh=event.room_rh if moist is None else moist,
            words=event.words if words is None else words.strip(),
        )
        if event.kind == "printed" and changed.at != event.at:
            facts = load_facts(work, event.trial_id)
            was, now = (turn_words(facts, sheet, one.at) for one in (event, changed))
            rest = changed.words.removeprefix(was).strip()
            changed = replace(changed, words=f"{now} {rest}".strip())
        use = work.seek(RollUse, event.id)
        if use is not None and use.at != changed.at:
            work.change(replace(use, at=changed.at))
        work.say(f"when and how sheet {sheet.code} was {event.kind}: {why.strip()}")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def take_back_event(records: Records, event_id: str, *, why: str, who: str) -> Acted[Sheet]:
    """Take back something noted of a sheet that did not happen, with what it took from the roll.

    Raises
    ------
    BadSetting
        No reason is given.
    Contradiction
        Something that happened later rests on it.
    """
    if not why.strip():
        raise BadSetting("why is it taken back?", todo="Say it in a few words; the journal keeps both.")
    with records.work("took back", who=who) as work:
        event = work.get(SheetEvent, event_id)
        sheet = work.get(Sheet, event.sheet_id)
        open_trial(work, event.trial_id)
        work.say(f"that sheet {sheet.code} was {event.kind}: {why.strip()}")
        work.remove(SheetEvent, event_id)
        if event.kind == "printed":
            drop_use(work, event_id)
            sheet = work.change(replace(sheet, run_id=None, roll_id=None))
        return Acted(sheet, work.entry_id)
