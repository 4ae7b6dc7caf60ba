"""What the page of the material shows: what each candidate needs, what its roll or box holds and leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.kernel.constants import Constant
from laydown.report.lengths import length_words, run_words
from laydown.trials import material
from laydown.trials.facts import TrialFacts
from laydown.trials.material import MaterialBudget, MaterialItem, material_budgets
from laydown.trials.stock import RollUse
from laydown.trials.studio import Units
from laydown.trials.trial import Plan
from laydown.web.views.stock_words import roll_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

NAMES = {
    "setting": "Setting sheet",
    "chart": "Chart",
    "test": "Test prints",
    "strips": "Control strips",
    "handling": "Handling scraps",
    "fading": "Fading strips",
    "spare": "Spares",
    "leads and tails": "Leads and tails",
    "gaps": "Gaps between pieces",
}
# Fields of the plan that can be overwritten, with what holds where they are empty.
LENGTHS: dict[str, tuple[str, Constant | None]] = {
    "sheet_length_mm": ("Test print, length", material.SHEET_MM),
    "sheet_width_mm": ("Test print, width", None),
    "setting_length_mm": ("Setting sheet, length", material.SETTING_MM),
    "chart_length_mm": ("Chart, length", material.CHART_MM),
    "strip_length_mm": ("Control strips together", material.STRIPS_MM),
    "handling_length_mm": ("Handling scraps together", material.HANDLING_MM),
    "fading_length_mm": ("Fading strips together", material.FADING_MM),
}


@dataclass(frozen=True, slots=True)
class NeedLine:
    """What one candidate needs against what is there. ``mark`` is a shape, ``verdict`` its word."""

    candidate: str
    roll: str
    needs: str
    shared_with: tuple[str, ...]
    holds: str
    left: str
    mark: str
    verdict: str
    leave_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemLine:
    """One need over all candidates, in their order, and where the figure is from."""

    name: str
    amounts: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class LengthField:
    """A length that can be set in the plan."""

    name: str
    label: str
    value: str
    hint: str


@dataclass(frozen=True, slots=True)
class MaterialView:
    """The material of a trial, candidate by candidate and need by need."""

    frame: TrialFrame
    needs: tuple[NeedLine, ...]
    items: tuple[ItemLine, ...]
    totals: tuple[str, ...]
    candidates: tuple[str, ...]
    sheets_each: int
    spares: int
    lengths: tuple[LengthField, ...]
    usual_roll: str
    revision: int
    refusal: str = ""


def material_view(
    facts: TrialFacts,
    *,
    uses: Sequence[RollUse],
    revision: int,
    now: datetime,
    typed: dict[str, str] | None = None,
    refusal: str = "",
) -> MaterialView:
    """What the page shows; ``typed`` holds the lengths of a refused form."""
    plan = facts.plan or Plan(id="", trial_id=facts.trial.id)
    units = facts.studio.units
    budgets = material_budgets(facts, uses=uses)
    return MaterialView(
        frame=trial_frame(facts, now=now, here="plan"),
        needs=tuple(_need(facts, one, units) for one in budgets),
        items=_items(budgets, units),
        totals=tuple(_total(one, units) for one in budgets),
        candidates=tuple(facts.candidate(one.candidate_id).name for one in budgets),
        sheets_each=plan.sheets_per_candidate,
        spares=plan.spare_sheets,
        lengths=tuple(
            LengthField(
                name,
                label,
                (typed or {}).get(name, length_text(getattr(plan, name), units=units)),
                f"empty: {length_words(usual.value, units=units)}" if usual else "empty: not side by side",
            )
            for name, (label, usual) in LENGTHS.items()
        ),
        usual_roll=_usual_roll(units),
        revision=revision,
        refusal=refusal,
    )


def length_text(mm: float | None, *, units: Units) -> str:
    """A length as the text of its field; "" where it is not stated."""
    return "" if mm is None else length_words(mm, units=units)


def _usual_roll(units: Units) -> str:
    width = length_words(material.TRIAL_ROLL_WIDTH_MM.value, units=units)
    return f"{width} x {run_words(material.TRIAL_ROLL_LENGTH_MM.value, units=units)}"


def _need(facts: TrialFacts, one: MaterialBudget, units: Units) -> NeedLine:
    candidate = facts.candidate(one.candidate_id)
    roll = next((each for each in facts.rolls if each.id == candidate.roll_id), None)
    mark, verdict = _verdict(one)
    return NeedLine(
        candidate=candidate.name,
        roll=roll_words(roll, units=units) if roll else "",
        needs=_total(one, units),
        shared_with=one.shared_with,
        holds="" if one.holds is None else _amount(one, max(one.holds, 0.0), units),
        left="" if one.left is None else _amount(one, abs(one.left), units),
        mark=mark,
        verdict=verdict,
        leave_out=one.leave_out,
    )


def _verdict(one: MaterialBudget) -> tuple[str, str]:
    if one.fits is not None:
        return ("full", "left over") if one.fits else ("none", "missing")
    if one.form == "sheets" or one.length_mm <= material.TRIAL_ROLL_LENGTH_MM.value:
        return "half", "not known"
    return "none", "more than a usual trial roll"


def _items(budgets: Sequence[MaterialBudget], units: Units) -> tuple[ItemLine, ...]:
    """One line for each need, in the order of the budgets; a box has no leads and tails."""
    lines = []
    for name, label in NAMES.items():
        found = [next((item for item in one.items if item.name == name), None) for one in budgets]
        sources = [item.source for item in found if item is not None and (item.length_mm or item.sheets)]
        if sources:
            amounts = tuple(_item(item, units) for item in found)
            lines.append(ItemLine(label, amounts, "; ".join(dict.fromkeys(sources))))
    return tuple(lines)


def _item(item: MaterialItem | None, units: Units) -> str:
    if item is None or not (item.length_mm or item.sheets):
        return "–"
    if item.sheets:
        return _sheets(item.sheets)
    total = run_words(item.length_mm, units=units)
    return f"{item.n} x {length_words(item.each_mm, units=units)} = {total}" if item.n > 1 else total


def _total(one: MaterialBudget, units: Units) -> str:
    return _amount(one, one.length_mm if one.form == "roll" else one.sheets, units)


def _amount(one: MaterialBudget, value: float, units: Units) -> str:
    return run_words(value, units=units) if one.form == "roll" else _sheets(value)


def _sheets(count: float) -> str:
    return f"{count:.0f} sheet{'' if count == 1 else 's'}"
