"""What the board shows: everything that cures, dries or waits, across all running trials."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.board_query import OpenSitting
from laydown.report.moments import moment_short, moment_words, zone_words
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.bench.board import BoardLine
from laydown.web.views.sheet_lines import SheetLine, sheet_line

PAGE_LENGTH = 40


@dataclass(frozen=True, slots=True)
class TrialTab:
    """A running trial to look at alone."""

    id: str
    name: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class SittingLine:
    """A sitting that is open at a printer."""

    href: str
    words: str
    since: str


@dataclass(frozen=True, slots=True)
class BoardView:
    """The board. ``due`` can be done now, ``running`` are clocks; ``at`` is when this was true."""

    tabs: tuple[TrialTab, ...]
    chosen: str
    sittings: tuple[SittingLine, ...]
    due: tuple[SheetLine, ...]
    running: tuple[SheetLine, ...]
    due_count: int
    running_count: int
    number: int
    more: bool
    query: str
    at: str
    zone: str
    any_trial: bool


def board_view(
    lines: Sequence[BoardLine],
    trials: Sequence[Trial],
    sittings: Sequence[OpenSitting],
    *,
    studio: Studio,
    now: datetime,
    number: int,
    trial_id: str,
) -> BoardView:
    """One page of the board."""
    first = (number - 1) * PAGE_LENGTH
    shown = lines[first : first + PAGE_LENGTH]
    due = sum(line.since is not None for line in lines)
    known = {trial.id: trial for trial in trials}
    # A trial that is looked at alone has its tab however long ago it was worked on.
    tabs = [TrialTab(one.id, one.name, one.id == trial_id) for one in known.values()]
    return BoardView(
        tabs=tuple(tabs),
        chosen=trial_id,
        sittings=tuple(
            SittingLine(
                f"/bench/{one.run_id}",
                f"{one.candidate} at {one.printer} ({one.trial})",
                moment_short(one.begun_at, time_zone=studio.time_zone, now=now),
            )
            for one in sittings
        ),
        due=tuple(sheet_line(line, now=now) for line in shown if line.since is not None),
        running=tuple(sheet_line(line, now=now) for line in shown if line.since is None),
        due_count=due,
        running_count=len(lines) - due,
        number=number,
        more=len(lines) > first + PAGE_LENGTH,
        query=f"trial={trial_id}&" if trial_id else "",
        at=moment_words(now, time_zone=studio.time_zone),
        zone=zone_words(studio.time_zone, now=now),
        any_trial=bool(trials),
    )
