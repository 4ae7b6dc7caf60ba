"""Named numbers per sheet in; intervals, differences, calls and letters out.

``judge`` is the one question this folder answers; ``estimate`` gives its intervals alone. It sees numbers,
names and units, never prints.
"""

from __future__ import annotations

from laydown.science.deciding.judge import estimate, judge
from laydown.science.deciding.types import Call, Difference, Estimate, Judgement, Quantity

__all__ = ["Call", "Difference", "Estimate", "Judgement", "Quantity", "estimate", "judge"]
