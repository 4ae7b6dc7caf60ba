"""Evidence from clocks and the room: what was done too soon, and in what air."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from laydown.kernel.constants import Certainty, Constant
from laydown.science.faults.evidence import Evidence, evidence_named

_PRACTICE: Certainty = "common practice, no source"
CURED = Constant(
    24.0, "h", "usual rule before reading, coating or glazing; several public sources", _PRACTICE
)
CURED_HUMID = Constant(48.0, "h", "usual rule in humid rooms; several public sources", _PRACTICE)
HUMID_FOR_CURE = Constant(45.0, "% RH", "where the longer rule starts; several public sources", _PRACTICE)
BARRIER_GLAZED = Constant(
    14 * 24.0, "h", "resin-coated and baryta papers before glazing: days, up to two weeks", _PRACTICE
)
BARRIER_LAMINATED = Constant(96.0, "h", "our judgement: several days for barrier papers", _PRACTICE)
BOX_RESTED = Constant(24.0, "h", "one mill's advice for wrapped boxes", _PRACTICE)
ROLL_RESTED = Constant(72.0, "h", "one mill's advice for wrapped rolls", _PRACTICE)
DRY_AIR = Constant(35.0, "% RH", "below it curl, static and feed faults; several public sources", _PRACTICE)
DAMP_AIR = Constant(
    60.0, "% RH", "upper end of the range most often quoted; several public sources", _PRACTICE
)
OTHER_TEMPERATURE = Constant(4.0, "degC", "our judgement", _PRACTICE)

_CLOCK = "from the clock of this print; how strongly it speaks is our judgement"
_ROOM = "from the room's record; how strongly it speaks is our judgement"
Step = Literal["read", "coated", "laminated", "glazed"]


def clock_evidence(
    *,
    hours_to_reading: float | None = None,
    hours_to_coating: float | None = None,
    hours_to_lamination: float | None = None,
    hours_to_glazing: float | None = None,
    barrier_paper: bool = False,
    humidity_percent: float | None = None,
) -> tuple[Evidence, ...]:
    """Evidence from the hours between printing and what was done next.

    No sign shows when a print has given off all it will; the hours are rules that studios have found to be
    enough, and no promise.

    Parameters
    ----------
    hours_to_reading, hours_to_coating, hours_to_lamination, hours_to_glazing : float or None
        Hours after printing.
    barrier_paper : bool
        Whether it is resin-coated or baryta paper, which holds solvents longest.
    humidity_percent : float or None
        Relative humidity in which it dried.

    Returns
    -------
    tuple of Evidence
        Nothing for what is None.

    Checked against
    ---------------
    Hours on both sides of each rule (``test_recorded_evidence.py``).
    """
    humid = humidity_percent is not None and humidity_percent > HUMID_FOR_CURE.value
    cured = (CURED_HUMID if humid else CURED).value
    lamination = BARRIER_LAMINATED.value if barrier_paper else CURED_HUMID.value
    glazing = BARRIER_GLAZED.value if barrier_paper else cured
    return (
        *_step("read", hours_to_reading, cured),
        *_step("coated", hours_to_coating, cured),
        *_step("laminated", hours_to_lamination, lamination),
        *_step("glazed", hours_to_glazing, glazing),
    )


def room_evidence(
    *,
    humidity_percent: float | None = None,
    hours_rested: float | None = None,
    roll: bool = False,
    degrees_from_calibration: float | None = None,
) -> tuple[Evidence, ...]:
    """Evidence from the air of the print room and the rest the medium had in it.

    Parameters
    ----------
    humidity_percent : float or None
        Relative humidity while printing.
    hours_rested : float or None
        Hours the wrapped medium stood in the room.
    roll : bool
        Whether it is a roll, which takes longer than a box.
    degrees_from_calibration : float or None
        Temperature while printing minus that of the last calibration, in degC.

    Returns
    -------
    tuple of Evidence
        Nothing for what is None.

    Checked against
    ---------------
    Values on both sides of each limit (``test_recorded_evidence.py``).
    """
    return (
        *_air(humidity_percent),
        *_rest(hours_rested, (ROLL_RESTED if roll else BOX_RESTED).value, "roll" if roll else "box"),
        *_temperature(degrees_from_calibration),
    )


def _step(step: Step, hours: float | None, rule: float) -> Iterator[Evidence]:
    if hours is None:
        return
    words = f"It was {step} {hours:g} h after printing; the usual rule is {rule:g} h."
    why = "What still leaves the print moves its colour, or is trapped by what is laid over it."
    known = f"{step}-{'soon' if hours < rule else 'cured'}"
    yield evidence_named(known, words, why=why, source=_CLOCK)


def _air(humidity: float | None) -> Iterator[Evidence]:
    if humidity is None:
        return
    known = (
        "air-dry" if humidity < DRY_AIR.value else "air-damp" if humidity > DAMP_AIR.value else "air-right"
    )
    words = f"The print room had {humidity:g} % relative humidity."
    why = "Dry air curls sheets, draws dust and dries nozzles; damp air swells media and slows drying."
    yield evidence_named(known, words, why=why, source=_ROOM)


def _rest(hours: float | None, rule: float, what: str) -> Iterator[Evidence]:
    if hours is None:
        return
    words = f"The {what} stood {hours:g} h in the room before printing; the usual rule is {rule:g} h."
    why = "Media that have not taken on the room's climate move while they are printed."
    known = "rested-short" if hours < rule else "rested-long"
    yield evidence_named(known, words, why=why, source=_ROOM)


def _temperature(degrees: float | None) -> Iterator[Evidence]:
    if degrees is None:
        return
    known = "temperature-other" if abs(degrees) > OTHER_TEMPERATURE.value else "temperature-same"
    words = f"It was {abs(degrees):g} degrees {'warmer' if degrees > 0 else 'colder'} than at calibration."
    yield evidence_named(known, words, why="Drop size follows temperature.", source=_ROOM)
