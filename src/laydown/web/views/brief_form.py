"""The form a brief is written or changed in: what it shows, and what it sends back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import get_args

from laydown.kernel.errors import BadSetting
from laydown.report.wording import unit_words
from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.metric import FAMILY_TITLES, Metric
from laydown.trials import brief_proposals
from laydown.trials.brief_checks import shares
from laydown.trials.trial import Brief, Criterion, Gate, Product, WantedDifference
from laydown.web.forms import Form

PRODUCTS: tuple[Product, ...] = get_args(Product)
TEXTS = (
    "question",
    "sizes",
    "display_light",
    "viewing_distance",
    "glazing",
    "coating",
    "must_match",
    "judges",
    "lights",
    "words",
)
EMPTY_ROWS = 2
MORE_ROWS = 4


@dataclass(frozen=True, slots=True)
class GateRow:
    """One must-have as typed."""

    name: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion as typed; ``share`` is what its weight comes to, "" where that is not known."""

    name: str = ""
    weight: str = ""
    finding: str = ""
    words: str = ""
    share: str = ""


@dataclass(frozen=True, slots=True)
class DifferenceRow:
    """The difference that matters in one finding as typed, with the default and where that is from."""

    finding: str
    label: str
    unit: str
    usual: str
    source: str
    amount: str


@dataclass(frozen=True, slots=True)
class Offer:
    """A proposal that can be ticked to add it."""

    name: str
    words: str
    ticked: bool = False


@dataclass(frozen=True, slots=True)
class BriefForm:
    """Everything in the form, as text. ``findings`` are the choices a criterion can be tied to, by family."""

    texts: Mapping[str, str]
    products: tuple[str, ...]
    stop_date: str
    gates: tuple[GateRow, ...]
    criteria: tuple[CriterionRow, ...]
    main: tuple[DifferenceRow, ...]
    others: tuple[DifferenceRow, ...]
    offered_gates: tuple[Offer, ...]
    offered_criteria: tuple[Offer, ...]
    findings: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    all_products: tuple[str, ...] = PRODUCTS


def form_of(brief: Brief, *, empty: int = EMPTY_ROWS) -> BriefForm:
    """The form filled with a brief, and some empty rows."""
    counted = shares(brief)
    gates = tuple(GateRow(one.name, one.words) for one in brief.gates)
    criteria = tuple(
        CriterionRow(one.name, f"{one.weight:g}", one.finding, one.words, _per_cent(counted.get(one.name)))
        for one in brief.criteria
    )
    amounts = {
        one.finding: f"{_shown(METRICS[one.finding], one.amount):g}"
        for one in brief.differences
        if one.finding in METRICS
    }
    return _form(
        {name: getattr(brief, name) for name in TEXTS},
        brief.products,
        brief.stop_date.isoformat() if brief.stop_date else "",
        gates,
        criteria,
        amounts,
        empty=empty,
    )


def typed_form(form: Form, *, more: bool = False) -> BriefForm:
    """The form as it was typed, ticked proposals among its rows; with ``more``, more empty rows."""
    gates = (*_gate_rows(form), *(GateRow(one.name, one.words) for one in _ticked_gates(form)))
    criteria = (*_criterion_rows(form), *(_row(one) for one in _ticked_criteria(form)))
    return _form(
        {name: form.text(name) for name in TEXTS},
        form.many("products"),
        form.text("stop_date"),
        gates,
        _with_shares(criteria),
        {name: form.text(f"amount-{name}") for name in METRICS},
        empty=MORE_ROWS if more else EMPTY_ROWS,
    )


def told_brief(form: Form, base: Brief) -> Brief:
    """The brief a form says, on top of ``base``, which names the trial.

    Raises
    ------
    BadSetting
        A weight, an amount or a day is none.
    """
    gates = [Gate(name=row.name, words=row.words) for row in _gate_rows(form)]
    return replace(
        base,
        products=tuple(one for one in PRODUCTS if one in form.many("products")),
        stop_date=form.day("stop_date", "The stop date"),
        gates=(*gates, *_ticked_gates(form)),
        criteria=(*(_criterion(row) for row in _criterion_rows(form)), *_ticked_criteria(form)),
        differences=tuple(_differences(form)),
        question=form.text("question"),
        sizes=form.text("sizes"),
        display_light=form.text("display_light"),
        viewing_distance=form.text("viewing_distance"),
        glazing=form.text("glazing"),
        coating=form.text("coating"),
        must_match=form.text("must_match"),
        judges=form.text("judges"),
        lights=form.text("lights"),
        words=form.text("words"),
    )


def _form(
    texts: Mapping[str, str],
    products: tuple[str, ...],
    stop_date: str,
    gates: tuple[GateRow, ...],
    criteria: tuple[CriterionRow, ...],
    amounts: Mapping[str, str],
    *,
    empty: int,
) -> BriefForm:
    judged = [metric for metric in METRICS.values() if metric.judged]
    rows = {metric.id: _difference_row(metric, amounts.get(metric.id, "")) for metric in judged}
    main = [metric.id for metric in judged if not metric.echoes or amounts.get(metric.id)]
    named = {row.name.casefold() for row in gates} | {row.name.casefold() for row in criteria}
    return BriefForm(
        texts=texts,
        products=products,
        stop_date=stop_date,
        gates=gates + (GateRow(),) * empty,
        criteria=criteria + (CriterionRow(),) * empty,
        main=tuple(rows[name] for name in main),
        others=tuple(row for name, row in rows.items() if name not in main),
        offered_gates=tuple(
            Offer(one.name, one.words) for one in brief_proposals.GATES if one.name.casefold() not in named
        ),
        offered_criteria=tuple(
            Offer(one.name, f"weight {one.weight:g}")
            for one in brief_proposals.CRITERIA
            if one.name.casefold() not in named
        ),
        findings=tuple(
            (title, tuple((metric.id, metric.label) for metric in judged if metric.family == family))
            for family, title in FAMILY_TITLES.items()
        ),
    )


def _difference_row(metric: Metric, amount: str) -> DifferenceRow:
    unit = "%" if metric.margin_is_relative else unit_words(metric.unit)
    usual = f"{_shown(metric, metric.margin.value):g} {unit}" if metric.margin else "none"
    source = metric.margin.source if metric.margin else ""
    return DifferenceRow(metric.id, metric.label, unit, usual, source, amount)


def _shown(metric: Metric, amount: float) -> float:
    """An amount as it is typed and shown: shares in per cent, without the crumbs of a division."""
    return round(100 * amount, 9) if metric.margin_is_relative else amount


def _gate_rows(form: Form) -> list[GateRow]:
    told = zip(form.many("gate_name"), form.many("gate_words"), strict=False)
    return [GateRow(name, words) for name, words in told if name]


def _criterion_rows(form: Form) -> list[CriterionRow]:
    columns = (form.many(f"criterion_{name}") for name in ("name", "weight", "finding", "words"))
    return [CriterionRow(*told) for told in zip(*columns, strict=False) if told[0]]


def _criterion(row: CriterionRow) -> Criterion:
    return Criterion(name=row.name, weight=_number(row), finding=row.finding, words=row.words)


def _number(row: CriterionRow) -> float:
    try:
        return float(row.weight.replace(",", "."))
    except ValueError:
        raise BadSetting(
            f'criterion "{row.name}": the weight "{row.weight}" is no number.',
            todo="Give a number from 0; only their shares count.",
        ) from None


def _differences(form: Form) -> list[WantedDifference]:
    told = []
    for metric in METRICS.values():
        amount = form.number(f"amount-{metric.id}", metric.label, low=0, high=1e9)
        if amount is not None:
            scaled = amount / 100 if metric.margin_is_relative else amount
            told.append(WantedDifference(finding=metric.id, amount=scaled))
    return told


def _ticked_gates(form: Form) -> list[Gate]:
    return [one for one in brief_proposals.GATES if one.name in form.many("offer_gate")]


def _ticked_criteria(form: Form) -> list[Criterion]:
    return [one for one in brief_proposals.CRITERIA if one.name in form.many("offer_criterion")]


def _row(one: Criterion) -> CriterionRow:
    return CriterionRow(one.name, f"{one.weight:g}", one.finding, one.words)


def _with_shares(rows: tuple[CriterionRow, ...]) -> tuple[CriterionRow, ...]:
    try:
        weights = [_number(row) for row in rows]
    except BadSetting:
        return rows
    total = sum(weights)
    if not total > 0 or min(weights) < 0:
        return rows
    return tuple(
        replace(row, share=_per_cent(weight / total)) for row, weight in zip(rows, weights, strict=True)
    )


def _per_cent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.0f} %"
