"""What a layout loses: the drawn order, scraps, spares, room; in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from laydown.trials.facts import TrialFacts
from laydown.trials.material import SHEET_MM
from laydown.trials.print_order import LOSSES
from laydown.trials.stock import Roll
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Candidate
from laydown.usecases.forms.printable_width import told_mm
from laydown.usecases.forms.roll_layout import LaidPiece, RollLoad
from laydown.usecases.forms.roll_loads import LayOptions

_LONGER = 1.1  # a test print this much longer than planned makes the plan's material wrong


def roll_warnings(
    facts: TrialFacts,
    form: TestForm,
    roll: Roll,
    loads: Sequence[RollLoad],
    *,
    left: float | None,
    repeat_mm: float | None,
    options: LayOptions,
) -> Iterator[str]:
    """Everything that whoever prints and cuts must know before, the gravest first."""
    pieces = [one for load in loads for one in load.pieces]
    missing = [one.piece.words for one in pieces if not one.row]
    if missing:
        what = "roll is not long enough" if roll.form == "roll" else "box does not hold enough sheets"
        yield f"The {what}: {len(missing)} of {len(pieces)} pieces have no place: {_some(missing)}."
    yield from _of_order(facts, loads, options)
    yield from _of_scraps(form, pieces)
    if not any(one.piece.use == "spare" and one.row for one in pieces):
        yield "No spare is laid out: a spoiled print cannot be replaced from here."
    yield from _of_roll(facts, roll, loads, left, repeat_mm)
    spoiled = _spoiled(facts, roll)
    if spoiled and not options.only_unprinted:
        yield (
            f"Spoiled and not counted here: {_some(spoiled)}. Lay out what is still to be printed by itself; "
            "then all that was taken is taken off."
        )
    if form.set_aside_at is not None:
        yield f"Form {form.code} is set aside: {form.set_aside_why.rstrip('.')}."


def _of_order(facts: TrialFacts, loads: Sequence[RollLoad], options: LayOptions) -> Iterator[str]:
    if facts.plan is not None and LOSSES[facts.plan.order]:
        yield f"Randomisation is lost in part; the order is {facts.plan.order}. {LOSSES[facts.plan.order]}"
    if options.way == "in one load" and len({sheet.day for sheet in facts.sheets if sheet.place}) > 1:
        yield (
            "Randomisation is lost: with all prints in one load, what drifts from day to day or from load to "
            "load looks like a difference between media."
        )
    altered = [load.title for load in loads if _out_of_turn(facts, load)]
    if altered:
        yield (
            f"Randomisation is lost: prints do not lie in the order that was drawn ({_some(altered)}). A "
            "drift along the medium may pass for a difference."
        )
    for candidate in facts.candidates:
        rows, sheets = _rows_of(candidate, loads)
        if len(sheets) > 1 and len(rows) == 1:
            yield (
                f"All prints of {candidate.name} lie in one row: they are printed together and do not show "
                "how prints differ along the medium."
            )


def _rows_of(candidate: Candidate, loads: Sequence[RollLoad]) -> tuple[set[tuple[int, int]], set[str]]:
    """In which rows of which loads the prints of a candidate lie, and which sheets they are."""
    prints = [
        (load.number, one)
        for load in loads
        for one in load.pieces
        if one.piece.candidate_id == candidate.id
        and one.piece.kind == "page"
        and one.piece.use == "print"
        and one.row
    ]
    return {(number, one.row) for number, one in prints}, {one.piece.sheet_id for _, one in prints}


def _out_of_turn(facts: TrialFacts, load: RollLoad) -> bool:
    """Whether prints of a load lie in another order than they were drawn in."""
    places = [
        facts.sheet(one.piece.sheet_id).place
        for one in load.pieces
        if one.row and one.piece.kind == "page" and one.piece.use == "print"
    ]
    return places != sorted(places)


def _of_scraps(form: TestForm, pieces: Sequence[LaidPiece]) -> Iterator[str]:
    if any(one.piece.kind == "handling" and one.row for one in pieces):
        return
    bar = "wear bar" in form.wish.parts
    instead = " The wear bar of a spare or a setting sheet can be cut up instead." if bar else ""
    yield f"No scraps for handling tests (rub, tape, fold) are laid out.{instead}"


def _of_roll(
    facts: TrialFacts, roll: Roll, loads: Sequence[RollLoad], left: float | None, repeat_mm: float | None
) -> Iterator[str]:
    on_roll = roll.form == "roll"
    if left is None:
        what = "much is left on the roll" if on_roll else "many sheets are left in the box"
        yield f"How {what} is not stated: {'measure' if on_roll else 'count'} before printing."
    if not on_roll:
        return
    ends = max((load.nesting.room.lead_mm + load.nesting.room.tail_mm for load in loads), default=0.0)
    if left is not None and 0.0 < left <= ends:
        yield (
            f"The {told_mm(left)} left over are too short to be printed on: lead and tail take "
            f"{told_mm(ends)}."
        )
    planned = facts.plan.sheet_length_mm if facts.plan is not None else None
    planned = SHEET_MM.value if planned is None else planned
    if repeat_mm is not None and repeat_mm > _LONGER * planned:
        yield (
            f"One print takes {told_mm(repeat_mm)} with all its pages, and the plan reckons with "
            f"{told_mm(planned)}: what Material says is too little."
        )


def _spoiled(facts: TrialFacts, roll: Roll) -> list[str]:
    """Codes of sheets that were spoiled on a roll or box."""
    arms = {one.id for one in facts.candidates if one.roll_id == roll.id}
    return [
        sheet.code
        for sheet in facts.sheets
        if sheet.candidate_id in arms and facts.events_of(sheet.id, "spoiled")
    ]


def _some(names: Sequence[str]) -> str:
    shown = ", ".join(names[:6])
    return shown if len(names) <= 6 else f"{shown} and {len(names) - 6} more"
