"""Write the brief of a trial, as often as wanted until it is sealed."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.trials.brief_checks import brief_slips
from laydown.trials.trial import Brief
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial


def write_brief(records: Records, told: Brief, *, who: str, seen: int | None = None) -> Acted[Brief]:
    """Keep a draft; ``told`` names the trial, its id and seal are not looked at.

    Raises
    ------
    RefusedInput
        The brief is sealed.
    BadSetting
        It says something that cannot stand.
    ChangedMeanwhile
        Somebody else wrote it after the revision ``seen``.
    """
    refuse_slips(told)
    with records.work("wrote", who=who, trial_id=told.trial_id, words="the brief") as work:
        open_trial(work, told.trial_id)
        kept = brief_of(work, told.trial_id)
        if kept is not None and kept.sealed_at is not None:
            raise RefusedInput("this brief is sealed.", todo="Make a dated change to it, with the reason.")
        draft = replace(told, id=kept.id if kept else records.new_id(), sealed_at=None, sealed_by="", seal="")
        thing = work.change(draft, seen=seen) if kept else work.add(draft)
        return Acted(thing, work.entry_id)


def brief_of(look: Look, trial_id: str) -> Brief | None:
    """The brief of a trial, if there is one."""
    return next(iter(look.find(Brief, trial_id=trial_id)), None)


def refuse_slips(brief: Brief) -> None:
    """BadSetting where a brief says something that cannot stand; every slip is named."""
    slips = brief_slips(brief)
    if slips:
        told = " ".join(slips)
        raise BadSetting(told[:1].upper() + told[1:], todo="Correct that.")
