"""Seal the brief of a trial: from then on it changes only by dated changes."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.brief_checks import missing_for_seal
from laydown.trials.seals import seal_of
from laydown.trials.trial import Brief
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.trial.write_brief import brief_of, refuse_slips


def seal_brief(records: Records, trial_id: str, *, who: str, seen: int | None = None) -> Acted[Brief]:
    """Seal what the brief says now; this cannot be undone.

    Raises
    ------
    RefusedInput
        There is no brief, or it is sealed.
    BadSetting
        What a seal must hold is missing.
    ChangedMeanwhile
        Somebody else wrote it after the revision ``seen``: what was read is not what would be sealed.
    """
    with records.work("sealed", who=who, trial_id=trial_id, words="the brief", final=True) as work:
        open_trial(work, trial_id)
        brief = brief_of(work, trial_id)
        if brief is None:
            raise RefusedInput("there is no brief yet.", todo="Write it first.")
        if brief.sealed_at is not None:
            raise RefusedInput("this brief is sealed already.", todo="Make a dated change to it.")
        missing = missing_for_seal(brief)
        if missing:
            raise BadSetting(" ".join(missing), todo="Write that into the brief, then seal it.")
        refuse_slips(brief)
        # To the microsecond, which is what a database gives back: the seal must hold after a restart.
        sealed = replace(brief, sealed_at=work.now, sealed_by=who, seal=seal_of(brief, at=work.now, by=who))
        return Acted(work.change(sealed, seen=seen), work.entry_id)
