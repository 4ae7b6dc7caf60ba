"""What would go into a support file, and what stays here."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.trials.retracing import Retrace
from laydown.trials.trial import Trial
from laydown.usecases.archives.support_file import support_of
from laydown.web.views.notes import size_words


@dataclass(frozen=True, slots=True)
class SupportView:
    """The page before saving. ``summary`` is the whole text as it would be sent."""

    id: str
    title: str
    trial: str
    named: bool
    originals: tuple[str, ...]
    house: int
    pictures: tuple[str, ...]
    stays: tuple[str, ...]
    summary: str


def support_view(look: Look, retrace_id: str, *, keep_trial_name: bool) -> SupportView:
    """The page before saving."""
    retrace = look.get(Retrace, retrace_id)
    told = support_of(look, retrace_id, keep_trial_name=keep_trial_name, copies=False)
    trial = look.seek(Trial, retrace.trial_id)
    listed = [(name, f"{name.rpartition('/')[2]}, {size_words(len(file))}") for name, file in told.members]
    return SupportView(
        id=retrace.id,
        title=retrace.title,
        trial=trial.name if trial else "",
        named=keep_trial_name,
        originals=tuple(words for name, words in listed if name.startswith("readings/this-medium/original/")),
        house=told.house_readings,
        pictures=tuple(words for name, words in listed if name.startswith("photographs/")),
        stays=told.stays,
        summary=told.summary,
    )
