"""Working hours of a studio: when work may begin, and when so many hours of it are over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from laydown.kernel.errors import BadSetting


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingHours:
    """When a studio works. ``weekdays`` counts from Monday = 0; ``zone`` is where its clock hangs.

    Raises BadSetting where no working day is left, or a day ends before it begins.
    """

    begins: time = time(9)
    ends: time = time(17)
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    zone: tzinfo = UTC

    def __post_init__(self) -> None:
        if not set(self.weekdays) & set(range(7)):
            raise BadSetting("no working day is left in the week.", todo="Name at least one.")
        if self.begins >= self.ends:
            raise BadSetting(
                f"a working day cannot end at {self.ends:%H:%M} and begin at {self.begins:%H:%M}.",
                todo="Give an end later than the beginning.",
            )

    def day_of(self, moment: datetime) -> date:
        """The date on the studio's wall."""
        return moment.astimezone(self.zone).date()

    def opening(self, day: date) -> datetime:
        """When work begins on a day, whether or not it is a working day."""
        return datetime.combine(day, self.begins, self.zone).astimezone(UTC)

    def closing(self, day: date) -> datetime:
        """When work ends on a day, whether or not it is a working day."""
        return datetime.combine(day, self.ends, self.zone).astimezone(UTC)

    def next_moment(self, moment: datetime) -> datetime:
        """The first moment from then on at which somebody works."""
        day = self.day_of(moment)
        while day.weekday() not in self.weekdays or moment >= self.closing(day):
            day += timedelta(days=1)
        return max(moment.astimezone(UTC), self.opening(day))

    def next_day(self, moment: datetime) -> datetime:
        """When work begins on the next working day."""
        return self.next_moment(self.opening(self.day_of(moment) + timedelta(days=1)))

    def after(self, moment: datetime, hours: float) -> datetime:
        """When so many hours of work are over, begun as soon as may be; nights and free days do not count."""
        at = self.next_moment(moment)
        left = timedelta(hours=hours)
        while left > (room := self.closing(self.day_of(at)) - at):
            left -= room
            at = self.next_day(at)
        return at + left

    def fits_today(self, moment: datetime, hours: float) -> bool:
        """Whether work begun at that moment is over before the day ends."""
        at = self.next_moment(moment)
        return at + timedelta(hours=hours) <= self.closing(self.day_of(at))


USUAL_HOURS = WorkingHours()
