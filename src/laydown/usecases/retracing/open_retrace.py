"""The retrace that is worked on: it must be there and open."""

from __future__ import annotations

from laydown.kernel.errors import RefusedInput
from laydown.records.work import Work
from laydown.trials.retracing import Retrace


def open_retrace(work: Work, retrace_id: str) -> Retrace:
    """An open retrace; what is done becomes part of its trial's journal.

    Raises
    ------
    UnknownRecord
        There is no such retrace.
    RefusedInput
        It is closed.
    """
    retrace = any_retrace(work, retrace_id)
    if retrace.outcome != "open":
        raise RefusedInput(
            f"this retrace was closed as {retrace.outcome}.", todo="Open it again to go on with it."
        )
    return retrace


def any_retrace(work: Work, retrace_id: str) -> Retrace:
    """A retrace, open or closed; what is done becomes part of its trial's journal.

    Raises
    ------
    UnknownRecord
        There is no such retrace.
    """
    retrace = work.get(Retrace, retrace_id)
    if retrace.trial_id is not None:
        work.about(retrace.trial_id)
    return retrace
