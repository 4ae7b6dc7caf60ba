"""Take a form away that nothing was printed from."""

from __future__ import annotations

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.trials.remarks import Attachment, Note
from laydown.trials.sheets import SheetEvent
from laydown.trials.test_form import TestForm
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial


def take_form_away(records: Records, form_id: str, *, who: str) -> Acted[TestForm]:
    """Take a form away, with notes and files about it, while no sheet of its trial is printed; undoing brings
    all of it back. Nobody tells which form a sheet was printed from, so that any printed sheet counts.

    Raises
    ------
    RefusedInput
        A sheet of the trial is printed, or the trial is not open.
    """
    with records.work("took away", who=who) as work:
        form = work.get(TestForm, form_id)
        open_trial(work, form.trial_id)
        if work.count(SheetEvent, trial_id=form.trial_id, kind="printed"):
            raise RefusedInput(
                f"sheets of this trial are printed, perhaps from form {form.code}, and must be recognised "
                "when they are read.",
                todo="Set the form aside instead.",
            )
        for noun in (Note, Attachment):
            for one in work.find(noun, about=form.id):
                work.remove(noun, one.id)
        work.remove(TestForm, form.id)
        work.say(f"the form {form.code}")
        return Acted(form, work.entry_id)
