"""Foresee what a trial would show with 2 to 12 sheets of each medium, and what they cost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import comb

from laydown.kernel.constants import Constant
from laydown.science.deciding.foresight import Foresight, smallest_difference
from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.metric import Metric
from laydown.science.findings.planning_spreads import planning_spreads
from laydown.trials.brief_changes import brief_in_force
from laydown.trials.facts import TrialFacts
from laydown.trials.material import material_budgets
from laydown.trials.planning_times import MEASURE_MINUTES, SHEET_MINUTES
from laydown.trials.print_order import LOAD_MINUTES, draw_order, loads_of, shares_of
from laydown.trials.stock import RollUse
from laydown.trials.trial import Brief, Candidate, Plan

# Shown where the brief names no finding: what is asked first of any medium. Our own choice.
MAIN = ("white_b", "dmax_visual", "gamut_volume", "grey_balance", "repeat_mcdm")


@dataclass(frozen=True, slots=True)
class ForeseenFinding:
    """One finding: what matters in it, how much sheets vary, and what each number of sheets would show.

    Amounts are in ``unit``; where the margin is a share, all are in per cent of the value. ``difference`` and
    ``same`` go with the numbers of sheets of the whole: the smallest true difference that is told apart, and
    the smallest margin within which equals are called the same.
    """

    finding: str
    label: str
    unit: str
    decimals: int
    margin: float
    margin_source: str
    spread: float
    spread_source: str
    difference: tuple[float, ...]
    same: tuple[float, ...]

    def tells(self, place: int) -> bool:
        """Whether the difference that matters would be told apart."""
        return self.difference[place] <= self.margin

    def calls_same(self, place: int) -> bool:
        """Whether equals would be called the same within it."""
        return self.same[place] <= self.margin


@dataclass(frozen=True, slots=True)
class SheetsCost:
    """What so many sheets of each candidate cost: material, loads, minutes at printer and instrument.

    ``longest_mm`` is what the neediest roll gives up, 0 where all print from boxes; ``short`` names the
    candidates whose roll or box does not hold it.
    """

    sheets: int
    in_all: int
    longest_mm: float
    most_sheets: int
    short: tuple[str, ...]
    loads: int
    print_minutes: float
    measure_minutes: float


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a trial would show and cost with each number of sheets.

    ``media`` are compared with each other in ``pairs``; with ``findings`` they are what the simultaneous rule
    pays for. ``named`` is whether the brief names the findings in ``rows``; ``others`` are the rest.
    """

    sheets: tuple[int, ...]
    media: int
    pairs: int
    findings: int
    power: float
    named: bool
    rows: tuple[ForeseenFinding, ...]
    others: tuple[ForeseenFinding, ...]
    costs: tuple[SheetsCost, ...]


def foresee(
    facts: TrialFacts, *, uses: Sequence[RollUse] = (), own: Mapping[str, float] | None = None
) -> Foreseen:
    """What the trial would show with each number of sheets, by the rules it will be judged by.

    ``own`` holds the studio's own spreads by finding (see ``planning_spreads``); ``uses`` what was taken from
    rolls. With fewer than two candidates two are reckoned with.
    """
    media = max(2, _compared(facts.candidates))
    judged = [metric for metric in METRICS.values() if metric.judged]
    seen = _of_unit_spread(media, len(judged))
    spreads = planning_spreads(own)
    brief = _brief(facts)
    told = {wanted.finding: wanted.amount for wanted in brief.differences}
    rows = {
        metric.id: _finding(metric, spreads[metric.id], told.get(metric.id), seen)
        for metric in judged
        if metric.margin is not None or metric.id in told
    }
    named = [name for name in _named(brief) if name in rows]
    shown = named or [name for name in MAIN if name in rows]
    sheets = tuple(int(n) for n in seen.sheets)
    return Foreseen(
        sheets=sheets,
        media=media,
        pairs=comb(media, 2),
        findings=len(judged),
        power=seen.power,
        named=bool(named),
        rows=tuple(rows[name] for name in shown),
        others=tuple(row for name, row in rows.items() if name not in shown),
        costs=tuple(sheets_cost(facts, n, uses=uses) for n in sheets),
    )


def sheets_cost(facts: TrialFacts, n: int, *, uses: Sequence[RollUse] = ()) -> SheetsCost:
    """What ``n`` sheets of each candidate cost; printing days are never more than sheets."""
    plan = facts.plan or Plan(id="", trial_id=facts.trial.id)
    plan = replace(plan, sheets_per_candidate=n, days=min(plan.days, n))
    supposed = replace(facts, plan=plan, sheets=(), events=(), readings=())
    shares = shares_of(supposed)
    turns = draw_order(shares, days=plan.days, seed=plan.seed, way=plan.order)
    rolls = sum(load.on_roll for load in loads_of(turns, shares))
    budgets = material_budgets(supposed, uses=uses)
    names = {one.id: one.name for one in facts.candidates}
    return SheetsCost(
        sheets=n,
        in_all=len(turns),
        longest_mm=max((one.length_mm for one in budgets if one.form == "roll"), default=0.0),
        most_sheets=max((one.sheets for one in budgets if one.form == "sheets"), default=0),
        short=tuple(names[one.candidate_id] for one in budgets if one.fits is False),
        loads=rolls,
        print_minutes=len(turns) * SHEET_MINUTES.value + rolls * LOAD_MINUTES.value,
        measure_minutes=len(turns) * MEASURE_MINUTES.value,
    )


def _compared(candidates: Sequence[Candidate]) -> int:
    """Candidates in the larger finish: coated and uncoated prints are not compared with each other."""
    finishes = Counter(one.finish for one in candidates if one.withdrawn_at is None)
    return max(finishes.values(), default=0)


@lru_cache(maxsize=32)
def _of_unit_spread(media: int, findings: int) -> Foresight:
    """What is foreseen for a spread of 1: everything is proportional to the spread, and it takes a while."""
    return smallest_difference(1.0, media=media, quantities_judged=findings)


def _brief(facts: TrialFacts) -> Brief:
    if facts.brief is None:
        return Brief(id="", trial_id=facts.trial.id)
    return brief_in_force(facts.brief, facts.brief_changes)


def _named(brief: Brief) -> tuple[str, ...]:
    """Findings that the brief sets a difference for or ties a criterion to, each once."""
    told = [wanted.finding for wanted in brief.differences]
    tied = [one.finding for one in brief.criteria if one.finding]
    return tuple(dict.fromkeys([*told, *tied]))


def _finding(metric: Metric, spread: Constant, told: float | None, seen: Foresight) -> ForeseenFinding:
    scale = 100.0 if metric.margin_is_relative else 1.0
    margin = told if told is not None else float(metric.margin or 0.0)
    usual = metric.margin.source if metric.margin else ""
    return ForeseenFinding(
        finding=metric.id,
        label=metric.label,
        unit="%" if metric.margin_is_relative else metric.unit,
        decimals=1 if metric.margin_is_relative else metric.decimals,
        margin=scale * margin,
        margin_source="this brief" if told is not None else f"default: {usual}",
        spread=scale * spread.value,
        spread_source=spread.source,
        difference=tuple(float(d) * spread.value * scale for d in seen.difference),
        same=tuple(float(m) * spread.value * scale for m in seen.margin),
    )
