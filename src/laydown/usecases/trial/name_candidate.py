"""Name the candidates of a trial: add one, its coated arm, alter what is stated about it, move it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.work import Work
from laydown.trials.recipe import Coat
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.bench.settle_hours import check_wait
from laydown.usecases.trial.begin_trial import one_line

LONGEST_NAME = 80
COATED = "coated"


def name_candidate(records: Records, told: Candidate, *, who: str) -> Acted[Candidate]:
    """Put a candidate last in its trial; without a name it takes that of its medium.

    Where ``told`` is the house medium, it takes that place from whoever had it.

    Raises
    ------
    BadSetting
        The name is taken or too long, or lot, roll and medium do not belong together.
    UnknownRecord
        Trial, medium, lot, roll or printer is not kept.
    """
    with records.work("named", who=who) as work:
        open_trial(work, told.trial_id)
        others = candidates_of(work, told.trial_id)
        _together(work, told)
        medium = work.get(Medium, told.medium_id)
        named = replace(
            told,
            id=records.new_id(),
            name=_free_name(others, told.name or _suggested(medium.name, told), ""),
            position=1 + max((one.position for one in others), default=0),
            withdrawn_at=None,
            withdrawn_why="",
        )
        work.say(f"{named.name}{' the house medium' if named.house else ' a candidate'}")
        if named.house:
            _no_longer_house(work, others)
        return Acted(work.add(named), work.entry_id)


def name_coated_arm(
    records: Records, candidate_id: str, *, coat: Coat | None = None, who: str
) -> Acted[Candidate]:
    """Add the coated arm of an uncoated candidate: the same medium, lot, roll, printer and recipe.

    Raises
    ------
    RefusedInput
        It is coated itself, was withdrawn, or has a coated arm.
    """
    with records.work("added", who=who) as work:
        plain = work.get(Candidate, candidate_id)
        open_trial(work, plain.trial_id)
        others = candidates_of(work, plain.trial_id)
        if plain.finish == "coated" or plain.withdrawn_at is not None:
            why = "is coated itself" if plain.finish == "coated" else "was withdrawn"
            raise RefusedInput(f"{plain.name} {why}.", todo="Choose an uncoated candidate that is still in.")
        if any(one.twin_id == plain.id for one in others):
            raise RefusedInput(f"{plain.name} has a coated arm already.", todo="One is enough.")
        arm = replace(
            plain,
            id=records.new_id(),
            name=_free_name(others, f"{plain.name}, {COATED}", ""),
            house=False,
            position=1 + max(one.position for one in others),
            finish="coated",
            coat=coat,
            twin_id=plain.id,
        )
        work.say(f"the coated arm of {plain.name}")
        return Acted(work.add(arm), work.entry_id)


def alter_candidate(
    records: Records, told: Candidate, *, who: str, seen: int | None = None
) -> Acted[Candidate]:
    """Alter what is stated about a candidate; its recipe, place and withdrawal are not looked at.

    Raises
    ------
    RefusedInput
        A sheet of it is printed and medium, finish, lot or roll would become another.
    BadSetting
        As for naming one; a finish that leaves it without its other arm.
    ChangedMeanwhile
        Somebody else altered it after the revision ``seen``.
    """
    with records.work("altered", who=who) as work:
        kept = work.get(Candidate, told.id)
        open_trial(work, kept.trial_id)
        others = tuple(one for one in candidates_of(work, kept.trial_id) if one.id != kept.id)
        altered = replace(
            told,
            trial_id=kept.trial_id,
            name=_free_name(others, told.name or kept.name, kept.name),
            position=kept.position,
            twin_id=kept.twin_id,
            recipe=kept.recipe,
            coat=told.coat if told.finish == "coated" else None,
            withdrawn_at=kept.withdrawn_at,
            withdrawn_why=kept.withdrawn_why,
        )
        _together(work, altered)
        _not_under_prints(work, kept, altered)
        _arms_fit(altered, others)
        if altered.house:
            _no_longer_house(work, others)
        work.say(f"what is stated about {altered.name}")
        return Acted(work.change(altered, seen=seen), work.entry_id)


def move_candidate(
    records: Records, candidate_id: str, *, towards: Literal["up", "down"], who: str
) -> Acted[Candidate]:
    """Move a candidate one place up or down the list, which is the order "as listed".

    Raises
    ------
    RefusedInput
        It stands first, or last, already.
    """
    with records.work("moved", who=who) as work:
        moved = work.get(Candidate, candidate_id)
        open_trial(work, moved.trial_id)
        listed = list(candidates_of(work, moved.trial_id))
        at = next(place for place, one in enumerate(listed) if one.id == candidate_id)
        to = at + (-1 if towards == "up" else 1)
        if not 0 <= to < len(listed):
            edge = "first" if towards == "up" else "last"
            raise RefusedInput(f"{moved.name} is {edge} already.", todo="Nothing was changed.")
        listed.insert(to, listed.pop(at))
        work.say(f"{moved.name} {towards}")
        for place, one in enumerate(listed, start=1):
            work.change(replace(one, position=place))
        return Acted(work.get(Candidate, candidate_id), work.entry_id)


def candidates_of(look: Look, trial_id: str) -> tuple[Candidate, ...]:
    """The candidates of a trial as listed, withdrawn ones too."""
    return look.find(Candidate, trial_id=trial_id, order=("position", "id"))


def printed_sheets(look: Look, candidate_id: str) -> tuple[Sheet, ...]:
    """The sheets of a candidate to which something has happened."""
    sheets = look.find(Sheet, candidate_id=candidate_id, order=("place", "code"))
    touched = {event.sheet_id for event in look.find_any(SheetEvent, "sheet_id", [s.id for s in sheets])}
    return tuple(sheet for sheet in sheets if sheet.id in touched or sheet.run_id is not None)


def _suggested(medium: str, told: Candidate) -> str:
    return f"{medium}, {COATED}" if told.finish == "coated" else medium


def _free_name(others: Sequence[Candidate], wanted: str, own: str) -> str:
    name = one_line(wanted, "the name", LONGEST_NAME)
    if name != own and name.casefold() in {one.name.casefold() for one in others}:
        raise BadSetting(
            f"there is a candidate called “{name}” already.",
            todo="Give it another name, with what tells the two apart: the lot, the finish.",
        )
    return name


def _together(work: Work, told: Candidate) -> None:
    """Refuse a lot of another medium, a roll of another lot, hours that cannot be."""
    if told.printer_id is not None:
        work.get(Printer, told.printer_id)
    if told.lot_id is not None and work.get(Lot, told.lot_id).medium_id != told.medium_id:
        raise BadSetting("that lot is of another medium.", todo="Choose a lot of this medium, or none.")
    if told.roll_id is not None:
        roll = work.get(Roll, told.roll_id)
        if roll.lot_id != told.lot_id:
            raise BadSetting("that roll or box is of another lot.", todo="Choose one of this lot, or none.")
    check_wait(told.cure_hours, "cure")
    check_wait(told.dry_hours, "dry")


def _not_under_prints(work: Work, kept: Candidate, altered: Candidate) -> None:
    """What a printed sheet was printed on cannot become something else afterwards."""
    fields = {"medium_id": "medium", "lot_id": "lot", "roll_id": "roll or box", "finish": "finish"}
    # Something that was not stated may still be stated.
    moved = [
        words
        for name, words in fields.items()
        if getattr(kept, name) is not None and getattr(kept, name) != getattr(altered, name)
    ]
    printed = printed_sheets(work, kept.id) if moved else ()
    if printed:
        raise RefusedInput(
            f"sheet {printed[0].code} of {kept.name} is printed; its {moved[0]} stays what it was.",
            todo="Name another candidate for the other one.",
        )


def _arms_fit(altered: Candidate, others: Sequence[Candidate]) -> None:
    arms = [one for one in others if one.twin_id == altered.id or one.id == altered.twin_id]
    for arm in arms:
        if arm.finish == altered.finish or arm.medium_id != altered.medium_id:
            raise BadSetting(
                f"{arm.name} is its other arm: the same medium, the other finish.",
                todo="Alter the other arm first, or withdraw it.",
            )


def _no_longer_house(work: Work, others: Sequence[Candidate]) -> None:
    for one in others:
        if one.house:
            work.change(replace(one, house=False))
