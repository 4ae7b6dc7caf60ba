"""What is left on a roll or in a box: what it held when new, less what was taken."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.records.stock_query import taken_from
from laydown.trials.stock import Roll


@dataclass(frozen=True, slots=True)
class Left:
    """Left of a roll in mm, or of a box in sheets; None where it is not stated what it held when new.

    Below nothing means that more was noted than there was: something was not counted right.
    """

    length_mm: float | None = None
    sheets: int | None = None

    @property
    def amount(self) -> float | None:
        """Whichever of the two counts."""
        return self.length_mm if self.sheets is None else float(self.sheets)


def roll_left(roll: Roll, taken: tuple[float, int]) -> Left:
    """What is left, after so many mm and so many sheets were taken; mm count for a roll, sheets for a box."""
    length, sheets = taken
    if roll.form == "roll":
        return Left(length_mm=None if roll.length_mm is None else roll.length_mm - length)
    return Left(sheets=None if roll.sheets is None else roll.sheets - sheets)


def rolls_left(look: Look, rolls: tuple[Roll, ...]) -> dict[str, Left]:
    """What is left of each of these rolls and boxes, by id."""
    taken = taken_from(look, [roll.id for roll in rolls])
    return {roll.id: roll_left(roll, taken.get(roll.id, (0.0, 0))) for roll in rolls}
