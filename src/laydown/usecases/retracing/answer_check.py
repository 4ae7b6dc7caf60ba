"""Answer a check of a retrace."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.trials.retracing import Answer, AnsweredCheck, Retrace
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.open_retrace import open_retrace
from laydown.usecases.retracing.own_faults import faults_in_use


def answer_check(
    records: Records, retrace_id: str, check_id: str, answer: Answer, *, who: str, words: str = ""
) -> Acted[Retrace]:
    """Keep the answer to a check, in place of one that was given before; "unsure" says nothing either way.

    The same answer sent again changes nothing, so that a double tap does no harm.

    Raises
    ------
    RefusedInput
        The retrace is closed, or there is no such check.
    """
    with records.work("answered", who=who) as work:
        retrace = open_retrace(work, retrace_id)
        check = faults_in_use(work).model.checks.get(check_id)
        if check is None:
            raise RefusedInput("there is no such check.", todo="Open the page again.")
        work.say(f"“{check.question}” {answer}")
        before = next((one for one in retrace.answers if one.check == check_id), None)
        if before is not None and (before.answer, before.words) == (answer, words.strip()):
            return Acted(retrace, work.entry_id)
        given = AnsweredCheck(check=check_id, answer=answer, at=work.now, words=words.strip())
        others = tuple(one for one in retrace.answers if one.check != check_id)
        return Acted(work.change(replace(retrace, answers=(*others, given))), work.entry_id)
