"""Make a form of a wish, and keep it."""

from __future__ import annotations

from laydown.records.ledger import Records
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.geometry import to_json
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.forms.composed import composed, geometry_of
from laydown.usecases.forms.form_limits import check_limits
from laydown.usecases.forms.keep_form import DrawnForm, DrawnPage, keep_form
from laydown.usecases.forms.trial_pictures import refuse_foreign_pictures
from laydown.usecases.forms.write_reference import write_reference


def make_form(
    records: Records, trial_id: str, wish: FormWish, *, who: str, words: str = ""
) -> Acted[TestForm]:
    """Put a form together and keep it with its geometry and reference; its pages are drawn when asked for.

    Raises
    ------
    BadSetting
        No form can be made of the wish, or a picture in it was not handed in for this trial.
    UnknownRecord
        There is no such trial.
    RefusedInput
        A form of this studio has the code already, or the trial is not open.
    """
    check_limits(wish)
    with records.look() as look:
        look.get(Trial, trial_id)  # before a form is put together for nothing
        refuse_foreign_pictures(look, trial_id, wish)
    form = composed(wish)
    told = [(one, geometry_of(form, one)) for one in form.pages]
    drawn = DrawnForm(
        wish=wish,
        pages=tuple(
            DrawnPage(
                name=one.page.name,
                use=one.use,
                width_mm=one.page.width_mm,
                length_mm=one.page.height_mm,
                patches=len(geometry.patches),
                geometry_json=to_json(geometry),
            )
            for one, geometry in told
        ),
        reference=write_reference([geometry for one, geometry in told if geometry.patches]),
        left_out=form.left_out,
    )
    return keep_form(records, trial_id, drawn, who=who, words=words)
