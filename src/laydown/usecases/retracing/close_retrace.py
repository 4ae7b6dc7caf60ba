"""Close a retrace as solved or as still wrong, and open it again."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.trials.retracing import Retrace
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.open_retrace import any_retrace, open_retrace


def close_retrace(
    records: Records, retrace_id: str, outcome: Literal["solved", "still wrong"], *, who: str, words: str = ""
) -> Acted[Retrace]:
    """Close a retrace. What was learnt goes into ``words``; empty words leave those that are there.

    Raises
    ------
    RefusedInput
        It is closed already.
    """
    with records.work("closed", who=who) as work:
        retrace = open_retrace(work, retrace_id)
        work.say(f"the retrace “{retrace.title}” as {outcome}")
        closed = replace(retrace, outcome=outcome, closed_at=work.now, words=words.strip() or retrace.words)
        return Acted(work.change(closed), work.entry_id)


def reopen_retrace(records: Records, retrace_id: str, *, who: str) -> Acted[Retrace]:
    """Open a closed retrace again.

    Raises
    ------
    RefusedInput
        It is open.
    """
    with records.work("opened again", who=who) as work:
        retrace = any_retrace(work, retrace_id)
        if retrace.outcome == "open":
            raise RefusedInput("this retrace is open.", todo="Go on with it.")
        work.say(f"the retrace “{retrace.title}”")
        return Acted(work.change(replace(retrace, outcome="open", closed_at=None)), work.entry_id)
