"""Give a trial another name, question or client."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.trials.trial import Brief, Trial
from laydown.usecases.acted import Acted
from laydown.usecases.trial.begin_trial import LONGEST_NAME, LONGEST_QUESTION, free_name, one_line


def rename_trial(
    records: Records,
    trial_id: str,
    *,
    who: str,
    name: str,
    question: str,
    client: str,
    seen: int | None = None,
) -> Acted[Trial]:
    """Change what a trial is called, what it asks and for whom; nothing else of it.

    Raises
    ------
    BadSetting
        The name is missing, too long, or another trial has it.
    RefusedInput
        The question would change although the brief is sealed, or the trial is in the trash.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the trial after that revision.
    """
    with records.work("changed", who=who, trial_id=trial_id) as work:
        before = work.get(Trial, trial_id)
        if before.removed_at is not None:
            raise RefusedInput(f"“{before.name}” is in the trash.", todo="Bring it back first.")
        after = replace(
            before,
            name=free_name(work, name, own_id=trial_id),
            question=one_line(question, "the question", LONGEST_QUESTION),
            client=one_line(client, "the client", LONGEST_NAME),
        )
        if after.question != before.question and any(
            brief.sealed_at for brief in work.find(Brief, trial_id=trial_id)
        ):
            raise RefusedInput(
                "the question was sealed with the brief and is not reworded here.",
                todo="Make a dated change to the brief instead; it keeps the old wording beside the new.",
            )
        parts = {
            "the name": after.name != before.name,
            "the question": after.question != before.question,
            "the client": after.client != before.client,
        }
        told = " and ".join(part for part, differs in parts.items() if differs)
        work.say(f"{told} of the trial “{before.name}”")
        return Acted(work.change(after, seen=seen), work.entry_id)
