"""From a drift curve to words: settled by then, not yet settled, or no saying."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.settling.repeatability import Repeatability, hidden_change

FEWEST_OCCASIONS = Constant(
    3, "readings", "our own judgement: two that agree may both be early", "common practice, no source"
)
REST_SHARE = Constant(
    0.5,
    "of the age at rest",
    "our own judgement: drying slows down, so that rest has to be watched the longer the later it comes",
    "common practice, no source",
)
REST_HOURS = Constant(1.0, "hours", "our own judgement: the least to watch", "common practice, no source")

State = Literal["settled", "not yet", "cannot say"]


@dataclass(frozen=True, slots=True)
class Settling:
    """When a print came to rest, as far as the readings tell.

    ``at_hours`` is the earliest reading from which on all agree, ``after_hours`` the reading before it, which
    did not agree (0 where the first one does already): rest came between the two. Both are None unless
    ``state`` is settled. ``hidden`` is the largest change of the whole sheet, in dE00, that the readings
    could still have missed (one time in twenty). ``todo`` says what would tell more, empty where nothing
    is needed.
    """

    state: State
    at_hours: float | None
    after_hours: float | None
    hidden: float
    sentence: str
    todo: str = ""


def settle(
    hours: Floats,
    distance: Floats,
    *,
    limit: Floats,
    repeatability: Repeatability,
    patches: int,
    readings: Ints,
    density_change: Floats,
    density_limit: float,
) -> Settling:
    """Say from when on every reading agrees with the last, or why that cannot be said.

    Parameters
    ----------
    hours, distance, limit, readings, density_change : (s,) array
        By occasion, in order of time: age, mean dE00 from the last, the dE00 that still agrees, readings
        averaged, change of density from the last.
    repeatability : Repeatability
        Behind ``limit``.
    patches : int
        Patches averaged over.
    density_limit : float
        Change of density that means nothing.

    Returns
    -------
    Settling

    Checked against
    ---------------
    Curves by hand for each answer; simulated dry-down.
    """
    hidden = hidden_change(
        float(limit[0]), repeatability, patches=patches, readings=(int(readings[0]), int(readings[-1]))
    )
    if hours.size < FEWEST_OCCASIONS.value:
        return _cannot(
            hidden,
            f"Cannot say: the sheet was read at {_count(hours.size)}, and it takes three.",
            "Read the sheet again, each time after about twice as long.",
        )
    agrees = distance <= limit
    wrong = np.flatnonzero(~agrees[:-1])
    start = int(wrong[-1]) + 1 if wrong.size else 0
    last = float(hours[-1])
    if start == hours.size - 1:
        return Settling(
            "not yet",
            None,
            None,
            hidden,
            f"Not yet settled at {_hours(last)}: the reading at {_hours(float(hours[-2]))} is still "
            f"{distance[-2]:.2f} dE00 away on average, where {limit[-2]:.2f} would be nothing but noise.",
            f"Read the sheet again at about {_hours(_rounded(2.0 * last))}.",
        )
    at = float(hours[start])
    needed = at + max(REST_HOURS.value, REST_SHARE.value * at)
    if last < needed:
        return _cannot(
            hidden,
            f"Cannot say: the readings from {_hours(at)} on agree, but they span only {_hours(last - at)}.",
            f"Read the sheet again at {_hours(_rounded(needed))} or later.",
        )
    before = float(hours[start - 1]) if start else 0.0
    between = f"somewhere between {_hours(before)} and that" if start else "before the first reading"
    sentence = (
        f"Settled by {_hours(at)} ({between}): all later readings agree with the last, at {_hours(last)}, "
        f"within {float(np.max(limit[start:-1])):.2f} dE00. A change of the whole sheet of up to "
        f"{hidden:.2f} dE00 could still be hidden."
    )
    if float(np.abs(density_change[start:]).max()) > density_limit:
        moved = float(density_change[start + int(np.argmax(np.abs(density_change[start:])))])
        sentence += f" But density has moved by {-moved:+.3f} since; look at the dark patches."
    return Settling("settled", at, before, hidden, sentence)


def _cannot(hidden: float, sentence: str, todo: str) -> Settling:
    return Settling("cannot say", None, None, hidden, sentence, todo)


def _count(readings: int) -> str:
    return "one time only" if readings == 1 else f"only {readings} different times"


def _hours(hours: float) -> str:
    """An age in words: minutes below one hour."""
    if hours < 0.995:
        return f"{60.0 * hours:.0f} min"
    return f"{hours:.1f} h" if hours < 9.95 and abs(hours - round(hours)) > 0.05 else f"{hours:.0f} h"


def _rounded(hours: float) -> float:
    """The next whole hour, for an hour to come back at."""
    return float(np.ceil(hours - 1e-9))
