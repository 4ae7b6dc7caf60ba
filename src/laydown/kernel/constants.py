"""Numbers with a birth certificate: value, unit, source, edition and how certain the source is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Certainty = Literal["standard", "read in a library", "common practice, no source", "from memory", "computed"]


@dataclass(frozen=True, slots=True)
class Constant:
    """A number used in a formula or as a limit, and where it comes from.

    ``uncertainty`` is a standard deviation in the same unit, or None where it is exact or not known.
    """

    value: float
    unit: str
    source: str
    certainty: Certainty
    uncertainty: float | None = None

    def __float__(self) -> float:
        return self.value
