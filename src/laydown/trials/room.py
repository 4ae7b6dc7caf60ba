"""How damp the room was when a sheet was printed: as noted with it, else as noted nearest to it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter

from laydown.kernel.constants import Constant
from laydown.trials.sheets import BenchRun, SheetEvent

NEAR_HOURS = Constant(
    12.0, "h", "our own judgement: within a working day the room is taken to stay as it was", "computed"
)


@dataclass(frozen=True, slots=True, order=True)
class RoomNote:
    """The relative humidity of the print room in percent, as it was read off at one time."""

    at: datetime
    rh: float


def room_notes(runs: Iterable[BenchRun], events: Iterable[SheetEvent]) -> tuple[RoomNote, ...]:
    """What was noted of the print room with sittings and prints; a coat may be put on in another room."""
    sittings = (RoomNote(run.begun_at, run.room_rh) for run in runs if run.room_rh is not None)
    prints = (
        RoomNote(one.at, one.room_rh) for one in events if one.kind == "printed" and one.room_rh is not None
    )
    return tuple(sorted({*sittings, *prints}))


def note_near(notes: Sequence[RoomNote], at: datetime) -> RoomNote | None:
    """The last note up to a moment, else the first one after it; None where both are too far off.

    ``notes`` stand in order of time.
    """
    place = bisect_right(notes, at, key=attrgetter("at"))
    beside = (*notes[max(place - 1, 0) : place], *notes[place : place + 1])
    return next((one for one in beside if abs(one.at - at) <= timedelta(hours=NEAR_HOURS.value)), None)
