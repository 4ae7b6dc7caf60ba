"""A page that says what went wrong."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TroubleView:
    """A refusal in one sentence."""

    status: int
    sentence: str
