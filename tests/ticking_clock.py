"""A clock for tests: stands where it is set, and moves on one second each time it is read."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

MONDAY_NINE = datetime(2026, 3, 2, 9, tzinfo=UTC)


class Clock:
    """Give it to ``open_records(clock=...)``; ``now`` is what the next reading gives, and may be set."""

    def __init__(self, now: datetime = MONDAY_NINE, *, tick: timedelta = timedelta(seconds=1)) -> None:
        self.now = now
        self.tick = tick

    def __call__(self) -> datetime:
        now = self.now
        self.now = now + self.tick
        return now

    def advance(self, **by: float) -> datetime:
        """Move on, as in ``clock.advance(hours=24)``; the new time."""
        self.now += timedelta(**by)
        return self.now
