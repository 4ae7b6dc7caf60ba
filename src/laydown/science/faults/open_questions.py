"""What a ranking leaves open, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from laydown.kernel.constants import Constant
from laydown.science.faults.model import FaultModel
from laydown.science.faults.network import Mark

STANDS_OUT = Constant(
    0.5, "probability", "our judgement: below it a cause is a suspicion", "common practice, no source"
)
USUAL = Constant(
    0.5,
    "probability",
    "our judgement: a symptom brought about at least this often is worth a look",
    "common practice, no source",
)


def still_open(
    model: FaultModel,
    marks: Mapping[str, Mark],
    *,
    chances: Mapping[str, float],
    leading: Sequence[str],
    anything_known: bool,
    exact_forecast: bool,
) -> tuple[str, ...]:
    """What a ranking leaves open.

    Parameters
    ----------
    model : FaultModel
        A whole model.
    marks : mapping of symptom id to mark
        As in `rank`.
    chances : mapping of cause id to probability
        Now.
    leading : sequence of str
        Ids of the leading causes.
    anything_known : bool
        Whether there are answers or evidence.
    exact_forecast : bool
        Whether the forecasts of the checks are exact.

    Returns
    -------
    tuple of str
        Sentences; empty where one cause stands out and explains everything marked.

    Checked against
    ---------------
    A case of each sentence (``test_open_questions.py``).
    """
    present = [symptom for symptom in model.symptoms if marks.get(symptom) == "present"]
    if not present and not anything_known:
        return ("Nothing is marked yet: the list only says how common each cause is.",)
    said = [*_how_sure(model, chances, leading), *_unexplained(model, present, chances)]
    said += _not_looked_for(model, marks, leading)
    if not exact_forecast:
        said.append(
            "So many unlike symptoms are marked that the order of the checks is rough; the chances are exact."
        )
    return tuple(said)


def _how_sure(model: FaultModel, chances: Mapping[str, float], leading: Sequence[str]) -> Iterator[str]:
    sure = [cause for cause, chance in chances.items() if chance >= STANDS_OUT.value]
    if not leading:
        yield "Nothing known speaks for any cause; look for more symptoms, or do a check."
    elif not sure:
        names = " or ".join(f'"{model.causes[cause].name}"' for cause in leading)
        yield f"No cause stands out yet: {names} at most; do the next check before anything is changed."
    elif len(sure) > 1:
        names = " and ".join(f'"{model.causes[cause].name}"' for cause in sure)
        yield f"More than one cause may be at work: {names}. Mend one at a time and print again."


def _unexplained(model: FaultModel, present: Sequence[str], chances: Mapping[str, float]) -> Iterator[str]:
    """Symptoms that come likelier by themselves, or from something not listed, than from any cause."""
    for symptom in present:
        best = max(chances[cause] * model.effects_of(cause).get(symptom, 0.0) for cause in model.causes)
        if best < model.leaks[symptom] or best < 0.1:
            name = model.symptoms[symptom].name
            yield f'Nothing listed explains "{name}" well; it may have a cause of its own.'


def _not_looked_for(model: FaultModel, marks: Mapping[str, Mark], leading: Sequence[str]) -> Iterator[str]:
    for cause in leading:
        missing = [
            f'"{model.symptoms[symptom].name}" ({chance:.0%})'
            for symptom, chance in model.effects_of(cause).items()
            if chance >= USUAL.value and marks.get(symptom, "not looked at") == "not looked at"
        ]
        if missing:
            name = model.causes[cause].name
            yield f'Not looked for yet, though "{name}" often brings it: {", ".join(missing)}.'
