"""The room as a studio reads it off its meter: degrees Celsius, or Fahrenheit where it works in inches."""

from __future__ import annotations

import re

from laydown.kernel.errors import BadSetting
from laydown.trials.studio import Studio, Units
from laydown.web.forms import Form

_TYPED = re.compile(r"(-?[0-9]+(?:[.,][0-9]+)?)\s*°?\s*([CF])?", re.IGNORECASE)


def degree_sign(units: Units) -> str:
    """The sign behind a temperature."""
    return "°F" if units == "inch" else "°C"


def warmth_words(celsius: float | None, *, units: Units) -> str:
    """Such as "21.5 °C" or "71 °F"; "" where it is not known."""
    if celsius is None:
        return ""
    if units == "inch":
        return f"{celsius * 9 / 5 + 32:.0f} °F"
    return f"{celsius:.1f}".removesuffix(".0") + " °C"


def room_words(celsius: float | None, humidity: float | None, *, units: Units) -> str:
    """The climate of a room in a line; "not stated" where nothing is known."""
    parts = (warmth_words(celsius, units=units), "" if humidity is None else f"{humidity:g} % RH")
    return ", ".join(part for part in parts if part) or "not stated"


def parse_warmth(text: str, *, units: Units) -> float | None:
    """Degrees Celsius from what was typed: "22", "22 C", "72 F"; None where nothing was.

    Raises
    ------
    BadSetting
        It is no temperature.
    """
    if not text.strip():
        return None
    found = _TYPED.fullmatch(text.strip())
    if found is None:
        raise BadSetting(
            f'the temperature: "{text.strip()}" is none.', todo='Write it like "22 C" or "72 F".'
        )
    value = float(found[1].replace(",", "."))
    scale = (found[2] or degree_sign(units)[1]).upper()
    return (value - 32) * 5 / 9 if scale == "F" else value


def room_of(form: Form, studio: Studio) -> tuple[float | None, float | None]:
    """Temperature and relative humidity from the fields ``warmth`` and ``humidity`` of a form."""
    warmth = parse_warmth(form.text("warmth"), units=studio.units)
    return warmth, form.number("humidity", "the relative humidity", low=0, high=100)
