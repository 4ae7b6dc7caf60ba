"""What the page of the candidates shows: who is in the trial, what is unfair, what can be added."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import UnfairDifference, unfair_differences
from laydown.trials.fairness_rules import SEVERITIES
from laydown.trials.recipes import recipe_gaps
from laydown.trials.shared_settings import problems_here
from laydown.trials.studio import Printer
from laydown.trials.trial import Candidate
from laydown.web.views.stock_offer import StockOffer
from laydown.web.views.stock_words import stock_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

SIGNS = dict(zip(SEVERITIES, ("▲", "△", "○"), strict=True))


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
    stock: StockOffer
    printers: tuple[tuple[str, str], ...]
    typed: dict[str, str]
    refusal: str = ""


def candidates_view(
    facts: TrialFacts,
    *,
    stock: StockOffer,
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


def printer_choices(look: Look) -> tuple[tuple[str, str], ...]:
    """The printers, to choose one."""
    named = ((printer.id, printer.name) for printer in look.find(Printer, order=("name", "id")))
    return (("", "not stated"), *named)


def _tile(facts: TrialFacts, one: Candidate) -> CandidateTile:
    printer = facts.printer_of(one)
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
        problems=len(problems_here(facts, one, one.recipe, printer=printer, for_chart=False)),
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
