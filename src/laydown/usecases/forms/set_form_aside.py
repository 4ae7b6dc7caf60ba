"""Set a form aside that is not printed from any more, and take it into use again."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.trials.test_form import TestForm
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial

_NOTHING = "Nothing is to be done."


def set_form_aside(
    records: Records, form_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[TestForm]:
    """Print no more from a form; it stays with its reason, and what was printed from it is still recognised.

    Raises
    ------
    BadSetting
        No reason is given.
    RefusedInput
        It is set aside already, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the form after that revision.
    """
    reason = " ".join(why.split())
    if not reason:
        raise BadSetting("why is it set aside?", todo="Say it in a few words; they stay beside the form.")
    with records.work("set aside", who=who) as work:
        form = _form(work, form_id)
        if form.set_aside_at is not None:
            raise RefusedInput(f"form {form.code} is set aside already.", todo=_NOTHING)
        work.say(f"the form {form.code}: {reason}")
        changed = replace(form, set_aside_at=work.now, set_aside_why=reason)
        return Acted(work.change(changed, seen=seen), work.entry_id)


def bring_form_back(records: Records, form_id: str, *, who: str, seen: int | None = None) -> Acted[TestForm]:
    """Print from a form again that was set aside.

    Raises
    ------
    RefusedInput
        It is not set aside, or the trial is not open.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the form after that revision.
    """
    with records.work("brought back", who=who) as work:
        form = _form(work, form_id)
        if form.set_aside_at is None:
            raise RefusedInput(f"form {form.code} is not set aside.", todo=_NOTHING)
        work.say(f"the form {form.code}")
        changed = replace(form, set_aside_at=None, set_aside_why="")
        return Acted(work.change(changed, seen=seen), work.entry_id)


def _form(work: Work, form_id: str) -> TestForm:
    form = work.get(TestForm, form_id)
    open_trial(work, form.trial_id)
    return form
