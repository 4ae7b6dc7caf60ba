"""How wide a form may be: what of each candidate's roll or sheet the printer can print on."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.science.forms.bare_edges import SIDE_MM
from laydown.science.forms.page import MM_PER_INCH
from laydown.trials.facts import TrialFacts
from laydown.trials.stock import Roll, StockForm
from laydown.trials.trial import Candidate

TINY_MM = 1e-6  # sums of margins are not exact


@dataclass(frozen=True, slots=True)
class PrintableWidth:
    """What of a candidate's roll or sheet can be printed.

    ``printable_mm`` is None where it cannot be told, and ``why_not`` says why. ``printable_length_mm`` is of
    one sheet, None on a roll. ``side_stated`` says whether the printer's own margin is known; else what is
    usual stands in for it.
    """

    candidate_id: str
    candidate: str
    form: StockForm
    medium_mm: float | None
    side_mm: float
    side_stated: bool
    printable_mm: float | None
    printable_length_mm: float | None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class WidthsThatFit:
    """What can be printed on every candidate of a trial that is known.

    ``width_mm`` and ``length_mm`` are the largest page that fits all; None where nothing is known, and
    ``length_mm`` where no candidate comes in sheets.
    """

    each: tuple[PrintableWidth, ...]
    width_mm: float | None
    length_mm: float | None

    def refusals(self, width_mm: float, length_mm: float | None = None) -> tuple[str, ...]:
        """A sentence for each candidate on which a page of this size cannot be printed; empty where it fits.

        ``length_mm`` None: pages as long as they need to be, which is asked once they are drawn.
        """
        found = []
        for one in self.each:
            wide = one.printable_mm is not None and width_mm > one.printable_mm + TINY_MM
            most = one.printable_length_mm
            if wide:
                found.append(
                    f"{one.candidate}: the form is {told_mm(width_mm)} wide, and {printable_words(one)}."
                )
            elif most is not None and length_mm is not None and length_mm > most + TINY_MM:
                found.append(
                    f"{one.candidate}: the form is {told_mm(length_mm)} long, and {told_mm(most)} of a sheet "
                    "can be printed."
                )
        return tuple(found)


def widths_that_fit(facts: TrialFacts) -> WidthsThatFit:
    """The page that fits every candidate that has not been withdrawn, and what each allows."""
    each = tuple(printable_width(facts, one) for one in facts.candidates if one.withdrawn_at is None)
    widths = [one.printable_mm for one in each if one.printable_mm is not None]
    lengths = [one.printable_length_mm for one in each if one.printable_length_mm is not None]
    return WidthsThatFit(each, min(widths, default=None), min(lengths, default=None))


def printable_width(facts: TrialFacts, candidate: Candidate) -> PrintableWidth:
    """What of a candidate's roll or sheet its printer can print on."""
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    printer = facts.printer_of(candidate)
    stated = printer is not None and printer.side_margin_mm is not None
    side = printer.side_margin_mm if printer is not None else None
    side = SIDE_MM.value if side is None else side
    why_not = _why_not(roll, side, printer.widest_mm if printer is not None else None)
    known = roll is not None and not why_not
    wide = roll.width_mm if roll is not None else None
    long = roll.length_mm if roll is not None and roll.form == "sheets" else None
    return PrintableWidth(
        candidate_id=candidate.id,
        candidate=candidate.name,
        form=roll.form if roll is not None else "roll",
        medium_mm=wide,
        side_mm=side,
        side_stated=stated,
        printable_mm=wide - 2.0 * side if known and wide is not None else None,
        printable_length_mm=long - 2.0 * side if known and long is not None else None,
        why_not=why_not,
    )


def printable_words(one: PrintableWidth) -> str:
    """Such as "422 mm (16.61 in) of its 432 mm (17.01 in) can be printed"."""
    if one.printable_mm is None or one.medium_mm is None:
        return one.why_not
    return f"{told_mm(one.printable_mm)} of its {told_mm(one.medium_mm)} can be printed"


def told_mm(mm: float) -> str:
    """A length in both units, for a sentence."""
    return f"{round(mm, 1):g} mm ({mm / MM_PER_INCH:.2f} in)"


def _why_not(roll: Roll | None, side: float, widest: float | None) -> str:
    if roll is None:
        return "no roll or box is named"
    what, verb = ("roll", "is") if roll.form == "roll" else ("sheets", "are")
    if not roll.width_mm:
        return f"the width of the {what} is not stated"
    if roll.form == "sheets" and not roll.length_mm:
        return "the length of the sheets is not stated"
    if widest is not None and roll.width_mm > widest + TINY_MM:
        return f"the {what} {verb} {told_mm(roll.width_mm)} wide, and the printer takes {told_mm(widest)}"
    sides = (roll.width_mm, roll.length_mm) if roll.form == "sheets" else (roll.width_mm,)
    if min(one for one in sides if one) <= 2.0 * side:
        return f"the {what} {verb} no wider than the printer's margins"
    return ""
