"""Begin to retrace a bad print, with or without a sheet of a trial."""

from __future__ import annotations

from collections.abc import Mapping

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.science.faults import Mark
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.mark_symptoms import marked
from laydown.usecases.retracing.own_faults import faults_in_use

LONGEST_TITLE = 120


def begin_retrace(
    records: Records,
    marks: Mapping[str, Mark],
    *,
    who: str,
    title: str = "",
    sheet_id: str | None = None,
    words: str = "",
) -> Acted[Retrace]:
    """Begin a retrace with what was seen; without a title it is called by its sheet or its first symptom.

    Raises
    ------
    BadSetting
        Nothing is marked as there, too much is, or the title is too long.
    UnknownRecord
        There is no such sheet.
    """
    with records.work("began to retrace", who=who) as work:
        model = faults_in_use(work).model
        symptoms = marked(model, marks)
        first = next((one.symptom for one in symptoms if one.seen == "present"), None)
        if first is None:
            raise BadSetting(
                "nothing is marked as seen on the print.", todo='Mark at least one picture as "there".'
            )
        sheet = work.get(Sheet, sheet_id) if sheet_id else None
        called = " ".join(title.split()) or _called(work, sheet, model.symptoms[first].name)
        if len(called) > LONGEST_TITLE:
            raise BadSetting(
                f"the title is longer than {LONGEST_TITLE} characters.", todo="Put the rest into a note."
            )
        if sheet is not None:
            work.about(sheet.trial_id)
        work.say(f"“{called}”")
        retrace = Retrace(
            id=records.new_id(),
            trial_id=sheet.trial_id if sheet else None,
            sheet_id=sheet.id if sheet else None,
            title=called,
            begun_at=work.now,
            by=who,
            symptoms=symptoms,
            words=words.strip(),
        )
        return Acted(work.add(retrace), work.entry_id)


def _called(look: Look, sheet: Sheet | None, symptom: str) -> str:
    if sheet is None:
        return symptom
    return f"{look.get(Candidate, sheet.candidate_id).name}, sheet {sheet.code}: {symptom}"[:LONGEST_TITLE]
