"""What the page of a roll or a box shows besides its facts: what is left, what was taken, its label."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from laydown.kernel.constants import Constant
from laydown.records.look import Look
from laydown.report.lengths import length_words, run_words
from laydown.report.moments import day_words, moment_words
from laydown.trials.stock import Lot, Medium, Roll, RollUse
from laydown.trials.studio import Studio, Units
from laydown.trials.trial import Trial
from laydown.usecases.stock.roll_left import Left, rolls_left
from laydown.usecases.stock.stock_words import roll_word

HEAVY_KG = Constant(10.0, "kg", "chosen here: rolls are awkward before they are heavy", "computed")
OLD_DAYS = Constant(548.0, "days", "18 months; our proposal, sources are weak", "common practice, no source")
LONG_OPEN_DAYS = Constant(91.0, "days", "3 months; our proposal", "common practice, no source")


@dataclass(frozen=True, slots=True)
class UseLine:
    """What was taken at one time; a correction may give back."""

    id: str
    when: str
    amount: str
    words: str
    trial: str
    trial_href: str


@dataclass(frozen=True, slots=True)
class RollPart:
    """What is left, how much that is of a whole (0 to 100), what was taken, and the words of a label."""

    form: str
    left: str
    share: int | None
    weight: str
    label: tuple[str, ...]
    uses: tuple[UseLine, ...]
    opened: bool
    unit_hint: str


def roll_title(roll: Roll) -> str:
    """A roll or box by the number on its label."""
    return roll_word(roll) if roll.code else f"{roll_word(roll)} without a number"


def left_words(roll: Roll, left: Left, *, units: Units) -> str:
    """Such as "4.2 m of 6.1 m left" or "19 of 25 sheets left"."""
    if left.amount is None:
        return "what is left is not known"
    if left.sheets is not None:
        return f"{left.sheets} of {roll.sheets} sheets left"
    over = "" if left.amount >= 0 else "less than nothing: "
    return (
        f"{over}{run_words(abs(left.amount), units=units)} of {run_words(roll.length_mm, units=units)} left"
    )


def roll_part(look: Look, roll: Roll, *, studio: Studio) -> RollPart:
    """The part of its page that only a roll or a box has."""
    lot = look.get(Lot, roll.lot_id)
    medium = look.get(Medium, lot.medium_id)
    left = rolls_left(look, (roll,))[roll.id]
    uses = look.find(RollUse, roll_id=roll.id, order=("-at", "id"))
    trials = {
        one.id: one.name for one in look.find_any(Trial, "id", {u.trial_id for u in uses if u.trial_id})
    }
    whole = roll.length_mm if roll.form == "roll" else roll.sheets
    share = None if left.amount is None or not whole else round(100 * max(0.0, left.amount) / whole)
    hint = "Such as 20 ft or 6 in" if studio.units == "inch" else "Such as 2.4 m or 480 mm"
    return RollPart(
        form=roll.form,
        left=left_words(roll, left, units=studio.units),
        share=share,
        weight=_weight(roll, medium),
        label=_label(roll, lot, medium, studio),
        uses=tuple(
            UseLine(
                id=use.id,
                when=moment_words(use.at, time_zone=studio.time_zone),
                amount=_amount(use, units=studio.units),
                words=use.words,
                trial=trials.get(use.trial_id or "", ""),
                trial_href=f"/trials/{use.trial_id}" if use.trial_id in trials else "",
            )
            for use in uses
        ),
        opened=roll.opened is not None,
        unit_hint=hint if roll.form == "roll" else "A whole number of sheets",
    )


def roll_cautions(roll: Roll, medium: Medium, *, today: date) -> tuple[str, ...]:
    """What to mind with a roll or box as it is today."""
    return tuple(_cautions(roll, medium, today))


def _cautions(roll: Roll, medium: Medium, today: date) -> Iterator[str]:
    kilos = weight_kg(roll, medium)
    if kilos is not None and kilos >= HEAVY_KG.value:
        yield (
            "Heavy and long: lift it with two people or a trolley, spindle at waist height; your local rules "
            "for lifting come first."
        )
    if roll.opened and (today - roll.opened).days > LONG_OPEN_DAYS.value:
        yield (
            "Opened more than three months ago: read its bare white and print a small strip before an "
            "edition (our proposal)."
        )
    elif roll.received and (today - roll.received).days > OLD_DAYS.value:
        yield (
            "Here for more than eighteen months: read its bare white and print a small strip before an "
            "edition (our proposal)."
        )


def weight_kg(roll: Roll, medium: Medium) -> float | None:
    """What the medium on a new roll weighs, without core and box; None where a measure is not stated."""
    if roll.form != "roll" or None in (roll.width_mm, roll.length_mm, medium.weight_gsm):
        return None
    assert roll.width_mm is not None
    assert roll.length_mm is not None
    assert medium.weight_gsm is not None
    return roll.width_mm * roll.length_mm * 1e-6 * medium.weight_gsm * 1e-3


def _weight(roll: Roll, medium: Medium) -> str:
    kilos = weight_kg(roll, medium)
    return "" if kilos is None else f"about {kilos:.1f} kg when new, without core and box"


def _amount(use: RollUse, *, units: Units) -> str:
    if use.sheets is not None:
        return (
            f"{abs(use.sheets)} sheet{'' if abs(use.sheets) == 1 else 's'}{' more' if use.sheets < 0 else ''}"
        )
    length = use.length_mm or 0.0
    told = run_words(abs(length), units=units)
    return f"{told} more" if length < 0 else told


def _label(roll: Roll, lot: Lot, medium: Medium, studio: Studio) -> tuple[str, ...]:
    size = (
        f"{length_words(roll.width_mm, units=studio.units)} x {run_words(roll.length_mm, units=studio.units)}"
        if roll.form == "roll"
        else f"{roll.sheets or '?'} sheets, {length_words(roll.width_mm, units=studio.units)} x "
        f"{length_words(roll.length_mm, units=studio.units)}"
    )
    return (
        medium.name,
        f"Lot {lot.code}, {roll_title(roll)}",
        size,
        f"Received {day_words(roll.received or lot.received)}",
        f"Opened {day_words(roll.opened)}" if roll.opened else "Opened ________________",
    )
