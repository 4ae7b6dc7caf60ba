"""From values per sheet to findings with intervals and differences with calls."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.deciding import estimate, judge
from laydown.science.deciding.types import Difference, Estimate, Quantity
from laydown.science.findings.catalogue import INSTRUMENT_NOISE, METRICS
from laydown.science.findings.found import Found
from laydown.science.findings.likeness import NOT_ACROSS, Across, likeness
from laydown.science.findings.metric import Metric
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.findings.reduction import STANDARD_COLORIMETRY, condition_words
from laydown.usecases.collect_findings import FoundMedium, Key, Under
from laydown.usecases.comparison import CallsByFinding, ComparedDifference, Finding
from laydown.usecases.trial_file import MarginSetting

ALPHA = 0.05
CONFIDENCE = 0.95

Refusals = Mapping[tuple[str, str], str]


@dataclass(frozen=True, slots=True, eq=False)
class Called:
    """Findings by medium, differences, calls by finding, and cautions about what was compared."""

    findings: Mapping[str, tuple[Finding, ...]]
    differences: tuple[ComparedDifference, ...]
    by_finding: tuple[CallsByFinding, ...]
    cautions: tuple[str, ...]
    comparisons: int
    refusals: Refusals


def call_differences(
    media: Sequence[FoundMedium],
    *,
    house: str,
    margins: Mapping[str, MarginSetting],
    across: frozenset[Across] = NOT_ACROSS,
) -> Called:
    """Judge every metric under the condition of each medium, and put intervals on all other findings.

    ``across`` names what may differ because the question is about it; see ``likeness``.
    """
    refusals, cautions = _refusals(media, across)
    metrics = [METRICS[name] for name in METRICS if _judgeable(METRICS[name], media)]
    differences: list[ComparedDifference] = []
    by_finding: list[CallsByFinding] = []
    estimates: dict[tuple[str, str], Estimate] = {}
    for metric in metrics:
        setting = margins.get(metric.id, MarginSetting())
        having = [m for m in media if metric.id in m.judged.found]
        refused = _refused_for(metric, having, refusals)
        told = _judge_apart(metric, setting, having, house, refused, len(metrics))
        estimates |= {(name, metric.id): estimate for name, estimate in told.estimates.items()}
        conditions = {m.name: metric_condition(metric, m.judged) for m in having}
        by_finding.append(_calls(metric, told, conditions))
        differences += [_compared(metric, item, conditions, told.margin_source) for item in told.differences]
    beside = _estimates_beside(media)
    return Called(
        findings={m.name: _findings(m, estimates, beside) for m in media},
        differences=tuple(differences),
        by_finding=tuple(by_finding),
        cautions=cautions,
        comparisons=len(differences),
        refusals=refusals,
    )


def metric_condition(metric: Metric, under: Under) -> str:
    """The condition a metric was found under, in words, with its own illuminant or filter."""
    reading = under.sheets[0].readings[0]
    if metric.colorimetry == STANDARD_COLORIMETRY:
        return reading.condition
    return condition_words(reading.conditions, colorimetry=metric.colorimetry)


def _judgeable(metric: Metric, media: Sequence[FoundMedium]) -> bool:
    having = [
        m
        for m in media
        if metric.id in m.judged.found and np.isfinite(m.judged.found[metric.id].values).any()
    ]
    return metric.judged and len(having) > 1


def _refusals(media: Sequence[FoundMedium], across: frozenset[Across]) -> tuple[Refusals, tuple[str, ...]]:
    refused: dict[tuple[str, str], str] = {}
    cautions: dict[str, None] = {}
    for a, b in combinations(media, 2):
        told = [
            likeness(x.readings[0], y.readings[0], across=across)
            for x, y in _different_pairs(a.judged.sheets, b.judged.sheets)
        ]
        reasons = [item.refusal for item in told if item.refusal]
        if reasons:
            refused[(a.name, b.name)] = reasons[0]
        cautions |= dict.fromkeys(caution for item in told for caution in item.cautions)
    return refused, tuple(cautions)


def _different_pairs(
    first: Sequence[SheetOnChart], second: Sequence[SheetOnChart]
) -> list[tuple[SheetOnChart, SheetOnChart]]:
    """Every sheet of one against the first of the other, which finds any unlike sheet."""
    return [(x, second[0]) for x in first] + [(first[0], y) for y in second[1:]]


def _refused_for(metric: Metric, media: Sequence[FoundMedium], refusals: Refusals) -> Refusals:
    """Pairs that may not be compared in this metric: unlike readings, charts, or ways it was got."""
    refused = dict(refusals)
    for a, b in combinations(media, 2):
        basis = [medium.judged.found[metric.id].basis for medium in (a, b)]
        if metric.needs_same_chart and (a.chart_name != b.chart_name or not a.has_chart):
            words = (
                "different test charts"
                if a.has_chart and b.has_chart
                else "no device values to tell the chart by"
            )
            refused.setdefault(
                (a.name, b.name), f"{words}: this number depends on which patches were printed"
            )
        elif basis[0] != basis[1] or (basis[0] and metric.family == "white" and a.chart_name != b.chart_name):
            told = " against ".join(word or "as defined" for word in basis)
            refused.setdefault((a.name, b.name), f"got in unlike ways: {told}")
    return refused


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """One metric over all media: what ``judge`` says of each group that may be compared, put together."""

    quantity: Quantity
    margin_source: str
    estimates: Mapping[str, Estimate]
    differences: tuple[Difference, ...]
    letters: Mapping[str, str]
    assumption: str


def _judge_apart(
    metric: Metric,
    setting: MarginSetting,
    media: Sequence[FoundMedium],
    house: str,
    refused: Refusals,
    quantities: int,
) -> _Judged:
    """Judge each group of media that may be compared by itself, so that no group lends another its spread."""
    groups = _groups([m.name for m in media], refused)
    values = {m.name: m.judged.found[metric.id].values for m in media}
    estimates: dict[str, Estimate] = {}
    letters: dict[str, str] = {}
    told: list[Difference] = []
    assumed: list[str] = []
    first: tuple[Quantity, str] | None = None
    for place, group in enumerate(sorted(groups, key=lambda names: house not in names)):
        found = {name: values[name] for name in group}
        quantity, source = _quantity(metric, setting, found, house)
        first = first or (quantity, source)
        judgement = judge(
            found,
            quantity,
            quantities_judged=quantities,
            alpha=ALPHA,
            confidence=CONFIDENCE,
            house=house if house in found else None,
            refused=refused,
        )
        estimates |= judgement.estimates
        # Letters of another group mean nothing beside these; a prime keeps them apart.
        letters |= {
            name: "".join(f"{x}{PRIME * place}" for x in said) for name, said in judgement.letters.items()
        }
        told += judgement.differences
        assumed.append(judgement.assumption)
    together = {(d.candidate, d.against) for d in told}
    for a, b in combinations(values, 2):
        if (a, b) not in together and (b, a) not in together:
            pair = (b, a) if a == house else (a, b)
            why = refused.get((a, b)) or refused.get((b, a)) or NO_COMMON_GROUND
            told.append(_refused_difference(*pair, margin=None, reason=why))
    assert first is not None
    return _Judged(*first, estimates, tuple(told), letters, " ".join(dict.fromkeys(assumed)))


PRIME = "\u2032"
NO_COMMON_GROUND = "no reading they share may be compared"


def _groups(names: Sequence[str], refused: Refusals) -> list[list[str]]:
    """Media sorted into groups within which every one may be compared with some other."""
    groups: list[list[str]] = []
    for name in names:
        fitting = [
            group
            for group in groups
            if any((name, other) not in refused and (other, name) not in refused for other in group)
        ]
        merged = [member for group in fitting for member in group]
        groups = [group for group in groups if group not in fitting] + [[*merged, name]]
    return groups


def _refused_difference(candidate: str, against: str, *, margin: float | None, reason: str) -> Difference:
    nan = math.nan
    return Difference(
        candidate, against, nan, nan, nan, margin, "cannot_tell", None, nan, nan, False, True, reason
    )


def _quantity(
    metric: Metric, setting: MarginSetting, found: Mapping[str, Floats], house: str
) -> tuple[Quantity, str]:
    margin = setting.margin or metric.margin
    relative = setting.relative if setting.relative is not None else metric.margin_is_relative
    size, source = None, ""
    if margin is not None:
        size, source = float(margin), margin.source
        if relative:
            reference = found[house] if house in found else np.concatenate(list(found.values()))
            known = reference[np.isfinite(reference)]
            size = abs(float(known.mean())) * float(margin) if known.size else math.nan
            source = (
                f"{float(margin):.0%} of the {'house medium' if house in found else 'mean'}; {margin.source}"
            )
    return (
        Quantity(
            id=metric.id,
            unit=metric.unit,
            preference=setting.prefer or metric.preference,
            margin=size if size is None or (math.isfinite(size) and size > 0) else None,
            resolution=metric.resolution,
        ),
        source,
    )


def _one_or_both(conditions: Mapping[str, str], names: Sequence[str]) -> str:
    """The condition of all named media, or each one's own where they differ."""
    told = list(dict.fromkeys(conditions[name] for name in names))
    return told[0] if len(told) == 1 else " against ".join(told)


def _calls(metric: Metric, told: _Judged, conditions: Mapping[str, str]) -> CallsByFinding:
    return CallsByFinding(
        finding=metric.id,
        label=metric.label,
        unit=metric.unit,
        condition=_one_or_both(conditions, list(conditions)),
        preference=told.quantity.preference,
        margin=told.quantity.margin,
        margin_source=told.margin_source,
        letters=dict(told.letters),
        assumption=told.assumption,
    )


def _compared(
    metric: Metric, item: Difference, conditions: Mapping[str, str], margin_source: str
) -> ComparedDifference:
    return ComparedDifference(
        finding=metric.id,
        label=metric.label,
        unit=metric.unit,
        decimals=metric.decimals,
        condition=_one_or_both(conditions, (item.candidate, item.against)),
        candidate=item.candidate,
        against=item.against,
        difference=item.difference,
        low=item.low,
        high=item.high,
        margin=item.margin,
        margin_source=margin_source,
        call=item.call,
        sheets_needed=item.sheets_needed,
        p_adjusted=item.p_adjusted,
        real=item.real,
        refused=item.refused,
        reason=item.reason,
    )


Beside = Mapping[tuple[str, str, Key], Estimate]


def _estimates_beside(media: Sequence[FoundMedium]) -> Beside:
    """Intervals of every finding under every condition, the spread shared between media read alike."""
    told: dict[tuple[str, str, Key], Estimate] = {}
    keys = dict.fromkeys(key for medium in media for key in medium.under)
    for key in keys:
        under = {m.name: m.under[key].found for m in media if key in m.under}
        for metric in METRICS.values():
            values = {name: found[metric.id].values for name, found in under.items() if metric.id in found}
            if values:
                quantity = Quantity(metric.id, metric.unit, resolution=metric.resolution)
                together = estimate(values, quantity, confidence=CONFIDENCE)
                told |= {(name, metric.id, key): item for name, item in together.items()}
    return told


def _findings(
    medium: FoundMedium, judged: Mapping[tuple[str, str], Estimate], beside: Beside
) -> tuple[Finding, ...]:
    """All findings of one medium, the judged condition first, in the order of the catalogue."""
    ordered = [medium.judged, *(u for key, u in medium.under.items() if key != medium.primary)]
    told = []
    for under in ordered:
        primary = under.key == medium.primary
        for metric_id, metric in METRICS.items():
            found = under.found.get(metric_id)
            if found is None or not np.isfinite(found.values).any():
                continue
            own = judged.get((medium.name, metric_id)) if primary else None
            told.append(
                _finding(metric, under, found, own or beside[medium.name, metric_id, under.key], primary)
            )
    return tuple(told)


def _finding(metric: Metric, under: Under, found: Found, estimate: Estimate, primary: bool) -> Finding:
    note = found.note
    if found.of_medium:
        estimate = Estimate(estimate.value, math.nan, math.nan, len(under.sheets), math.nan)
        note = note or "one number for the medium, without an interval"
    elif estimate.n == 1:
        note = "; ".join(part for part in (note, _one_sheet(metric)) if part)
    return Finding(
        id=metric.id,
        label=metric.label,
        family=metric.family,
        value=estimate.value,
        low=max(estimate.low, metric.at_least) if math.isfinite(estimate.low) else math.nan,
        high=estimate.high,
        n=estimate.n,
        sd=estimate.sd,
        unit=metric.unit,
        decimals=metric.decimals,
        condition=metric_condition(metric, under),
        method=metric.method,
        source=metric.source,
        judged=metric.judged and primary,
        note=note,
        detail=found.detail,
        per_sheet=()
        if found.of_medium
        else tuple((s.name, float(v)) for s, v in zip(under.sheets, found.values, strict=True)),
        primary=primary,
    )


def _one_sheet(metric: Metric) -> str:
    noise = INSTRUMENT_NOISE.get(metric.unit)
    if noise is None:
        return "one sheet: no interval"
    return f"one sheet: no interval; the instrument alone repeats to about {float(noise):g} {metric.unit}"
