"""What a sheet, and what a sitting besides its sheets, takes from a roll or a box.

The use of a roll by a printed sheet carries the id of its printing, that of a sitting the id of the sitting:
so each is noted once, can be corrected in the stock room, and goes when the printing is taken back.
"""

from __future__ import annotations

from datetime import datetime

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.records.work import Work
from laydown.trials.material import SETTING_MM, SHEET_MM
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent, SheetUse
from laydown.trials.stock import Lot, Roll, RollUse
from laydown.trials.trial import Candidate, Plan

MOST_TAKEN = Constant(1e6, "mm or sheets", "chosen here: more is a slip of the keyboard", "computed")


def planned_length_mm(plan: Plan | None, use: SheetUse) -> float | None:
    """The length a sheet takes from a roll: the plan's, else the usual one; None for other uses."""
    test = plan.sheet_length_mm if plan else None
    setting = plan.setting_length_mm if plan else None
    return {
        "test": SHEET_MM.value if test is None else test,
        "spare": SHEET_MM.value if test is None else test,
        "setting": SETTING_MM.value if setting is None else setting,
    }.get(use)


def use_of_sheet(
    work: Work, sheet: Sheet, printed: SheetEvent, *, roll_id: str | None, length_mm: float | None
) -> RollUse | None:
    """What printing a sheet takes; None where neither roll nor length is known."""
    roll = work.seek(Roll, roll_id)
    if roll is None or (roll.form == "roll" and length_mm is None):
        return None
    return RollUse(
        id=printed.id,
        roll_id=roll.id,
        at=printed.at,
        length_mm=length_mm if roll.form == "roll" else None,
        sheets=1 if roll.form == "sheets" else None,
        trial_id=sheet.trial_id,
        words=f"sheet {sheet.code}",
    )


def rest_of_run(work: Work, run: BenchRun, field: str, total: float, *, at: datetime) -> RollUse | None:
    """What a sitting used besides its sheets, where it used ``total`` (mm, or sheets of a box) in all.

    Raises
    ------
    BadSetting
        The total is no amount that can be, or less than the sheets of the sitting already took.
    """
    roll = work.seek(Roll, run.roll_id)
    if roll is None:
        return None
    by_length = field == "used_mm"
    if not 0 <= total <= MOST_TAKEN.value or (not by_length and total != int(total)):
        raise BadSetting(f"{total:.10g} cannot have been used.", todo="Give how much was used in all.")
    sheets = work.find(Sheet, run_id=run.id)
    printed = work.find_any(SheetEvent, "sheet_id", [sheet.id for sheet in sheets])
    uses = work.find_any(RollUse, "id", [event.id for event in printed if event.kind == "printed"])
    taken = sum((use.length_mm if by_length else use.sheets) or 0 for use in uses if use.roll_id == roll.id)
    if total < taken:
        raise BadSetting(
            f"less was used in all ({total:.10g}) than its sheets took ({taken:.10g}).",
            todo="Give the whole length or number, with leads, tails and warm-ups.",
        )
    if total == taken:
        return None
    return RollUse(
        id=run.id,
        roll_id=roll.id,
        at=at,
        length_mm=total - taken if by_length else None,
        sheets=None if by_length else int(total - taken),
        trial_id=run.trial_id,
        words="leads, tails and warm-ups",
    )


def drop_use(work: Work, use_id: str) -> None:
    """Take a use away with the printing it belongs to."""
    if work.seek(RollUse, use_id) is not None:
        work.remove(RollUse, use_id)


def roll_for(work: Work, candidate: Candidate, roll_id: str | None) -> Roll | None:
    """The roll or box that is loaded: the one named, else the candidate's own, else none.

    Raises
    ------
    BadSetting
        It is of another medium.
    """
    roll = work.get(Roll, roll_id) if roll_id else work.seek(Roll, candidate.roll_id)
    if roll is not None and work.get(Lot, roll.lot_id).medium_id != candidate.medium_id:
        raise BadSetting(
            f"that roll is not of the medium of {candidate.name}.",
            todo="Read the label once more and choose the roll that is loaded.",
        )
    return roll
