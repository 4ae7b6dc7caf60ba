"""Undo an act: put back what it changed, as a new entry of the journal."""

from __future__ import annotations

from laydown.kernel.errors import NotAllowed, RefusedInput
from laydown.records.journal import Entry
from laydown.records.ledger import Records
from laydown.records.sign_ins import end_sittings
from laydown.trials.people import BENCH_CHANGES, Role
from laydown.usecases.people.account_rules import refuse_unsound_accounts


def undo(records: Records, entry_id: str, *, who: str, role: Role = "owner") -> str:
    """Put back everything an entry of the journal changed; the id of the new entry.

    Undoing an undo does the act again.

    Raises
    ------
    NotAllowed
        It is not theirs to undo; see ``may_undo``.
    RefusedInput
        The act is final (such as sealing a brief) or was undone already, or there would be no owner left.
    ChangedMeanwhile
        What it changed was changed again since.
    Contradiction
        The trial would contradict itself without it.
    """
    with records.work("undid", who=who) as work:
        entry = work.entry(entry_id)
        if not may_undo(entry, who=who, role=role):
            raise NotAllowed("this is not yours to undo.", todo="Ask the studio's owner.")
        _refuse(entry, already=bool(work.undone_by([entry.id])))
        if entry.trial_id is not None:
            work.about(entry.trial_id)
        work.say(f"“{entry.action} {entry.words}”".replace(" ”", "”"))
        work.put_back(entry)
        accounts = [change.id for change in entry.changes if change.noun == "Account"]
        for account_id in accounts:
            end_sittings(work, account_id)
        if accounts:
            refuse_unsound_accounts(work)
        return work.entry_id


def may_undo(entry: Entry, *, who: str, role: Role) -> bool:
    """Whether somebody may undo an act, as far as their role goes.

    The owner may undo everything; others what they did themselves, and nothing their role does not change:
    somebody who was the owner once must not get back by it what was taken from them.
    """
    if role == "owner":
        return True
    if role == "bench":
        return entry.who == who and all(change.noun in BENCH_CHANGES for change in entry.changes)
    return False


def _refuse(entry: Entry, *, already: bool) -> None:
    if entry.final:
        raise RefusedInput(
            f"“{entry.action}” cannot be undone.", todo="Make a dated change instead; the journal keeps both."
        )
    if already:
        raise RefusedInput("this was undone already.", todo="Undo the undoing to do it again.")
