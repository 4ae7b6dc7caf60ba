"""Undo an act: put back what it changed, as a new entry of the journal."""

from __future__ import annotations

from laydown.kernel.errors import RefusedInput
from laydown.records.journal import Entry
from laydown.records.ledger import Records


def undo(records: Records, entry_id: str, *, who: str) -> str:
    """Put back everything an entry of the journal changed; the id of the new entry.

    Undoing an undo does the act again.

    Raises
    ------
    RefusedInput
        The act is final (such as sealing a brief) or was undone already.
    ChangedMeanwhile
        What it changed was changed again since.
    Contradiction
        The trial would contradict itself without it.
    """
    with records.work("undid", who=who) as work:
        entry = work.entry(entry_id)
        _refuse(entry, already=bool(work.undone_by([entry.id])))
        if entry.trial_id is not None:
            work.about(entry.trial_id)
        work.say(f"“{entry.action} {entry.words}”".replace(" ”", "”"))
        work.put_back(entry)
        return work.entry_id


def _refuse(entry: Entry, *, already: bool) -> None:
    if entry.final:
        raise RefusedInput(
            f"“{entry.action}” cannot be undone.", todo="Make a dated change instead; the journal keeps both."
        )
    if already:
        raise RefusedInput("this was undone already.", todo="Undo the undoing to do it again.")
