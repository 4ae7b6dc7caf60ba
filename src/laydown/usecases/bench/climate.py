"""The climate of the room as read off a meter; outside these bounds it is a slip of the keyboard."""

from __future__ import annotations

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting

COLDEST = Constant(-10.0, "degC", "chosen here: no print room is colder", "computed")
WARMEST = Constant(60.0, "degC", "chosen here: no print room is warmer", "computed")
DRIEST = Constant(0.0, "% relative humidity", "what it can be", "computed")
MOISTEST = Constant(100.0, "% relative humidity", "what it can be", "computed")


def clean_climate(room_c: float | None, room_rh: float | None) -> tuple[float | None, float | None]:
    """Temperature in degrees Celsius and relative humidity in percent; refused where no room has them."""
    if room_c is not None and not COLDEST.value <= room_c <= WARMEST.value:
        raise BadSetting(
            f"a room at {room_c:.10g} °C cannot be.", todo="Give the temperature in degrees Celsius."
        )
    if room_rh is not None and not DRIEST.value <= room_rh <= MOISTEST.value:
        raise BadSetting(
            f"a room at {room_rh:.10g} % relative humidity cannot be.", todo="Give a number from 0 to 100."
        )
    return room_c, room_rh
