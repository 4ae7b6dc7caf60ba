"""A sheet was spoiled, and a spare takes its place."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.records.work import Work
from laydown.trials.print_order import sheet_codes
from laydown.trials.sheets import Sheet, SheetEvent, SheetUse
from laydown.trials.trial import Candidate, Plan
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import candidate_at_work, open_trial
from laydown.usecases.bench.print_sheet import turn_words

TAKEN = "{code} takes its place"


def spoil_sheet(
    records: Records,
    sheet_id: str,
    *,
    why: str,
    who: str,
    at: datetime | None = None,
    replaced: bool = False,
) -> Acted[SheetEvent]:
    """Note that a sheet was spoiled; it stays on record. With ``replaced`` a spare takes its place at once.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It was spoiled already, or it is to be replaced and there is no spare.
    Contradiction
        It would be spoiled before it was printed, or before something that happened to it later.
    """
    if not why.strip():
        raise BadSetting("why was it spoiled?", todo="Say in a few words what is seen on it.")
    with records.work("spoiled", who=who) as work:
        sheet = work.get(Sheet, sheet_id)
        open_trial(work, sheet.trial_id)
        if work.find(SheetEvent, sheet_id=sheet.id, kind="spoiled"):
            raise RefusedInput(f"sheet {sheet.code} is spoiled already.", todo="Print a spare in its place.")
        event = SheetEvent(
            id=records.new_id(),
            trial_id=sheet.trial_id,
            sheet_id=sheet.id,
            at=at or work.now,
            kind="spoiled",
            by=who,
            words=why.strip(),
        )
        work.say(f"sheet {sheet.code}: {why.strip()}")
        if replaced:
            spare = _swap(work, sheet)
            event = replace(event, words=replaced_words(event.words, spare.code))
            work.say(f"({TAKEN.format(code=spare.code)})")
        return Acted(work.add(event), work.entry_id)


def replace_with_spare(records: Records, sheet_id: str, *, who: str) -> Acted[Sheet]:
    """Let a spare take the place of a spoiled sheet in the print order; the spare as it is now.

    Raises
    ------
    RefusedInput
        The sheet is not spoiled, was replaced already, or no spare is left.
    """
    with records.work("replaced", who=who) as work:
        sheet = work.get(Sheet, sheet_id)
        open_trial(work, sheet.trial_id)
        spoiled = next(iter(work.find(SheetEvent, sheet_id=sheet.id, kind="spoiled")), None)
        if spoiled is None:
            raise RefusedInput(f"sheet {sheet.code} is not spoiled.", todo="Say first that it is, and why.")
        if was_replaced(sheet, spoiled):
            raise RefusedInput(
                f"sheet {sheet.code} was replaced already.", todo="See which spare took its place."
            )
        spare = _swap(work, sheet)
        work.change(replace(spoiled, words=replaced_words(spoiled.words, spare.code)))
        work.say(f"sheet {sheet.code} with {spare.code}")
        return Acted(spare, work.entry_id)


def add_sheet(
    records: Records, candidate_id: str, *, use: SheetUse, who: str, words: str = ""
) -> Acted[Sheet]:
    """Add a sheet outside the print order: a setting sheet, a spare, a strip, scraps for handling.

    Raises
    ------
    RefusedInput
        The candidate was withdrawn, or a test sheet is asked for: those come from the drawn order.
    """
    if use == "test":
        raise RefusedInput(
            "test sheets come from the drawn print order.", todo="Draw it on the plan, or add a spare."
        )
    with records.work("added", who=who) as work:
        candidate = candidate_at_work(work, candidate_id)
        sheets = work.find(Sheet, trial_id=candidate.trial_id)
        plan = next(iter(work.find(Plan, trial_id=candidate.trial_id)), None)
        taken = {one.code for one in sheets}
        code = sheet_codes(1, seed=(plan.seed if plan else 1) + len(sheets), taken=taken)[0]
        sheet = Sheet(
            id=records.new_id(),
            trial_id=candidate.trial_id,
            candidate_id=candidate.id,
            code=code,
            use=use,
            words=words,
        )
        work.say(f"sheet {code} ({use}) for {candidate.name}")
        return Acted(work.add(sheet), work.entry_id)


def replaced_words(why: str, code: str) -> str:
    """Why a sheet was spoiled, and which spare took its place."""
    return f"{why.rstrip('.')}; {TAKEN.format(code=code)}"


def was_replaced(sheet: Sheet, spoiled: SheetEvent) -> bool:
    """Whether a spare took the place of a spoiled sheet: a test sheet has lost its turn, others say so."""
    if sheet.use == "test":
        return not sheet.place
    return re.search(TAKEN.format(code=r"\S+") + "$", spoiled.words) is not None


def _swap(work: Work, sheet: Sheet) -> Sheet:
    """Give a sheet's turn and use to an unspoiled spare of its candidate, a printed one first.

    The spoiled sheet stays what it was, without a turn: it is no spare for anybody.
    """
    candidate = work.get(Candidate, sheet.candidate_id)
    if sheet.use == "spare":
        raise RefusedInput(f"sheet {sheet.code} is itself a spare.", todo="Add another spare.")
    spares = work.find(Sheet, candidate_id=candidate.id, use="spare", order=("place", "code"))
    events = work.find_any(SheetEvent, "sheet_id", [one.id for one in spares])
    spoiled = {event.sheet_id for event in events if event.kind == "spoiled"}
    printed = {event.sheet_id for event in events if event.kind == "printed"}
    fresh = [one for one in spares if one.id not in spoiled]
    if not fresh:
        raise RefusedInput(f"no spare is left for {candidate.name}.", todo="Add a spare, then replace it.")
    spare = next((one for one in fresh if one.id in printed), fresh[0])
    # What was said about a turn, such as that it was added later, goes with the turn.
    work.change(replace(sheet, place=0, words=spare.words))
    taker = work.change(replace(spare, use=sheet.use, place=sheet.place, day=sheet.day, words=sheet.words))
    for event in events:
        if event.sheet_id == taker.id and event.kind == "printed":
            told = turn_words(load_facts(work, taker.trial_id), taker, event.at)
            work.change(replace(event, words=f"{told} {event.words}".strip()))
    return taker
