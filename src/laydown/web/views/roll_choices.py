"""The rolls and boxes a candidate can be printed from: those that fit, a few at first, the rest by search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from laydown.records.look import Look
from laydown.report.lengths import run_words
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Lot, Roll
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.usecases.stock.roll_left import Left, rolls_left
from laydown.web.views.stock_words import roll_words

MOST_OFFERED = 12  # as many as fit on a telephone's list without a search


@dataclass(frozen=True, slots=True)
class Choice:
    """Something to choose from a list."""

    id: str
    words: str


@dataclass(frozen=True, slots=True)
class RollChoices:
    """Rolls and boxes to choose from; ``more`` fit as well and are found by ``find``, a mark or a lot."""

    choices: tuple[Choice, ...]
    more: int
    find: str


def roll_choices(
    look: Look,
    candidate: Candidate,
    facts: TrialFacts,
    *,
    keep: str | None = None,
    printer_id: str | None = None,
    find: str = "",
) -> RollChoices:
    """What is left of the candidate's medium and goes into the printer, opened and newest first.

    The roll that is chosen now, ``keep``, always comes first, whatever is left of it.
    """
    lots = {lot.id: lot for lot in look.find(Lot, medium_id=candidate.medium_id)}
    rolls = look.find_any(Roll, "lot_id", lots, order=("lot_id", "code", "id"))
    left = rolls_left(look, rolls)
    printer = look.seek(Printer, printer_id)
    fitting = [
        roll
        for roll in rolls
        if roll.id == keep
        or (_is_left(left[roll.id]) and _goes_into(roll, printer) and _holds(roll, lots[roll.lot_id], find))
    ]
    fitting.sort(key=lambda roll: (roll.id != keep, roll.opened is None, -_day(roll)))
    return RollChoices(
        choices=tuple(
            Choice(
                roll.id,
                f"lot {lots[roll.lot_id].code}, {roll_words(roll, units=facts.studio.units)}"
                + left_words(roll, left[roll.id].length_mm, left[roll.id].sheets, facts),
            )
            for roll in fitting[:MOST_OFFERED]
        ),
        more=max(0, len(fitting) - MOST_OFFERED),
        find=find,
    )


def left_words(roll: Roll, length_mm: float | None, sheets: int | None, facts: TrialFacts) -> str:
    """What is left of a roll or box, "" where that is not known."""
    if roll.form == "roll" and length_mm is not None:
        return f", about {run_words(max(length_mm, 0.0), units=facts.studio.units)} left"
    if roll.form == "sheets" and sheets is not None:
        return f", {max(sheets, 0)} left"
    return ""


def _is_left(left: Left) -> bool:
    return left.amount is None or left.amount > 0


def _goes_into(roll: Roll, printer: Printer | None) -> bool:
    sides: Sequence[float] = [
        side for side in (roll.width_mm, roll.length_mm if roll.form == "sheets" else None) if side
    ]
    return printer is None or printer.widest_mm is None or not sides or min(sides) <= printer.widest_mm


def _holds(roll: Roll, lot: Lot, find: str) -> bool:
    told = f"{roll.code} {lot.code} {roll.words}".casefold()
    return all(word in told for word in find.casefold().split())


def _day(roll: Roll) -> int:
    return (roll.received or date.min).toordinal()
