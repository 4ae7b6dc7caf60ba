"""The stations of a trial in the order a studio works, and where a trial stands at each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from laydown.trials.clocks import SheetClocks, reading_age, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import AnyReading, Doubt, Reading
from laydown.trials.sheets import Sheet, SheetUse
from laydown.trials.studio_time import day_said

StationName = Literal["brief", "plan", "print", "settle", "measure", "look", "last", "cost", "decide", "keep"]
Status = Literal["waiting", "open", "under way", "done", "not yet"]
STATIONS: tuple[StationName, ...] = get_args(StationName)
COMPARED_USES: tuple[SheetUse, ...] = ("test", "spare")

# What each later station will hold; the page says it is not there yet.
NOT_YET: dict[StationName, str] = {
    "look": "Blind judging under a stated light.",
    "last": "Light, brighteners and handling, by comparison and without life claims.",
    "cost": "Cost per good print: media, ink, coat, labour, rejects.",
    "decide": "Gates, weighted criteria and the decision with its reasons.",
    "keep": "The settings to reproduce it, and the watch on later lots.",
}


@dataclass(frozen=True, slots=True)
class Station:
    """Where a trial stands at one station: what is done of what there is to do, and the next thing to do."""

    name: StationName
    status: Status
    done: int
    total: int
    words: str
    next: str


@dataclass(frozen=True, slots=True)
class Route:
    """All stations of a trial, and the one to go to now."""

    stations: tuple[Station, ...]
    current: StationName

    def station(self, name: StationName) -> Station:
        """The station of that name."""
        return self.stations[STATIONS.index(name)]


def route_of(facts: TrialFacts, *, now: datetime) -> Route:
    """Where a trial stands at every station at ``now``."""
    tests = _test_sheets(facts)
    clocks = {sheet.id: sheet_clocks(facts, sheet, now=now) for sheet in tests}
    reached = (
        _brief(facts),
        _plan(facts, tests),
        _print(facts, tests, clocks),
        _settle(tests, clocks),
        _measure(facts, tests, clocks),
    )
    later = tuple(Station(name, "not yet", 0, 0, words, "") for name, words in NOT_YET.items())
    stations = (*reached, *later)
    current = next((one.name for one in reached if one.status in ("open", "under way")), reached[-1].name)
    return Route(stations, current)


def _test_sheets(facts: TrialFacts) -> tuple[Sheet, ...]:
    """Sheets that the trial waits for: test sheets of candidates still in, less those that were spoiled."""
    gone = {candidate.id for candidate in facts.candidates if candidate.withdrawn_at is not None}
    spoiled = {event.sheet_id for event in facts.events if event.kind == "spoiled"}
    return tuple(
        sheet
        for sheet in facts.sheets
        if sheet.use == "test" and sheet.candidate_id not in gone and sheet.id not in spoiled
    )


def _brief(facts: TrialFacts) -> Station:
    brief = facts.brief
    if brief is not None and brief.sealed_at is not None:
        changes = len({change.at for change in facts.brief_changes})
        later = f", changed {_so_many(changes, 'time')} since" if changes else ""
        sealed = day_said(brief.sealed_at, facts.studio)
        return Station("brief", "done", 1, 1, f"Sealed on {sealed}{later}.", "")
    if brief is None:
        return Station("brief", "open", 0, 1, "Nothing is fixed yet.", "Say what is sold and what counts.")
    return Station(
        "brief", "under way", 0, 1, "Not sealed yet.", "Seal the brief before anything is printed."
    )


def _plan(facts: TrialFacts, tests: tuple[Sheet, ...]) -> Station:
    count = sum(candidate.withdrawn_at is None for candidate in facts.candidates)
    if count < 2:
        left = "left" if len(facts.candidates) > count else "so far"
        told = f"{'One' if count else 'No'} candidate {left}."
        return Station(
            "plan", "under way" if count else "open", count, 2, told, "Name at least two candidates."
        )
    if not tests:
        drawn = any(sheet.use == "test" for sheet in facts.sheets)
        told = f"{count} candidates, {'no sheet left' if drawn else 'no sheets yet'}."
        return Station("plan", "under way", 1, 2, told, "Draw the print order.")
    days = len({sheet.day for sheet in tests})
    told = f"{count} candidates, {_so_many(len(tests), 'sheet')}, {_so_many(days, 'day')}."
    return Station("plan", "done", 2, 2, told, "")


def _print(facts: TrialFacts, tests: tuple[Sheet, ...], clocks: dict[str, SheetClocks]) -> Station:
    if not tests:
        return Station("print", "waiting", 0, 0, "Waits for the plan.", "")
    sealed = facts.brief is not None and facts.brief.sealed_at is not None
    done = sum(clocks[sheet.id].printed_at is not None for sheet in tests)
    if not sealed:
        return Station("print", "waiting", done, len(tests), "Waits for the brief to be sealed.", "")
    told = f"{done} of {len(tests)} sheets printed."
    if done == len(tests):
        return Station("print", "done", done, done, told, "")
    following = next(sheet for sheet in tests if clocks[sheet.id].printed_at is None)
    name = facts.candidate(following.candidate_id).name
    status: Status = "under way" if done else "open"
    return Station("print", status, done, len(tests), told, f"Print sheet {following.code} on {name}.")


def _settle(tests: tuple[Sheet, ...], clocks: dict[str, SheetClocks]) -> Station:
    printed = [clocks[sheet.id] for sheet in tests if clocks[sheet.id].printed_at is not None]
    if not printed:
        return Station("settle", "waiting", 0, len(tests), "Waits for the first print.", "")
    ready = sum(_is_ready(one) for one in printed)
    told = f"{ready} of {len(tests)} sheets ready to measure."
    if ready == len(tests):
        return Station("settle", "done", ready, ready, told, "")
    waiting_for_coat = sum(one.stage == "cured" and one.ready_at != one.cured_at for one in printed)
    if waiting_for_coat:
        return Station(
            "settle",
            "under way",
            ready,
            len(tests),
            told,
            f"Coat {_so_many(waiting_for_coat, 'cured sheet')}.",
        )
    running = any(one.stage in ("curing", "drying") for one in printed)
    following = "Wait for the next clock." if running else ""
    return Station("settle", "under way", ready, len(tests), told, following)


def _is_ready(clocks: SheetClocks) -> bool:
    return clocks.stage == "dry" or (clocks.stage == "cured" and clocks.ready_at == clocks.cured_at)


def _measure(facts: TrialFacts, tests: tuple[Sheet, ...], clocks: dict[str, SheetClocks]) -> Station:
    if not any(one.printed_at for one in clocks.values()):
        return Station("measure", "waiting", 0, len(tests), "Waits for prints.", "")
    measured = {reading.sheet_id for reading in facts.readings if is_usable(facts, reading_id=reading.id)}
    done = sum(sheet.id in measured for sheet in tests)
    early = sum(reading.early_used_at is not None for reading in facts.readings)
    so = f", {_so_many(early, 'reading')} of them before settling" if early else " after settling"
    told = f"{done} of {len(tests)} sheets measured{so}."
    looked_at = [reading for reading in facts.readings if reading.set_aside_at is None]
    asked = sum(len(open_doubts(reading)) for reading in looked_at)
    unplaced = sum(reading.sheet_id is None for reading in looked_at)
    if asked or unplaced:
        waiting = ((asked, "open question", ""), (unplaced, "file", " without a sheet"))
        following = " and ".join(f"{_so_many(n, what)}{more}" for n, what, more in waiting if n)
        return Station("measure", "under way", done, len(tests), told, f"See to {following}.")
    if done == len(tests):
        return Station("measure", "done", done, done, told, "")
    status: Status = "under way" if facts.readings else "open"
    return Station("measure", status, done, len(tests), told, "Measure what is ready.")


def _so_many(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def is_usable(facts: TrialFacts, *, reading_id: str) -> bool:
    """Whether a reading goes into comparisons: it may be compared, and no question about it is open.

    Another chart, another sheet or rows in the wrong order: until somebody says, its numbers mean nothing.
    """
    reading = facts.reading(reading_id)
    return not open_doubts(reading) and may_be_compared(facts, reading)


def open_doubts(reading: Reading) -> tuple[Doubt, ...]:
    """The questions about a reading that nobody has answered yet."""
    return tuple(doubt for doubt in reading.doubts if doubt.answer == "")


def may_be_compared(facts: TrialFacts, reading: AnyReading) -> bool:
    """Whether what was read on a sheet, by whatever instrument, goes into comparisons.

    It was not set aside; its sheet is one that is compared, of a candidate still in, and was not spoiled;
    and it was read after settling in the finish its candidate has, or somebody said, with a date, that it is
    to be used early all the same.
    """
    if reading.sheet_id is None or reading.set_aside_at is not None:
        return False
    if facts.events_of(reading.sheet_id, "spoiled"):
        return False
    sheet = facts.sheet(reading.sheet_id)
    candidate = facts.candidate(sheet.candidate_id)
    age = reading_age(facts, reading)
    if age is None or sheet.use not in COMPARED_USES or candidate.withdrawn_at is not None:
        return False
    return age.finish == candidate.finish and (not age.early or reading.early_used_at is not None)
