"""Withdraw a candidate from a trial, take it back in, or strike one off that was named by mistake."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.trial.name_candidate import candidates_of, printed_sheets


def withdraw_candidate(
    records: Records, candidate_id: str, *, why: str, who: str, seen: int | None = None
) -> Acted[Candidate]:
    """Take a candidate out of the trial; its sheets and readings stay on record and are not waited for.

    Raises
    ------
    BadSetting
        The reason is missing: without it nobody can tell later whether it was taken out for its result.
    RefusedInput
        It was withdrawn already.
    """
    reason = why.strip().rstrip(".")
    if not reason:
        raise BadSetting("the reason is missing.", todo="Say why the candidate is taken out.")
    with records.work("withdrew", who=who) as work:
        candidate = work.get(Candidate, candidate_id)
        open_trial(work, candidate.trial_id)
        if candidate.withdrawn_at is not None:
            raise RefusedInput(f"{candidate.name} was withdrawn already.", todo="Nothing was changed.")
        work.say(f"{candidate.name} from the trial, because {reason}")
        out = replace(candidate, withdrawn_at=work.now, withdrawn_why=reason)
        return Acted(work.change(out, seen=seen), work.entry_id)


def readmit_candidate(records: Records, candidate_id: str, *, who: str) -> Acted[Candidate]:
    """Take a withdrawn candidate back in."""
    with records.work("took back in", who=who) as work:
        candidate = work.get(Candidate, candidate_id)
        open_trial(work, candidate.trial_id)
        work.say(candidate.name)
        return Acted(work.change(replace(candidate, withdrawn_at=None, withdrawn_why="")), work.entry_id)


def strike_candidate(records: Records, candidate_id: str, *, who: str) -> Acted[Candidate]:
    """Strike a candidate off that was named by mistake, with its sheets that are still to be printed.

    Raises
    ------
    RefusedInput
        It has been to the printer, or its coated arm is still there.
    """
    with records.work("struck off", who=who) as work:
        candidate = work.get(Candidate, candidate_id)
        open_trial(work, candidate.trial_id)
        printed = printed_sheets(work, candidate_id)
        if printed:
            raise RefusedInput(
                f"sheet {printed[0].code} of {candidate.name} was begun already.",
                todo="Withdraw it with the reason; what was printed stays on record.",
            )
        if work.count(BenchRun, candidate_id=candidate_id):
            raise RefusedInput(
                f"{candidate.name} has been to the printer.",
                todo="Withdraw it with the reason; the bench run stays on record.",
            )
        for arm in candidates_of(work, candidate.trial_id):
            if arm.twin_id == candidate_id:
                raise RefusedInput(f"{arm.name} is its coated arm.", todo="Strike that off first.")
        for sheet in work.find(Sheet, candidate_id=candidate_id):
            work.remove(Sheet, sheet.id)
        work.remove(Candidate, candidate_id)
        work.say(candidate.name)
        return Acted(candidate, work.entry_id)
