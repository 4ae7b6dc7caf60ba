"""Moments and days as a studio reads them: in its own time zone; UTC inside."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from laydown.kernel.errors import BadSetting


@lru_cache(maxsize=16)
def zone(name: str) -> tzinfo | None:
    """The time zone of that IANA name; None (this computer's own) for "".

    Raises
    ------
    BadSetting
        There is no such zone.
    """
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise BadSetting(f'"{name}" is no time zone.', todo='Write it like "Europe/Paris".') from error


def moment_words(at: datetime | None, *, time_zone: str) -> str:
    """Such as "3 March 2026, 14:05"; "not stated" where there is none."""
    if at is None:
        return "not stated"
    local = at.astimezone(zone(time_zone))
    return f"{local.day} {local:%B %Y, %H:%M}"


def moment_short(at: datetime, *, time_zone: str, now: datetime) -> str:
    """Such as "today 14:05", "tomorrow 09:00" or "Tue 3 Mar, 14:05"."""
    local, today = at.astimezone(zone(time_zone)), now.astimezone(zone(time_zone)).date()
    names = {0: "today", 1: "tomorrow", -1: "yesterday"}
    days = (local.date() - today).days
    return f"{names[days]} {local:%H:%M}" if days in names else f"{local:%a} {local.day} {local:%b, %H:%M}"


def zone_words(time_zone: str, *, now: datetime) -> str:
    """Which clock times are told by: "Times are those of Europe/Paris.", or of this computer and its zone."""
    if time_zone:
        return f"Times are those of {time_zone}."
    here = now.astimezone(zone("")).tzname() or "its own zone"
    return f"Times are those of this computer ({here}); the studio’s time zone is not set."


def moment_field(at: datetime | None, *, time_zone: str) -> str:
    """The value of an <input type="datetime-local">."""
    return "" if at is None else at.astimezone(zone(time_zone)).strftime("%Y-%m-%dT%H:%M")


def parse_moment(text: str, *, time_zone: str, what: str = "the time") -> datetime | None:
    """A moment in UTC from such a field; None where nothing was typed.

    Raises
    ------
    BadSetting
        It is no moment.
    """
    if not text.strip():
        return None
    try:
        local = datetime.fromisoformat(text.strip())
        return (local if local.tzinfo else local.replace(tzinfo=zone(time_zone))).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise BadSetting(f'{what}: "{text}" is no time.', todo='Write it like "2026-03-03 14:05".') from error


def day_words(day: date | None) -> str:
    """Such as "3 March 2026"; "not stated" where there is none."""
    return "not stated" if day is None else f"{day.day} {day:%B %Y}"


def parse_day(text: str, *, what: str = "the day") -> date | None:
    """A day from an <input type="date">; None where nothing was typed.

    Raises
    ------
    BadSetting
        It is no day.
    """
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise BadSetting(f'{what}: "{text}" is no day.', todo='Write it like "2026-03-03".') from error


def span_words(span: timedelta) -> str:
    """How long, roughly: "40 min", "5 h 20 min", "3 days"."""
    minutes = round(abs(span) / timedelta(minutes=1))
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 48:
        return f"{hours} h {minutes} min" if minutes and hours < 24 else f"{hours} h"
    return f"{round(hours / 24)} days"
