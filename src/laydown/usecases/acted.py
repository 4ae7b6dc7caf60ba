"""What a use case that changed something hands back: the thing, and the journal entry it became."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

Thing = TypeVar("Thing")


@dataclass(frozen=True, slots=True)
class Acted(Generic[Thing]):
    """A thing as it is now, and the id of the entry that can be undone."""

    thing: Thing
    entry_id: str
