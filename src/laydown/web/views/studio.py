"""The studio's settings, as they stand in their form."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import available_timezones

from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID
from laydown.records.trial_list_query import trial_ids
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial

MOST_TRIALS = 200


@dataclass(frozen=True, slots=True)
class StudioView:
    """The form; ``texts`` is what stands in it, ``seen`` the state it shows."""

    texts: dict[str, str]
    zones: tuple[str, ...]
    trials: tuple[tuple[str, str], ...]
    seen: str
    begun: bool
    refusal: str = ""


def studio_view(
    look: Look, *, typed: dict[str, str] | None = None, seen: str = "", refusal: str = ""
) -> StudioView:
    """The form, with what is kept or with what was typed."""
    kept = look.seek(Studio, STUDIO_ID)
    studio = kept or Studio(id=STUDIO_ID)
    running = look.find_any(Trial, "id", trial_ids(look, "running", limit=MOST_TRIALS), order=("name",))
    texts = typed or {
        "name": studio.name,
        "place": studio.place,
        "time_zone": studio.time_zone,
        "units": studio.units,
        "paper": studio.paper,
        "cure_hours": f"{studio.cure_hours:g}",
        "dry_hours": f"{studio.dry_hours:g}",
        "watched_folder": studio.watched_folder,
        "watched_trial_id": studio.watched_trial_id or "",
    }
    return StudioView(
        texts=texts,
        zones=tuple(sorted(available_timezones())),
        trials=tuple((trial.id, trial.name) for trial in running),
        seen=seen or str(look.revision(Studio, STUDIO_ID)),
        begun=kept is not None,
        refusal=refusal,
    )
