"""Set what the studio is called, where it is, and how it measures and waits."""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import available_timezones

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.bench.settle_hours import check_wait


def set_studio(records: Records, studio: Studio, *, who: str, seen: int | None = None) -> Acted[Studio]:
    """Keep the studio's settings. Trials that began before keep the hours they began with.

    Raises
    ------
    BadSetting
        The time zone is none, a wait is not possible, or the watched trial is not running.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the settings after that revision.
    """
    with records.work("set", who=who, words="the studio's settings") as work:
        wanted = replace(
            studio,
            id=STUDIO_ID,
            name=" ".join(studio.name.split()),
            place=" ".join(studio.place.split()),
            time_zone=studio.time_zone.strip(),
            watched_folder=studio.watched_folder.strip(),
        )
        if wanted.time_zone and wanted.time_zone not in available_timezones():
            raise BadSetting(
                f'"{wanted.time_zone}" is no time zone.',
                todo='Choose one of the list, such as "Europe/Paris".',
            )
        check_wait(wanted.cure_hours, "cure")
        check_wait(wanted.dry_hours, "dry")
        if wanted.watched_trial_id is not None:
            trial = work.get(Trial, wanted.watched_trial_id)
            if trial.removed_at or trial.closed_at:
                raise BadSetting(f"“{trial.name}” is not running.", todo="Choose a running trial, or none.")
        if work.seek(Studio, STUDIO_ID) is None:
            return Acted(work.add(wanted), work.entry_id)
        return Acted(work.change(wanted, seen=seen), work.entry_id)
