"""Notes and attached files about anything that is kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

AttachmentKind = Literal["photograph", "profile", "chart", "screen shot", "certificate", "label", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Words about a thing. ``about`` is its id; ``trial_id`` is None for things that belong to no trial."""

    id: str
    trial_id: str | None
    about: str
    at: datetime
    by: str = ""
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """A kept file about a thing. ``private`` keeps it out of every file made for others."""

    id: str
    trial_id: str | None
    about: str
    kind: AttachmentKind
    name: str
    media_type: str = "application/octet-stream"
    size: int = 0
    sha256: str
    at: datetime
    by: str = ""
    private: bool = False
    words: str = ""
