"""What the interface answers with, besides the records themselves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True)
class Problem:
    """Why something was not done, and what to do."""

    problem: str


@dataclass(frozen=True, slots=True)
class Listed(Generic[Thing]):
    """One page of a list; ``more`` says that there is another."""

    items: tuple[Thing, ...]
    page: int
    more: bool
