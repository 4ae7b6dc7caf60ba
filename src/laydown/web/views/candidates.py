"""What the page of the candidates shows: who is in the trial, what is unfair, what can be added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.lengths import length_words, run_words
from laydown.report.moments import moment_words
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import UnfairDifference, unfair_differences
from laydown.trials.fairness_rules import SEVERITIES
from laydown.trials.recipes import recipe_gaps, recipe_problems
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer, Units
from laydown.trials.trial import Candidate
from laydown.web.views.trial_frame import TrialFrame, trial_frame

SIGNS = dict(zip(SEVERITIES, ("▲", "△", "○"), strict=True))


@dataclass(frozen=True, slots=True)
class StockChoice:
    """Something from the stock room that a candidate can be: ``value`` names medium, lot and roll."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class StockGroup:
    """A medium with its lots and rolls."""

    medium: str
    choices: tuple[StockChoice, ...]


@dataclass(frozen=True, slots=True)
class CandidateTile:
    """One candidate in the list. ``gaps`` counts settings not stated, ``problems`` what does not fit."""

    id: str
    name: str
    house: bool
    finish: str
    withdrawn: str
    stock: str
    printer: str
    gaps: int
    problems: int
    first: bool
    last: bool
    may_coat: bool
    sheets: int


@dataclass(frozen=True, slots=True)
class UnfairLine:
    """Something that differs though it is not under test; ``sign`` is the shape of its severity."""

    what: str
    severity: str
    sign: str
    grave: bool
    slight: bool
    values: tuple[tuple[str, tuple[str, ...]], ...]
    why: str
    todo: str


@dataclass(frozen=True, slots=True)
class CandidatesView:
    """The candidates of a trial; ``typed`` holds what a refused form said."""

    frame: TrialFrame
    tiles: tuple[CandidateTile, ...]
    unfair: tuple[UnfairLine, ...]
    stock: tuple[StockGroup, ...]
    printers: tuple[tuple[str, str], ...]
    typed: dict[str, str]
    refusal: str = ""


def candidates_view(
    facts: TrialFacts,
    *,
    stock: tuple[StockGroup, ...],
    printers: tuple[tuple[str, str], ...],
    now: datetime,
    typed: dict[str, str] | None = None,
    refusal: str = "",
) -> CandidatesView:
    """What the page shows."""
    return CandidatesView(
        frame=trial_frame(facts, now=now, here="plan"),
        tiles=tuple(_tile(facts, one) for one in facts.candidates),
        unfair=tuple(_unfair(one) for one in unfair_differences(facts)),
        stock=stock,
        printers=printers,
        typed={"stock": "", "printer": "", "finish": "uncoated", "name": "", "house": ""} | (typed or {}),
        refusal=refusal,
    )


def stock_groups(look: Look, *, units: Units) -> tuple[StockGroup, ...]:
    """Everything in the stock room that a candidate can be: each medium, its lots, their rolls and boxes."""
    lots, rolls = look.find(Lot, order=("code", "id")), look.find(Roll, order=("code", "id"))
    return tuple(
        StockGroup(medium.name, tuple(_choices(medium, lots, rolls, units)))
        for medium in look.find(Medium, order=("name", "id"))
    )


def printer_choices(look: Look) -> tuple[tuple[str, str], ...]:
    """The printers, to choose one."""
    named = ((printer.id, printer.name) for printer in look.find(Printer, order=("name", "id")))
    return (("", "not stated"), *named)


def stock_value(candidate: Candidate) -> str:
    """What stands for the stock of a candidate in a form."""
    return f"{candidate.medium_id}|{candidate.lot_id or ''}|{candidate.roll_id or ''}"


def roll_words(roll: Roll, *, units: Units) -> str:
    """Such as "roll R1, 432 mm x 6.1 m" or "box 3, 25 sheets"."""
    if roll.form == "sheets":
        held = f"{roll.sheets} sheets" if roll.sheets is not None else ""
        sides = [length_words(side, units=units) for side in (roll.width_mm, roll.length_mm) if side]
        told = [f"box {roll.code}".strip(), " x ".join(sides), held]
    else:
        width = length_words(roll.width_mm, units=units) if roll.width_mm else ""
        long = run_words(roll.length_mm, units=units) if roll.length_mm else ""
        told = [f"roll {roll.code}".strip(), " x ".join(part for part in (width, long) if part)]
    return ", ".join(part for part in told if part)


def stock_words(facts: TrialFacts, candidate: Candidate) -> str:
    """What a candidate is made from: medium, lot, roll."""
    lot = next((one for one in facts.lots if one.id == candidate.lot_id), None)
    roll = next((one for one in facts.rolls if one.id == candidate.roll_id), None)
    told = [facts.medium_of(candidate).name, f"lot {lot.code}" if lot else "lot not stated"]
    if roll is not None:
        told.append(roll_words(roll, units=facts.studio.units))
    return ", ".join(told)


def _choices(medium: Medium, lots: Sequence[Lot], rolls: Sequence[Roll], units: Units) -> list[StockChoice]:
    found = []
    for lot in lots:
        if lot.medium_id != medium.id:
            continue
        found += [
            StockChoice(f"{medium.id}|{lot.id}|{roll.id}", f"lot {lot.code}, {roll_words(roll, units=units)}")
            for roll in rolls
            if roll.lot_id == lot.id
        ]
        found.append(StockChoice(f"{medium.id}|{lot.id}|", f"lot {lot.code}, roll or box not stated"))
    return [*found, StockChoice(f"{medium.id}||", "lot not stated")]


def _tile(facts: TrialFacts, one: Candidate) -> CandidateTile:
    printer, medium = facts.printer_of(one), facts.medium_of(one)
    zone = facts.studio.time_zone
    withdrawn = ""
    if one.withdrawn_at is not None:
        withdrawn = f"Withdrawn {moment_words(one.withdrawn_at, time_zone=zone)}: {one.withdrawn_why}"
    coated = any(other.twin_id == one.id for other in facts.candidates)
    return CandidateTile(
        id=one.id,
        name=one.name,
        house=one.house,
        finish=one.finish,
        withdrawn=withdrawn,
        stock=stock_words(facts, one),
        printer=printer.name if printer else "printer not stated",
        gaps=len(recipe_gaps(one, printer=printer)),
        problems=len(recipe_problems(one.recipe, medium, printer, for_chart=False)),
        first=one == facts.candidates[0],
        last=one == facts.candidates[-1],
        may_coat=one.finish == "uncoated" and not withdrawn and not coated,
        sheets=sum(
            sheet.use == "test" and not facts.events_of(sheet.id, "spoiled")
            for sheet in facts.sheets_of(one.id)
        ),
    )


def _unfair(one: UnfairDifference) -> UnfairLine:
    what = one.what[:1].upper() + one.what[1:]
    return UnfairLine(
        what=what,
        severity=one.severity,
        sign=SIGNS[one.severity],
        grave=one.severity == SEVERITIES[0],
        slight=one.severity == SEVERITIES[-1],
        values=one.values,
        why=one.why,
        todo=one.todo,
    )
