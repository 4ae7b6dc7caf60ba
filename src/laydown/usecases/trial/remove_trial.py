"""Put a trial into the trash, and bring it back."""

from __future__ import annotations

from dataclasses import replace

from laydown.records.ledger import Records
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.trial.begin_trial import free_name


def remove_trial(records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Trial]:
    """Put a trial into the trash; everything of it stays kept. One that is there already stays there."""
    with records.work("moved to the trash", who=who, trial_id=trial_id) as work:
        trial = work.get(Trial, trial_id)
        work.say(f"the trial “{trial.name}”")
        gone = trial if trial.removed_at else replace(trial, removed_at=work.now)
        return Acted(work.change(gone, seen=seen), work.entry_id)


def bring_back_trial(records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Trial]:
    """Take a trial out of the trash again, as it was.

    Raises
    ------
    BadSetting
        Another trial has its name by now.
    """
    with records.work("brought back", who=who, trial_id=trial_id) as work:
        trial = work.get(Trial, trial_id)
        free_name(work, trial.name, own_id=trial_id)
        work.say(f"the trial “{trial.name}”")
        return Acted(work.change(replace(trial, removed_at=None), seen=seen), work.entry_id)
