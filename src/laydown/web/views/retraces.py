"""The list of bad prints that are or were retraced, and the page of a studio's own numbers."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.records.retrace_list_query import listed_retraces
from laydown.records.trial_facts import STUDIO_ID
from laydown.report.moments import moment_words
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.retracing.own_faults import faults_in_use

PAGE_LENGTH = 30


@dataclass(frozen=True, slots=True)
class RetraceLine:
    """One retrace of the list."""

    id: str
    title: str
    outcome: str
    begun: str
    by: str
    seen: str
    trial: str
    invented: bool


@dataclass(frozen=True, slots=True)
class RetraceListView:
    """One page of the list, open ones first."""

    lines: tuple[RetraceLine, ...]
    number: int
    more: bool


@dataclass(frozen=True, slots=True)
class OwnNumbersView:
    """A studio's own numbers about faults; ``trouble`` says why a file was refused or cannot be used."""

    kept: str
    attachment_id: str
    own: tuple[str, ...]
    trouble: str


def studio_of(look: Look) -> Studio:
    """The studio as it is kept, or as it is where nothing was set."""
    return look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)


def retrace_list_view(look: Look, *, number: int) -> RetraceListView:
    """One page of the list: open ones, then those that are closed, each the newest first."""
    found = listed_retraces(look, limit=PAGE_LENGTH + 1, offset=(number - 1) * PAGE_LENGTH)
    shown = found[:PAGE_LENGTH]
    trials = {one.id: one for one in look.find_any(Trial, "id", {r.trial_id for r in shown if r.trial_id})}
    model, zone = faults_in_use(look).model, studio_of(look).time_zone
    lines = []
    for one in shown:
        names = [
            model.symptoms[mark.symptom].name
            for mark in one.symptoms
            if mark.seen == "present" and mark.symptom in model.symptoms
        ]
        trial = trials.get(one.trial_id or "")
        lines.append(
            RetraceLine(
                id=one.id,
                title=one.title,
                outcome=one.outcome,
                begun=moment_words(one.begun_at, time_zone=zone),
                by=one.by,
                seen="; ".join(names),
                trial=trial.name if trial else "",
                invented=bool(trial and trial.invented),
            )
        )
    return RetraceListView(tuple(lines), number, len(found) > PAGE_LENGTH)


def own_numbers_view(look: Look, *, trouble: str = "") -> OwnNumbersView:
    """What is kept of a studio's own numbers."""
    used = faults_in_use(look)
    kept = ""
    if used.own is not None:
        kept = f"taken in {moment_words(used.own.at, time_zone=studio_of(look).time_zone)} by {used.own.by}"
    return OwnNumbersView(
        kept=kept,
        attachment_id=used.own.id if used.own else "",
        own=used.model.own,
        trouble=trouble or used.trouble,
    )
