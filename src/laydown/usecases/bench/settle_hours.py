"""The hours a candidate's sheets are given to cure and to dry, where the usual ones do not fit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.trials.contradictions import LONGEST_WAIT
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import candidate_at_work

ACTION = "set the hours of"
_LOOKED_THROUGH = 100


@dataclass(frozen=True, slots=True)
class HoursSaid:
    """Why a candidate has its own hours: in whose words, and since when."""

    words: str
    by: str
    at: datetime


def set_hours(
    records: Records,
    candidate_id: str,
    *,
    cure_hours: float | None,
    dry_hours: float | None,
    why: str,
    who: str,
    seen: int | None = None,
) -> Acted[Candidate]:
    """Give a candidate hours of its own to cure and dry, with the reason; None goes back to the usual ones.

    The clocks of all its sheets move with it, of those printed before as well.

    Raises
    ------
    BadSetting
        No reason is given, or hours that cannot be.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the candidate after that revision.
    """
    if not why.strip():
        raise BadSetting("why these hours?", todo="Say it in a few words, such as what a test has shown.")
    check_wait(cure_hours, "cure")
    check_wait(dry_hours, "dry")
    with records.work(ACTION, who=who) as work:
        candidate = candidate_at_work(work, candidate_id)
        told = [f"{what} {_hours(hours)}" for what, hours in (("cure", cure_hours), ("dry", dry_hours))]
        work.say(f"{candidate.name} to {', '.join(told)}: {why.strip()}")
        changed = replace(candidate, cure_hours=cure_hours, dry_hours=dry_hours)
        return Acted(work.change(changed, seen=seen), work.entry_id)


def check_wait(hours: float | None, what: str) -> None:
    """Refuse hours to ``what`` ("cure", "dry") that cannot be; None passes.

    Raises
    ------
    BadSetting
        They are not above 0, or more than a year.
    """
    if hours is not None and not 0 < hours <= LONGEST_WAIT.value:
        raise BadSetting(
            f"{hours:.10g} hours to {what} cannot be.",
            todo=f"Write a number above 0, at most {LONGEST_WAIT.value:.0f} (a year).",
        )


def hours_said(look: Look, candidate: Candidate) -> HoursSaid | None:
    """Why a candidate has its own hours, from the journal; None where it has the usual ones."""
    if candidate.cure_hours is None and candidate.dry_hours is None:
        return None
    for entry in look.entries(record_id=candidate.id, limit=_LOOKED_THROUGH):
        if entry.action == ACTION and _stands(look, entry.id):
            return HoursSaid(entry.words.partition(": ")[2], entry.who, entry.at)
    return None


def _stands(look: Look, entry_id: str) -> bool:
    """Whether an act stands: it was never undone, or its undoing was undone."""
    undoing = look.undone_by([entry_id]).get(entry_id)
    return undoing is None or not _stands(look, undoing)


def _hours(hours: float | None) -> str:
    return "as usual" if hours is None else f"{hours:g} h"
