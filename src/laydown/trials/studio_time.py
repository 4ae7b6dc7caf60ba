"""Days and moments as the studio's wall calendar and clock have them, for what the rules say in words."""

from __future__ import annotations

from datetime import datetime, tzinfo
from zoneinfo import ZoneInfo

from laydown.trials.studio import Studio


def studio_zone(studio: Studio) -> tzinfo | None:
    """The studio's time zone; None, which is this computer's own, where it names none."""
    return ZoneInfo(studio.time_zone) if studio.time_zone else None


def day_said(at: datetime, studio: Studio) -> str:
    """Such as "3 March 2026"."""
    there = at.astimezone(studio_zone(studio))
    return f"{there.day} {there:%B %Y}"


def moment_said(at: datetime, studio: Studio) -> str:
    """Such as "3 March 2026, 14:05 (Europe/Paris)": with the zone, because such words are kept."""
    there = at.astimezone(studio_zone(studio))
    return f"{there.day} {there:%B %Y, %H:%M} ({studio.time_zone or there.tzname()})"
