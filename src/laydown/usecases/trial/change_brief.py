"""Change a sealed brief: dated, with the reason, on top of the sealed text."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.brief_changes import LABELS, Alteration, alterations, brief_in_force
from laydown.trials.trial import Brief, BriefChange
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.trial.write_brief import brief_of, refuse_slips


def change_brief(
    records: Records, wanted: Brief, *, why: str, who: str, seen: int | None = None
) -> Acted[tuple[BriefChange, ...]]:
    """Note every difference between the brief in force and the one wanted as a dated change.

    ``seen`` is the number of changes that were known when the wanted brief was written.

    Raises
    ------
    RefusedInput
        The brief is not sealed, or nothing differs.
    BadSetting
        The reason is missing, or the wanted brief says something that cannot stand.
    ChangedMeanwhile
        Somebody else changed it since.
    """
    if not why.strip():
        raise BadSetting("the reason is missing.", todo="Say why the brief is changed.")
    refuse_slips(wanted)
    with records.work("changed", who=who, trial_id=wanted.trial_id, words="the brief:") as work:
        open_trial(work, wanted.trial_id)
        sealed = brief_of(work, wanted.trial_id)
        if sealed is None or sealed.sealed_at is None:
            raise RefusedInput("this brief is not sealed yet.", todo="Write into it; no reason is needed.")
        known = work.find(BriefChange, trial_id=wanted.trial_id, order=("at", "id"))
        if seen is not None and len(known) != seen:
            raise ChangedMeanwhile(
                "somebody else changed the brief while your page was open.",
                todo="Look at it as it is now, then make your change again.",
            )
        found = alterations(brief_in_force(sealed, known), wanted)
        if not found:
            raise RefusedInput("nothing differs from the brief in force.", todo="Nothing was changed.")
        at = _after(known, work.now)
        made = tuple(
            work.add(_change(one, records.new_id(), wanted.trial_id, at=at, by=who, why=why)) for one in found
        )
        work.say(f"{_named(found)}, because {why.strip()}".rstrip("."))
        return Acted(made, work.entry_id)


def _after(known: Sequence[BriefChange], now: datetime) -> datetime:
    """Now, or just after the last change where a clock was put back: their order is their meaning."""
    return max([now, *(one.at + timedelta(microseconds=1) for one in known)])


def _change(
    one: Alteration, change_id: str, trial_id: str, *, at: datetime, by: str, why: str
) -> BriefChange:
    return BriefChange(
        id=change_id,
        trial_id=trial_id,
        at=at,
        by=by,
        field=one.field,
        part=one.part,
        before=one.before,
        after=one.after,
        before_plain=one.before_plain,
        after_plain=one.after_plain,
        why=why.strip(),
    )


def _named(found: Sequence[Alteration]) -> str:
    return ", ".join(f"{LABELS[one.field]} {one.part}".strip() for one in found)
