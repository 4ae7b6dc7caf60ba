"""The first page: what to do next in every trial that is running, and where to begin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.trial_list_query import OpenQuestions
from laydown.report.moments import day_words, moment_short, zone
from laydown.trials.clocks import SheetClocks, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.route import Route, route_of
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.trial.list_trials import TrialList
from laydown.web.views.trial_frame import LABELS

REACHED = 5  # stations that are there; the later ones are said on their own pages
MOST_ENDED = 12


@dataclass(frozen=True, slots=True)
class StationDot:
    """One station of a trial on the list."""

    label: str
    status: str


@dataclass(frozen=True, slots=True)
class TrialLine:
    """One running trial: where it stands and the next thing to do."""

    id: str
    name: str
    question: str
    client: str
    begun: str
    invented: bool
    stations: tuple[StationDot, ...]
    next: str
    next_href: str
    told: str
    next_clock: str


@dataclass(frozen=True, slots=True)
class PutAwayLine:
    """One trial that is closed or in the trash."""

    id: str
    name: str
    when: str
    invented: bool


@dataclass(frozen=True, slots=True)
class ToDo:
    """One thing that waits for somebody now."""

    trial: str
    words: str
    href: str
    action: str


@dataclass(frozen=True, slots=True)
class HomeView:
    """The first page. ``begins`` is where nothing has been kept yet; ``shelf`` is which trials are listed."""

    title: str
    shelf: str
    begins: bool
    has_demo: bool
    doing: tuple[ToDo, ...]
    trials: tuple[TrialLine, ...]
    put_away: tuple[PutAwayLine, ...]
    closed: tuple[PutAwayLine, ...]
    closed_count: int
    trash: tuple[PutAwayLine, ...]
    trash_count: int
    number: int
    more: bool


@dataclass(frozen=True, slots=True)
class _Standing:
    """A trial with its route and the clocks of its sheets, worked out once."""

    facts: TrialFacts
    route: Route
    clocks: Mapping[str, SheetClocks]


def home_view(told: TrialList, *, now: datetime, demo_id: str) -> HomeView:
    """The first page, from one page of a shelf of trials."""
    standing = [_standing(facts, now=now) for facts in told.running]
    listed = [facts.trial for facts in told.running]
    first = told.shelf == "running" and told.number == 1
    return HomeView(
        title={"running": "Trials", "closed": "Closed trials", "trash": "Trials in the trash"}[told.shelf],
        shelf=told.shelf,
        begins=not any(told.counts.values()),
        has_demo=any(trial.id == demo_id for trial in (*listed, *told.closed, *told.trash)),
        doing=tuple(_doing(told, standing, now=now)) if first else (),
        trials=tuple(_line(one, now=now) for one in standing),
        put_away=tuple(_put_away(trial, told.studio) for trial in told.listed),
        closed=tuple(_put_away(trial, told.studio) for trial in told.closed) if first else (),
        closed_count=told.counts["closed"],
        trash=tuple(_put_away(trial, told.studio) for trial in told.trash) if first else (),
        trash_count=told.counts["trash"],
        number=told.number,
        more=told.more,
    )


def _standing(facts: TrialFacts, *, now: datetime) -> _Standing:
    clocks = {sheet.id: sheet_clocks(facts, sheet, now=now) for sheet in facts.sheets}
    return _Standing(facts, route_of(facts, now=now), clocks)


def _doing(told: TrialList, standing: Sequence[_Standing], *, now: datetime) -> Iterator[ToDo]:
    for open_one in told.questions:
        yield ToDo(open_one.name, _questions(open_one), f"/trials/{open_one.trial_id}/measure", "Answer")
    ended = [one for trial in standing for one in _ended_today(trial, now=now)]
    yield from ended[:MOST_ENDED]


def _questions(told: OpenQuestions) -> str:
    parts = []
    if told.asked:
        parts.append(
            "Readings with an open question" if told.asked > 1 else "A reading with an open question"
        )
    if told.unplaced:
        parts.append(
            f"{told.unplaced} files that wait for their sheet"
            if told.unplaced > 1
            else "a file that waits for its sheet"
        )
    words = " and ".join(parts)
    return f"{words[:1].upper()}{words[1:]}."


def _ended_today(trial: _Standing, *, now: datetime) -> Iterator[ToDo]:
    """Clocks that ended today, of sheets that nobody has read since, one line for each candidate and deed."""
    facts = trial.facts
    here = zone(facts.studio.time_zone)
    today = now.astimezone(here).date()
    gone = {one.id for one in facts.candidates if one.withdrawn_at is not None}
    grouped: dict[tuple[str, str], list[str]] = {}
    for sheet in facts.sheets:
        if sheet.candidate_id in gone:
            continue
        clocks = trial.clocks[sheet.id]
        ended = _last_ended(clocks, now=now)
        if ended is None or ended.astimezone(here).date() != today:
            continue
        if any(reading.received_at >= ended for reading in facts.readings_of(sheet.id)):
            continue
        coat = clocks.stage == "cured" and clocks.ready_at != clocks.cured_at
        deed = "cured: coat" if coat else "ready: measure"
        grouped.setdefault((facts.candidate(sheet.candidate_id).name, deed), []).append(sheet.code)
    for (name, deed), codes in grouped.items():
        state, action = deed.split(": ")
        sheets = f"Sheet {codes[0]}" if len(codes) == 1 else f"Sheets {', '.join(codes[:-1])} and {codes[-1]}"
        words = f"{sheets} on {name} {'is' if len(codes) == 1 else 'are'} {state} since today."
        yield ToDo(facts.trial.name, words, f"/trials/{facts.trial.id}/settle", action.capitalize())


def _last_ended(clocks: SheetClocks, *, now: datetime) -> datetime | None:
    if clocks.stage not in ("cured", "dry"):
        return None
    ends = [at for at in (clocks.cured_at, clocks.dry_at) if at is not None and at <= now]
    return max(ends, default=None)


def _line(standing: _Standing, *, now: datetime) -> TrialLine:
    trial, route = standing.facts.trial, standing.route
    station, time_zone = route.station(route.current), standing.facts.studio.time_zone
    running = [clocks.ready_at for clocks in standing.clocks.values()]
    coming = min((at for at in running if at is not None and at > now), default=None)
    return TrialLine(
        id=trial.id,
        name=trial.name,
        question=trial.question,
        client=trial.client,
        begun=day_words(trial.begun),
        invented=trial.invented,
        stations=tuple(StationDot(LABELS[one.name], one.status) for one in route.stations[:REACHED]),
        next=station.next or "Everything that can be done here is done; read the comparison.",
        next_href=f"/trials/{trial.id}/{station.name}",
        told=station.words,
        next_clock=moment_short(coming, time_zone=time_zone, now=now) if coming else "",
    )


def _put_away(trial: Trial, studio: Studio) -> PutAwayLine:
    at = trial.removed_at or trial.closed_at
    day = at.astimezone(zone(studio.time_zone)).date() if at else trial.begun
    return PutAwayLine(trial.id, trial.name, day_words(day), trial.invented)
