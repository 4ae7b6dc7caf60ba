"""Lengths as a studio says them: millimetres and metres, or inches and feet; millimetres inside."""

from __future__ import annotations

import re

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.trials.studio import Units

MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8
MM_PER_METRE = 1000.0
MEASURED_WITHIN_MM = Constant(
    0.5, "mm", "half the last place of a size that is stated in whole millimetres", "computed"
)
_UNIT_MM = {
    "mm": 1.0,
    "cm": 10.0,
    "m": MM_PER_METRE,
    "in": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
    "ft": MM_PER_FOOT,
    "'": MM_PER_FOOT,
    "′": MM_PER_FOOT,
}
_PART = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(mm|cm|m|in|ft|[\"'′″])?\s*")


def length_words(mm: float | None, *, units: Units) -> str:
    """A short length, such as a width: "432 mm" or "17 in"; "not stated" where there is none.

    A roll of 432 mm is called a 17 in roll, which is 431.8 mm: half inches are meant where they are as near
    as whole millimetres can tell.
    """
    if mm is None:
        return "not stated"
    if units == "inch":
        common = round(2 * mm / MM_PER_INCH) / 2
        near = common > 0 and abs(common * MM_PER_INCH - mm) <= MEASURED_WITHIN_MM.value
        return f"{_short(common if near else mm / MM_PER_INCH, 2)} in"
    return f"{_short(mm, 0 if mm >= 100 else 1)} mm"


def run_words(mm: float | None, *, units: Units) -> str:
    """A long length, such as what is left on a roll: "6.1 m" or "20 ft"; "not stated" where there is none."""
    if mm is None:
        return "not stated"
    if units == "inch":
        return f"{_short(mm / MM_PER_FOOT, 1)} ft"
    return f"{_short(mm / MM_PER_METRE, 2)} m"


def parse_length(text: str, *, units: Units, long: bool = False, what: str = "the length") -> float | None:
    """Millimetres from what somebody typed: "17 in", "20 ft", "6.1 m", "432"; None where nothing was typed.

    A bare number is in mm or inches, or with ``long`` in m or feet, as the studio's units say.

    Raises
    ------
    BadSetting
        It is no length, or none that a roll or sheet can have.
    """
    wanted = text.strip().lower()
    if not wanted:
        return None
    bare = (MM_PER_FOOT if long else MM_PER_INCH) if units == "inch" else (MM_PER_METRE if long else 1.0)
    total, place = 0.0, 0
    while place < len(wanted):
        part = _PART.match(wanted, place)
        if part is None:
            raise BadSetting(
                f'{what}: "{text.strip()}" is no length.', todo='Write it like "432 mm", "17 in" or "20 ft".'
            )
        total += float(part[1].replace(",", ".")) * (_UNIT_MM[part[2]] if part[2] else bare)
        place = part.end()
    if not 0 < total <= 1e6:
        raise BadSetting(f"{what}: {text.strip()} is not possible.", todo="It must be more than nothing.")
    return total


def _short(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
