"""The items of a trial's calendar, laid into working hours one after another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from laydown.trials.clocks import SheetClocks, sheet_clocks
from laydown.trials.facts import TrialFacts
from laydown.trials.sheets import Sheet
from laydown.trials.trial import Candidate
from laydown.trials.working_time import WorkingHours

ItemKind = Literal["work", "wait", "gate"]
State = Literal["done", "taken as done", "under way", "ahead"]


@dataclass(frozen=True, slots=True)
class CalendarItem:
    """One thing in the calendar. ``id`` is stable; times are UTC; ``gate`` is what must hold to go on.

    ``counts`` is False for what runs on after the decision and does not press on the stop date.
    """

    id: str
    title: str
    begins: datetime
    ends: datetime
    kind: ItemKind
    gate: str
    why: str
    state: State = "ahead"
    counts: bool = True


class Diary:
    """Items as they are found, with what they are found from."""

    def __init__(
        self,
        facts: TrialFacts,
        candidates: tuple[Candidate, ...],
        sheets: tuple[Sheet, ...],
        now: datetime,
        hours: WorkingHours,
    ) -> None:
        self.facts = facts
        self.candidates = candidates
        self.sheets = sheets
        self.now = now
        self.hours = hours
        self.items: list[CalendarItem] = []
        self.clocks: dict[str, SheetClocks] = {s.id: sheet_clocks(facts, s, now=now) for s in sheets}
        printed = [one.printed_at for one in self.clocks.values() if one.printed_at is not None]
        self.first_print = min(printed, default=None)

    def add(
        self,
        name: str,
        title: str,
        begins: datetime,
        ends: datetime,
        kind: ItemKind,
        gate: str,
        why: str,
        *,
        state: State = "ahead",
        counts: bool = True,
    ) -> datetime:
        """Keep an item; returns its end."""
        if state == "ahead" and kind == "wait" and begins <= self.now < ends:
            state = "under way"
        self.items.append(CalendarItem(name, title, begins, ends, kind, gate, why, state, counts))
        return ends

    def unrecorded(
        self,
        name: str,
        title: str,
        earliest: datetime,
        needed: float,
        gate: str,
        why: str,
    ) -> datetime:
        """Work that leaves no record: taken as done once its time, or the first print, has passed."""
        begins = self.hours.next_moment(earliest)
        ends = self.hours.after(begins, needed)
        if self.first_print is not None:
            begins, ends = min(begins, self.first_print), min(ends, self.first_print)
        passed = ends <= self.now or self.first_print is not None
        state: State = "taken as done" if passed else "under way" if begins <= self.now else "ahead"
        return self.add(name, title, begins, ends, "work", gate, why, state=state)

    def unrecorded_after(
        self,
        name: str,
        title: str,
        earliest: datetime,
        needed: float,
        gate: str,
        why: str,
    ) -> datetime:
        """Work after the measurements that is not recorded yet: never put into the past."""
        begins = self.hours.next_moment(max(earliest, self.now))
        return self.add(name, title, begins, self.hours.after(begins, needed), "work", gate, why)

    def recorded(
        self,
        name: str,
        title: str,
        done: list[datetime],
        wanted: int,
        earliest: datetime,
        needed: float,
        gate: str,
        why: str,
    ) -> datetime:
        """Work on sheets whose times are kept; what is left of it lies ahead of now."""
        if len(done) >= wanted:
            return self.add(name, title, min(done), max(done), "work", gate, why, state="done")
        begins = self.hours.next_moment(max(earliest, self.now))
        ends = self.hours.after(begins, needed * (wanted - len(done)) / wanted)
        if done:
            return self.add(name, title, min(done), ends, "work", gate, why, state="under way")
        return self.add(name, title, begins, ends, "work", gate, why)
