"""What the page of the plan shows: how many sheets of each medium, what they would show, what they cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from laydown.report.lengths import run_words
from laydown.report.moments import span_words
from laydown.report.wording import number, symbols, unit_words
from laydown.trials.facts import TrialFacts
from laydown.trials.planning_times import MEASURE_MINUTES, SHEET_MINUTES
from laydown.trials.print_order import LOAD_MINUTES
from laydown.trials.studio import Studio
from laydown.trials.trial import Plan
from laydown.usecases.trial.foresee import Foreseen, ForeseenFinding, SheetsCost
from laydown.web.views.test_form import FormLine, form_lines
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class Enough:
    """An amount, and whether it is as small as what matters."""

    words: str
    enough: bool


@dataclass(frozen=True, slots=True)
class FindingLine:
    """What one number of sheets would show of one finding."""

    sheets: int
    chosen: bool
    tells: Enough
    same: Enough


@dataclass(frozen=True, slots=True)
class FindingCard:
    """One finding over all numbers of sheets."""

    label: str
    margin: str
    margin_source: str
    spread: str
    spread_source: str
    lines: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class SheetsLine:
    """One number of sheets to choose; ``tells`` and ``same`` count findings of those shown."""

    sheets: int
    chosen: bool
    in_all: int
    tells: int
    same: int
    material: str
    short: str
    hours: str
    too_few: bool


@dataclass(frozen=True, slots=True)
class OtherLine:
    """A finding the brief does not name, with the sheets that are planned."""

    label: str
    margin: str
    tells: Enough
    same: Enough


@dataclass(frozen=True, slots=True)
class PlanView:
    """How many sheets. ``stands`` says why the number cannot be altered any more, "" where it can."""

    frame: TrialFrame
    candidates: int
    media: int
    pairs: int
    findings: int
    named: bool
    shown: int
    lines: tuple[SheetsLine, ...]
    cards: tuple[FindingCard, ...]
    others: tuple[OtherLine, ...]
    planned: int
    days: int
    why: str
    written: bool
    stands: str
    minutes: str
    forms: tuple[FormLine, ...]
    revision: int
    refusal: str = ""


def plan_view(
    facts: TrialFacts,
    foreseen: Foreseen,
    *,
    revision: int,
    stands: str,
    now: datetime,
    typed: tuple[int, str] | None = None,
    refusal: str = "",
) -> PlanView:
    """What the page of the plan shows; ``typed`` is the number and the reason of a refused form."""
    plan = facts.plan or Plan(id="", trial_id=facts.trial.id)
    chosen, why = typed or (plan.sheets_per_candidate, plan.why)
    return PlanView(
        frame=trial_frame(facts, now=now, here="plan"),
        candidates=sum(one.withdrawn_at is None for one in facts.candidates),
        media=foreseen.media,
        pairs=foreseen.pairs,
        findings=foreseen.findings,
        named=foreseen.named,
        shown=len(foreseen.rows),
        lines=tuple(
            _line(facts, foreseen, place, cost, chosen, plan.days)
            for place, cost in enumerate(foreseen.costs)
        ),
        cards=tuple(_card(row, foreseen.sheets, chosen) for row in foreseen.rows),
        others=_others(foreseen, chosen),
        planned=chosen,
        days=plan.days,
        why=why,
        written=facts.plan is not None,
        stands=stands,
        minutes=(
            f"{SHEET_MINUTES.value:g} minutes to print and {MEASURE_MINUTES.value:g} to measure a sheet, "
            f"{LOAD_MINUTES.value:g} to load a roll"
        ),
        forms=form_lines(facts),
        revision=revision,
        refusal=refusal,
    )


def _line(
    facts: TrialFacts, foreseen: Foreseen, place: int, cost: SheetsCost, chosen: int, days: int
) -> SheetsLine:
    return SheetsLine(
        sheets=cost.sheets,
        chosen=cost.sheets == chosen,
        in_all=cost.in_all,
        tells=sum(row.tells(place) for row in foreseen.rows),
        same=sum(row.calls_same(place) for row in foreseen.rows),
        material=_material(cost, facts.studio),
        short=_short(cost.short, sum(one.withdrawn_at is None for one in facts.candidates)),
        hours=span_words(timedelta(minutes=cost.print_minutes + cost.measure_minutes)),
        too_few=cost.sheets < days,
    )


def _short(names: tuple[str, ...], candidates: int) -> str:
    """Whose roll or box does not hold it: by name where they are few."""
    if not names:
        return ""
    return " and ".join(names) if len(names) <= 2 else f"{len(names)} of {candidates}"


def _material(cost: SheetsCost, studio: Studio) -> str:
    told = []
    if cost.longest_mm:
        told.append(run_words(cost.longest_mm, units=studio.units))
    if cost.most_sheets:
        told.append(f"{cost.most_sheets} sheets")
    return " or ".join(told)


def _card(row: ForeseenFinding, sheets: tuple[int, ...], chosen: int) -> FindingCard:
    unit = unit_words(row.unit)
    return FindingCard(
        label=row.label,
        margin=f"{number(row.margin, row.decimals)} {unit}",
        margin_source=row.margin_source,
        spread=f"{number(row.spread, row.decimals + 1)} {unit}",
        spread_source=symbols(row.spread_source),
        lines=tuple(FindingLine(n, n == chosen, *_amounts(row, place)) for place, n in enumerate(sheets)),
    )


def _others(foreseen: Foreseen, chosen: int) -> tuple[OtherLine, ...]:
    if chosen not in foreseen.sheets:
        return ()
    place = foreseen.sheets.index(chosen)
    return tuple(
        OtherLine(
            row.label,
            f"{number(row.margin, row.decimals)} {unit_words(row.unit)}",
            *_amounts(row, place),
        )
        for row in foreseen.others
    )


def _amounts(row: ForeseenFinding, place: int) -> tuple[Enough, Enough]:
    """What is seen, and what is called the same, in words."""
    unit = unit_words(row.unit)
    tells, same = row.difference[place], row.same[place]
    return (
        Enough(f"{number(tells, row.decimals)} {unit}", row.tells(place)),
        Enough(f"{number(same, row.decimals)} {unit}", row.calls_same(place)),
    )
