"""What the pages of archives show."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.web.views.trial_frame import TrialFrame


@dataclass(frozen=True, slots=True)
class ArchiveView:
    """What an archive of a trial would hold."""

    frame: TrialFrame
    holds: tuple[str, ...]
    trial_id: str


@dataclass(frozen=True, slots=True)
class TakeInView:
    """The form that takes an archive in."""

    trouble: str
