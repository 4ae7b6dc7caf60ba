"""Close a trial, and open it again."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted


def close_trial(records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Trial]:
    """Close a trial: nothing more is asked of it, everything in it can still be read.

    Raises
    ------
    RefusedInput
        It is in the trash.
    """
    with records.work("closed", who=who, trial_id=trial_id) as work:
        trial = _out_of_the_trash(work, trial_id)
        work.say(f"the trial “{trial.name}”")
        closed = trial if trial.closed_at else replace(trial, closed_at=work.now)
        return Acted(work.change(closed, seen=seen), work.entry_id)


def reopen_trial(records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Trial]:
    """Open a closed trial again.

    Raises
    ------
    RefusedInput
        It is in the trash.
    """
    with records.work("opened again", who=who, trial_id=trial_id) as work:
        trial = _out_of_the_trash(work, trial_id)
        work.say(f"the trial “{trial.name}”")
        return Acted(work.change(replace(trial, closed_at=None), seen=seen), work.entry_id)


def _out_of_the_trash(work: Work, trial_id: str) -> Trial:
    trial = work.get(Trial, trial_id)
    if trial.removed_at is not None:
        raise RefusedInput(f"“{trial.name}” is in the trash.", todo="Bring it back first.")
    return trial
