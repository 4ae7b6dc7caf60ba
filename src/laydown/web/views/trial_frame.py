"""What stands around every page of a trial: its name and its route."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.trials.facts import TrialFacts
from laydown.trials.route import Route, StationName, route_of

LABELS: dict[StationName, str] = {
    "brief": "Brief",
    "plan": "Plan",
    "print": "Print",
    "settle": "Settle",
    "measure": "Measure",
    "look": "Look",
    "last": "Last",
    "cost": "Cost",
    "decide": "Decide",
    "keep": "Keep",
}


@dataclass(frozen=True, slots=True)
class StationLink:
    """One station on the strip; ``mark`` is a shape that says its status besides the word."""

    name: str
    label: str
    href: str
    status: str
    count: str
    words: str
    next: str
    here: bool


@dataclass(frozen=True, slots=True)
class TrialFrame:
    """Around a page of a trial. ``cautions`` are shown on every page, such as changes to a sealed brief."""

    trial_id: str
    name: str
    question: str
    client: str
    invented: bool
    removed: bool
    stations: tuple[StationLink, ...]
    current: str
    cautions: tuple[str, ...]


def trial_frame(
    facts: TrialFacts, *, now: datetime, here: str = "", route: Route | None = None
) -> TrialFrame:
    """The frame of a trial's page; ``here`` names the station the page belongs to."""
    reached = route or route_of(facts, now=now)
    return TrialFrame(
        trial_id=facts.trial.id,
        name=facts.trial.name,
        question=facts.trial.question,
        client=facts.trial.client,
        invented=facts.trial.invented,
        removed=facts.trial.removed_at is not None,
        stations=tuple(
            StationLink(
                name=station.name,
                label=LABELS[station.name],
                href=f"/trials/{facts.trial.id}/{station.name}",
                status=station.status,
                count=f"{station.done}/{station.total}" if station.total > 1 else "",
                words=station.words,
                next=station.next,
                here=station.name == here,
            )
            for station in reached.stations
        ),
        current=reached.current,
        cautions=_cautions(facts),
    )


def _cautions(facts: TrialFacts) -> tuple[str, ...]:
    told = []
    count = len({change.at for change in facts.brief_changes})
    if count:
        times = "once" if count == 1 else f"{count} times"
        told.append(f"The brief was changed {times} after it was sealed; see the brief.")
    sealed = facts.brief.sealed_at if facts.brief else None
    test = {sheet.id for sheet in facts.sheets if sheet.use == "test"}
    first = min((e.at for e in facts.events if e.kind == "printed" and e.sheet_id in test), default=None)
    if sealed is not None and first is not None and first < sealed:
        told.append("Printing had begun before the brief was sealed.")
    return tuple(told)
