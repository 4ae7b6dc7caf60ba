"""Named numbers with intervals, and what may be said about their differences. No word of printing here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from laydown.kernel.preference import Preference

Call = Literal["better", "worse", "higher", "lower", "same", "cannot_tell"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number that candidates are compared by.

    ``margin`` is the smallest difference that matters, in the quantity's unit (None: no equivalence can be
    called). ``resolution`` is the smallest step the number can take or the instrument can tell (0 if
    continuous); spread below ``resolution / sqrt(12)`` is never believed. With ``preference`` "none" a real
    difference is called higher or lower, never better or worse.
    """

    id: str
    unit: str
    preference: Preference = "none"
    margin: float | None = None
    resolution: float = 0.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """A candidate's mean over its units, with its interval; low and high are NaN where n < 2."""

    value: float
    low: float
    high: float
    n: int
    sd: float


@dataclass(frozen=True, slots=True)
class Difference:
    """``candidate`` minus ``against``, and the call.

    ``low`` and ``high`` are the ordinary interval of this one difference at the stated confidence; the call
    is stricter, because it allows for every comparison made (``p_adjusted``). All numbers are NaN where a
    difference is refused; ``reason`` then says why. ``sheets_needed`` is the number of units per candidate
    that would settle a "cannot_tell", None where it cannot be foretold.
    """

    candidate: str
    against: str
    difference: float
    low: float
    high: float
    margin: float | None
    call: Call
    sheets_needed: int | None
    p_adjusted: float
    p_equivalence: float
    real: bool
    refused: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything said about one quantity over all candidates.

    ``letters``: candidates that share a letter are not told apart. ``assumption`` is a sentence about the
    spread (pooled or separate) and how it was checked.
    """

    quantity: Quantity
    estimates: Mapping[str, Estimate]
    differences: tuple[Difference, ...]
    letters: Mapping[str, str]
    pooled: bool
    assumption: str
