"""Note what was taken from a roll or a box, and what was found left when somebody looked."""

from __future__ import annotations

from datetime import datetime

from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.records.stock_query import taken_from
from laydown.records.work import Work
from laydown.trials.stock import Roll, RollUse
from laydown.usecases.acted import Acted
from laydown.usecases.stock.roll_left import Left, roll_left
from laydown.usecases.stock.sound import sound
from laydown.usecases.stock.stock_words import called

COUNTED = "counted what is left"


def use_roll(
    records: Records,
    roll_id: str,
    *,
    who: str,
    length_mm: float | None = None,
    sheets: int | None = None,
    at: datetime | None = None,
    trial_id: str | None = None,
    words: str = "",
) -> Acted[RollUse]:
    """Note a length taken from a roll, or sheets taken from a box.

    Raises
    ------
    BadSetting
        Nothing was taken, or more than is left.
    """
    with records.work("took", who=who, trial_id=trial_id) as work:
        roll, left = _left(work, roll_id)
        taken = RollUse(
            id=records.new_id(),
            roll_id=roll_id,
            at=at or work.now,
            length_mm=length_mm,
            sheets=sheets,
            trial_id=trial_id,
            words=words,
        )
        amount = (length_mm or 0.0) if sheets is None else sheets
        if amount <= 0:
            raise BadSetting("nothing was taken.", todo="Write how much, or correct what is left instead.")
        if left.amount is not None and amount > left.amount:
            raise BadSetting(
                f"{_amount(amount, roll)} is more than the {_amount(left.amount, roll)} that should be left.",
                todo="If the roll says otherwise, correct what is left first.",
            )
        work.say(f"{_amount(amount, roll)} from {called(work, roll)}")
        return Acted(work.add(sound(work, taken)), work.entry_id)


def count_roll(
    records: Records,
    roll_id: str,
    *,
    who: str,
    length_mm: float | None = None,
    sheets: int | None = None,
    words: str = "",
) -> Acted[RollUse]:
    """Correct what is left of a roll or a box to what was found; the difference is noted as a use.

    Raises
    ------
    BadSetting
        What it held when new is not stated, what was found is not possible, or it is what was expected.
    """
    with records.work("counted", who=who) as work:
        roll, left = _left(work, roll_id)
        found = length_mm if roll.form == "roll" else sheets
        if left.amount is None:
            raise BadSetting(
                "it is not stated what it held when new.",
                todo="Write that down first, on the roll's own form.",
            )
        if found is None or found < 0:
            raise BadSetting("what was found is missing.", todo="Write how much is left; nothing is 0.")
        if found == left.amount:
            raise BadSetting("that is what should be left; nothing to correct.", todo="Leave it as it is.")
        missing = left.amount - found
        taken = RollUse(
            id=records.new_id(),
            roll_id=roll_id,
            at=work.now,
            length_mm=missing if roll.form == "roll" else None,
            sheets=int(missing) if roll.form == "sheets" else None,
            words=f"{COUNTED}: {words}".removesuffix(": "),
        )
        work.say(f"{_amount(found, roll)} left of {called(work, roll)}, not {_amount(left.amount, roll)}")
        return Acted(work.add(sound(work, taken)), work.entry_id)


def _left(work: Work, roll_id: str) -> tuple[Roll, Left]:
    roll = work.get(Roll, roll_id)
    return roll, roll_left(roll, taken_from(work, [roll_id]).get(roll_id, (0.0, 0)))


def _amount(amount: float, roll: Roll) -> str:
    if roll.form == "roll":
        return f"{amount / 1000:.2f} m"
    return f"{amount:g} sheet{'' if amount == 1 else 's'}"
