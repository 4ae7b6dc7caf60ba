"""What Laydown itself knows about a bad print, and how strongly it speaks for or against a cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from laydown.kernel.constants import Constant

LARGEST_RATIO = Constant(
    1000.0,
    "likelihood ratio",
    "our judgement: a record may be wrong, so nothing known is stronger than this",
    "common practice, no source",
)


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing known from a record or a measurement.

    ``ratios`` gives, by cause, how many times likelier this is with the cause than without it: above 1 it
    speaks for the cause, below 1 against it. ``words`` says what was found, ``why`` why it bears on the
    causes, ``source`` where it was found or how well the rule is supported. The causes of one piece are
    taken as independent hints.
    """

    id: str
    words: str
    why: str
    ratios: Mapping[str, float]
    source: str
