"""Begin a trial."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID
from laydown.records.trial_list_query import trials_called
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted

LONGEST_NAME = 120
LONGEST_QUESTION = 500


def begin_trial(
    records: Records,
    name: str,
    *,
    who: str,
    question: str = "",
    client: str = "",
    begun: date | None = None,
) -> Acted[Trial]:
    """Begin a trial, today unless another day is named; its clocks start from the studio's usual hours.

    Raises
    ------
    BadSetting
        The name is missing, too long, or another trial has it.
    """
    with records.work("began", who=who) as work:
        studio = work.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
        trial = Trial(
            id=records.new_id(),
            name=free_name(work, name),
            question=one_line(question, "the question", LONGEST_QUESTION),
            client=one_line(client, "the client", LONGEST_NAME),
            begun=begun or _today(studio, work.now),
            cure_hours=studio.cure_hours,
            dry_hours=studio.dry_hours,
        )
        work.about(trial.id)
        work.say(f"the trial “{trial.name}”")
        return Acted(work.add(trial), work.entry_id)


def free_name(look: Look, name: str, *, own_id: str = "") -> str:
    """A name for a trial, trimmed, that no other trial has; trials in the trash do not count.

    Raises
    ------
    BadSetting
        It is missing, too long or taken.
    """
    wanted = one_line(name, "the name", LONGEST_NAME)
    if not wanted:
        raise BadSetting("the trial has no name.", todo="Give it one you will know it by next year.")
    for other in trials_called(look, wanted):
        if other.id != own_id and other.removed_at is None:
            raise BadSetting(
                f"there is a trial called “{other.name}” already.",
                todo="Choose another name, for instance with the season in it.",
            )
    return wanted


def one_line(text: str, what: str, longest: int) -> str:
    """Words on one line, trimmed, not longer than allowed; BadSetting where they are."""
    line = " ".join(text.split())
    if len(line) > longest:
        raise BadSetting(
            f"{what} is longer than {longest} characters.", todo="Shorten it; notes may be long."
        )
    return line


def _today(studio: Studio, now: datetime) -> date:
    """The day it is where the studio is."""
    there = ZoneInfo(studio.time_zone) if studio.time_zone else None
    return now.astimezone(UTC).astimezone(there).date()
