"""Work at the bench goes into trials that are open: neither closed nor in the trash."""

from __future__ import annotations

from laydown.kernel.errors import RefusedInput
from laydown.records.work import Work
from laydown.trials.trial import Candidate, Trial


def open_trial(work: Work, trial_id: str) -> Trial:
    """The trial, which becomes what the work is about.

    Raises
    ------
    RefusedInput
        It was closed or moved to the trash.
    """
    trial = work.get(Trial, trial_id)
    if trial.removed_at is not None:
        raise RefusedInput(f"“{trial.name}” is in the trash.", todo="Bring it back first.")
    if trial.closed_at is not None:
        raise RefusedInput(f"“{trial.name}” is closed.", todo="Open it again first.")
    work.about(trial_id)
    return trial


def candidate_at_work(work: Work, candidate_id: str) -> Candidate:
    """A candidate that is still in its open trial.

    Raises
    ------
    RefusedInput
        It was withdrawn, or its trial is not open.
    """
    candidate = work.get(Candidate, candidate_id)
    open_trial(work, candidate.trial_id)
    if candidate.withdrawn_at is not None:
        raise RefusedInput(
            f"{candidate.name} was withdrawn from the trial.", todo="Take it back in first, on the plan."
        )
    return candidate
