"""How long a medium rests in the room, still wrapped, before it is unwrapped and printed."""

from __future__ import annotations

from laydown.kernel.constants import Constant
from laydown.trials.stock import StockForm

ROLL_REST_HOURS = Constant(72.0, "h", "a wrapped roll before unwrapping", "common practice, no source")
BOX_REST_HOURS = Constant(24.0, "h", "a wrapped box before unwrapping", "common practice, no source")


def rest_hours(form: StockForm) -> float:
    """Hours a wrapped roll, or a wrapped box of sheets, rests in the room it is used in."""
    return (ROLL_REST_HOURS if form == "roll" else BOX_REST_HOURS).value
