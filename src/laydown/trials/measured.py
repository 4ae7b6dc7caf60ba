"""Readings of a sheet as they were handed in, with what is doubted about them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

ReadingSource = Literal["dropped", "watched folder", "typed in"]
GlossDirection = Literal["along", "across", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Something that looks wrong with readings, asked about and perhaps answered.

    ``kind`` is the sort of mix-up; ``answer`` is "" while the question stands.
    """

    kind: str
    words: str
    question: str
    answers: tuple[str, ...] = ()
    answer: str = ""
    answered_at: datetime | None = None
    answered_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement file of one sheet. ``sheet_id`` is None while it waits to be told which sheet it is.

    The file itself is never altered; a mended copy is another file and ``mended_sha256`` names it.
    ``set_aside_at`` keeps a reading out of comparisons. ``early_used_at`` lets one that was read too early
    into comparisons all the same: by whom and why is said with the date.
    """

    id: str
    trial_id: str
    sheet_id: str | None
    source: ReadingSource
    file_name: str
    file_sha256: str
    mended_sha256: str = ""
    received_at: datetime
    measured_at: datetime | None = None
    instrument: str = ""
    conditions: tuple[str, ...] = ()
    patches: int = 0
    by: str = ""
    doubts: tuple[Doubt, ...] = ()
    set_aside_at: datetime | None = None
    set_aside_why: str = ""
    early_used_at: datetime | None = None
    early_used_by: str = ""
    early_used_why: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GlossReading:
    """What a gloss meter showed at one place of a sheet at one angle (degrees).

    ``place`` is "paper white", "black", "mid grey" or other words; ``values`` are repeats, in gloss units.
    ``direction`` says how the meter lay to the way the medium ran through the printer, "" where that is not
    stated. The rest is as in ``Reading``.
    """

    id: str
    trial_id: str
    sheet_id: str
    place: str
    angle: int
    values: tuple[float, ...]
    direction: GlossDirection = ""
    instrument: str = ""
    received_at: datetime
    measured_at: datetime | None = None
    by: str = ""
    set_aside_at: datetime | None = None
    set_aside_why: str = ""
    early_used_at: datetime | None = None
    early_used_by: str = ""
    early_used_why: str = ""


AnyReading = Reading | GlossReading
