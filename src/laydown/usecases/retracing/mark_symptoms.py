"""Mark what was seen on a bad print, and what was looked for in vain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.science.faults import MOST_PRESENT, FaultModel, Mark
from laydown.trials.retracing import MarkedSymptom, Retrace
from laydown.usecases.acted import Acted
from laydown.usecases.retracing.open_retrace import open_retrace
from laydown.usecases.retracing.own_faults import faults_in_use


def mark_symptoms(
    records: Records, retrace_id: str, marks: Mapping[str, Mark], *, who: str, seen: int | None = None
) -> Acted[Retrace]:
    """Put these marks in place of those there are; symptoms not named count as not looked at.

    Raises
    ------
    BadSetting
        Nothing is marked as there, or more than can be weighed together.
    RefusedInput
        The retrace is closed, or a symptom is unknown.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the retrace after that revision.
    """
    with records.work("marked", who=who) as work:
        retrace = open_retrace(work, retrace_id)
        symptoms = marked(faults_in_use(work).model, marks)
        there = sum(one.seen == "present" for one in symptoms)
        if not there:
            raise BadSetting(
                "nothing is marked as seen on the print.", todo='Mark at least one picture as "there".'
            )
        work.say(f"what was seen: {there} there, {len(symptoms) - there} not there, on “{retrace.title}”")
        return Acted(work.change(replace(retrace, symptoms=symptoms), seen=seen), work.entry_id)


def marked(model: FaultModel, marks: Mapping[str, Mark]) -> tuple[MarkedSymptom, ...]:
    """Marks as they are kept, in the order of the model.

    Raises
    ------
    BadSetting
        More are marked as there than can be weighed together.
    RefusedInput
        A symptom is unknown.
    """
    strangers = sorted(set(marks) - set(model.symptoms))
    if strangers:
        raise RefusedInput(f'"{strangers[0]}" is no symptom Laydown knows.', todo="Open the page again.")
    kept = []
    for symptom in model.symptoms:
        mark = marks.get(symptom, "not looked at")
        if mark != "not looked at":
            kept.append(MarkedSymptom(symptom=symptom, seen=mark))
    there = sum(one.seen == "present" for one in kept)
    if there > MOST_PRESENT.value:
        raise BadSetting(
            f"{there} are marked as there; at most {MOST_PRESENT.value:.0f} can be weighed together.",
            todo="Keep those that are plainest; two troubles on one print are better retraced one by one.",
        )
    return tuple(kept)
