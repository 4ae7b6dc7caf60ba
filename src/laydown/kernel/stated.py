"""A fact together with where it was found; a fact nobody stated stays unknown and says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

T = TypeVar("T")

NOT_STATED = "not stated"


@dataclass(frozen=True, slots=True)
class Stated(Generic[T]):
    """A value and its evidence.

    ``where`` names the place in words a printmaker can follow, such as ``"INSTRUMENTATION, line 9"`` or
    ``"trial.json"``. A value of None always goes with ``where == "not stated"``.
    """

    value: T | None = None
    where: str = NOT_STATED

    @property
    def known(self) -> bool:
        """Whether anybody stated it."""
        return self.value is not None

    def __str__(self) -> str:
        return NOT_STATED if self.value is None else str(self.value)
