"""The comparison as JSON-ready data, described by ``comparison.schema.json`` beside this file."""

from __future__ import annotations

import json
import math
from importlib.resources import files
from typing import Any

from laydown.kernel.problems import Problem
from laydown.report.brief_words import BriefWords, brief_words
from laydown.usecases.comparison import (
    CallsByFinding,
    Candidate,
    ComparedDifference,
    Comparison,
    Finding,
    Overlap,
    PatchMap,
    ToneCurve,
)
from laydown.usecases.measuring.gloss_comparison import GlossComparison, GlossMedium, GlossQuantity

Json = dict[str, Any]


def to_json(comparison: Comparison, *, gloss: GlossComparison | None = None) -> Json:
    """The whole answer as dictionaries, lists, text, numbers and null, in a fixed order.

    Numbers keep their full precision; what is not known (NaN) is null. Gamut meshes and patches without
    suspicion are left out: they are drawn, not read.

    Parameters
    ----------
    comparison
        The result.
    gloss
        What gloss meters told of the same trial; where something was, it is a part of its own at the end.

    Returns
    -------
    dict
        Valid against `schema`.
    """
    told = {} if gloss is None or not gloss.told else {"gloss": gloss_to_json(gloss)}
    to_brief = brief_words(comparison)
    return {
        "laydown": comparison.version,
        "title": comparison.title,
        "question": comparison.question,
        "house": comparison.house,
        "condition": comparison.condition,
        "confidence": _number(comparison.confidence),
        "alpha": _number(comparison.alpha),
        "comparisons": comparison.comparisons,
        "invented": comparison.invented,
        "summary": list(comparison.summary),
        **({} if to_brief is None else {"brief": _brief(to_brief)}),
        "candidates": [_candidate(item) for item in comparison.candidates],
        "differences": [_difference(item) for item in comparison.differences],
        "groups": [_group(item) for item in comparison.by_finding],
        "overlaps": [_overlap(item) for item in comparison.overlaps],
        "cautions": list(comparison.cautions),
        "problems": [_problem(item) for item in comparison.problems],
        **told,
    }


def _brief(told: BriefWords) -> Json:
    return {
        "about": told.about,
        "criteria": [
            {
                "name": one.name,
                "share": one.share,
                "measured_by": one.measured_by,
                "sentences": list(one.sentences),
            }
            for one in told.criteria
        ],
        "silent": list(told.silent),
    }


def gloss_to_json(gloss: GlossComparison) -> Json:
    """What gloss meters told of a trial's media, in the same manner."""
    return {
        "house": gloss.house,
        "confidence": _number(gloss.confidence),
        "alpha": _number(gloss.alpha),
        "comparisons": gloss.comparisons,
        "quantities": [_gloss_quantity(item) for item in gloss.quantities],
        "cautions": list(gloss.cautions),
    }


def _gloss_quantity(item: GlossQuantity) -> Json:
    return {
        "id": item.id,
        "label": item.label,
        "condition": item.condition,
        "media": [_gloss_medium(medium) for medium in item.media],
        "differences": [_difference(difference) for difference in item.differences],
    }


def _gloss_medium(item: GlossMedium) -> Json:
    return {
        "name": item.name,
        "house": item.house,
        "repeat_sd": _number(item.repeat_sd),
        "finding": _finding(item.finding),
    }


def json_text(comparison: Comparison) -> str:
    """The same as text: two spaces of indent, UTF-8, one newline at the end."""
    return json.dumps(to_json(comparison), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def schema() -> Json:
    """The JSON Schema (draft 2020-12) of `to_json`."""
    text = files("laydown.report").joinpath("comparison.schema.json").read_text(encoding="utf-8")
    loaded: Json = json.loads(text)
    return loaded


def _number(value: float | None) -> float | None:
    """A plain float; None where it is missing, NaN or endless."""
    return float(value) if value is not None and math.isfinite(value) else None


def _candidate(item: Candidate) -> Json:
    return {
        "name": item.name,
        "house": item.house,
        "sheets": len(item.sheets),
        "sheet_list": [
            {
                "name": sheet.name,
                "files": list(sheet.files),
                "conditions": list(sheet.conditions),
                "patches": sheet.patches,
            }
            for sheet in item.sheets
        ],
        "facts": [{"name": f.name, "value": f.value, "where": f.where} for f in item.facts],
        "findings": [_finding(finding) for finding in item.findings],
        "swatches": [
            {
                "name": s.name,
                "lab": [_number(v) for v in s.lab],
                "hex": s.hex,
                "clipped": s.clipped,
                "device": s.device,
            }
            for s in item.swatches
        ],
        "tones": [_tone(curve) for curve in item.tones],
        "gamut": None
        if item.gamut is None
        else {"bound": item.gamut.bound, "volume": _number(item.gamut.volume)},
        "suspicious": [row for shown in item.patch_maps for row in _suspicious(shown)],
    }


def _finding(item: Finding) -> Json:
    return {
        "id": item.id,
        "label": item.label,
        "family": item.family,
        "value": _number(item.value),
        "low": _number(item.low),
        "high": _number(item.high),
        "n": item.n,
        "sd": _number(item.sd),
        "unit": item.unit,
        "decimals": item.decimals,
        "condition": item.condition,
        "method": item.method,
        "source": item.source,
        "judged": item.judged,
        "primary": item.primary,
        "note": item.note,
        "detail": item.detail,
        "per_sheet": [{"sheet": name, "value": _number(value)} for name, value in item.per_sheet],
    }


def _tone(curve: ToneCurve) -> Json:
    lost = [*curve.lost, *([False] * len(curve.steps))][: len(curve.steps)]
    return {
        "name": curve.name,
        "steps": [
            {
                "step": _number(curve.steps[i]),
                "lab": [_number(v) for v in curve.lab[i]],
                "spread": _number(curve.spread[i]),
                "lost": bool(lost[i]),
            }
            for i in range(len(curve.steps))
        ],
    }


def _suspicious(shown: PatchMap) -> list[Json]:
    return [
        {
            "sheet": shown.sheet,
            "condition": shown.condition,
            "patch": cell.id,
            "device": [_number(v) for v in cell.device],
            "lab": [_number(v) for v in cell.lab],
            "suspicion": cell.suspicion,
        }
        for cell in shown.cells
        if cell.suspicion
    ]


def _difference(item: ComparedDifference) -> Json:
    return {
        "finding": item.finding,
        "label": item.label,
        "candidate": item.candidate,
        "against": item.against,
        "difference": _number(item.difference),
        "low": _number(item.low),
        "high": _number(item.high),
        "margin": _number(item.margin),
        "margin_source": item.margin_source,
        "call": item.call,
        "sheets_needed": item.sheets_needed,
        "unit": item.unit,
        "decimals": item.decimals,
        "condition": item.condition,
        "p_adjusted": _number(item.p_adjusted),
        "real": item.real,
        "refused": item.refused,
        "reason": item.reason,
    }


def _group(item: CallsByFinding) -> Json:
    return {
        "finding": item.finding,
        "label": item.label,
        "unit": item.unit,
        "condition": item.condition,
        "preference": item.preference,
        "margin": _number(item.margin),
        "margin_source": item.margin_source,
        "letters": dict(item.letters),
        "assumption": item.assumption,
    }


def _overlap(item: Overlap) -> Json:
    return {
        "candidate": item.candidate,
        "other": item.other,
        "shared": _number(item.shared),
        "volume": _number(item.volume),
        "other_volume": _number(item.other_volume),
        "coverage": _number(item.coverage),
        "condition": item.condition,
    }


def _problem(item: Problem) -> Json:
    return {
        "severity": item.severity,
        "what": item.what,
        "todo": item.todo,
        "file": item.file,
        "line": item.line,
        "patch": item.patch,
    }
