"""Note what was tried against a cause, and whether it helped."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.retracing import Retrace, TriedFix
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.open_retrace import open_retrace
from laydown.usecases.retracing.own_faults import faults_in_use

_HELPED = {True: "it helped", False: "it did not help", None: "not known yet whether it helped"}


def note_fix_tried(
    records: Records, retrace_id: str, cause_id: str, words: str, *, helped: bool | None, who: str
) -> Acted[Retrace]:
    """Note a fix that was tried; ``helped`` is None where that is not known yet.

    Noted again with the same words, the newer word on whether it helped stands. It is kept and shown, and
    goes into a support file; the ranking does not learn from it, because a fix that helps may have cured
    another cause.

    Raises
    ------
    BadSetting
        It is not said what was tried.
    RefusedInput
        The retrace is closed, or there is no such cause.
    """
    with records.work("tried", who=who) as work:
        retrace = open_retrace(work, retrace_id)
        if cause_id not in faults_in_use(work).model.causes:
            raise RefusedInput("there is no such cause.", todo="Open the page again.")
        what = words.strip()
        if not what:
            raise BadSetting("it is not said what was tried.", todo="Say it in a few words.")
        work.say(f"“{what}”: {_HELPED[helped]}")
        others = tuple(one for one in retrace.tried if (one.cause, one.words) != (cause_id, what))
        tried = TriedFix(cause=cause_id, at=work.now, words=what, helped=helped)
        return Acted(work.change(replace(retrace, tried=(*others, tried))), work.entry_id)
