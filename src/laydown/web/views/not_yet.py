"""Stations that are not there yet: what each will be for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.trials.facts import TrialFacts
from laydown.trials.route import NOT_YET, StationName
from laydown.web.views.notes import NotesView
from laydown.web.views.trial_frame import LABELS, TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class NotYetView:
    """A station that is not there yet; its template holds what can be done by hand."""

    frame: TrialFrame
    station: StationName
    label: str
    what_for: str
    notes: NotesView


def not_yet_view(facts: TrialFacts, station: StationName, notes: NotesView, *, now: datetime) -> NotYetView:
    """The page of one such station."""
    return NotYetView(
        frame=trial_frame(facts, now=now, here=station),
        station=station,
        label=LABELS[station],
        what_for=NOT_YET[station],
        notes=notes,
    )
