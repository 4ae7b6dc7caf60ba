"""The studio and its printers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Units = Literal["metric", "inch"]
Paper = Literal["a4", "us-letter"]
PrinterEventKind = Literal[
    "head replaced", "head cleaned", "nozzle check", "aligned", "feed calibrated", "firmware", "ink", "other"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Studio:
    """Who runs the trials; there is one. ``time_zone`` is an IANA name, "" for this computer's own."""

    id: str
    name: str = ""
    place: str = ""
    time_zone: str = ""
    units: Units = "metric"
    paper: Paper = "a4"
    cure_hours: float = 24.0
    dry_hours: float = 24.0
    watched_folder: str = ""
    watched_trial_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """A printer. ``side_margin_mm`` is lost at each side, lead and tail on each load of a roll.

    ``head_gaps`` holds the printer's own words for its head gap settings, narrow to wide; none where it has
    no such setting.
    """

    id: str
    name: str
    serial: str = ""
    ink_set: str = ""
    black_inks: str = ""
    firmware: str = ""
    widest_mm: float | None = None
    head_gaps: tuple[str, ...] = ()
    has_cutter: bool | None = None
    side_margin_mm: float | None = None
    lead_mm: float | None = None
    tail_mm: float | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrinterEvent:
    """Something that happened to a printer: a new head, a cleaning, another firmware, an ink lot."""

    id: str
    printer_id: str
    at: datetime
    kind: PrinterEventKind
    words: str = ""
