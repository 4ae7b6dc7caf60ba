"""The words and numbers of the dossier, ready to be set: the template only lays them out."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from laydown.report.brief_words import brief_words
from laydown.report.gloss_words import gloss_results
from laydown.report.said_once import (
    assumption_sentences,
    coverage_rows,
    fact_rows,
    margins_by_source,
    notes,
    preferred,
)
from laydown.report.wording import (
    SHORT_CALL_WORDS,
    call_mark,
    call_word,
    difference_text,
    display_name,
    finding_row,
    has_interval,
    number,
    percent,
    sheets_words,
    symbols,
    unit_words,
)
from laydown.science.findings.metric import FAMILY_TITLES
from laydown.usecases.comparison import Candidate, ComparedDifference, Comparison, Finding
from laydown.usecases.measuring.gloss_comparison import GlossComparison

View = dict[str, Any]

LIFE_CAUTION = (
    "Nothing here says how long a print lasts, how it takes handling, or how it behaves under light, gas or "
    "damp: such claims need tests of their own."
)
_ORDER = ("better", "worse", "higher", "lower", "same", "cannot_tell")


def dossier_view(comparison: Comparison, *, gloss: GlossComparison | None = None) -> View:
    """Everything the dossier prints, as text in the order it is printed.

    Parameters
    ----------
    comparison
        The result.
    gloss
        What gloss meters told of the same trial.

    Returns
    -------
    dict
        JSON-ready: text, lists and dictionaries only.
    """
    c = comparison
    pairs = list(dict.fromkeys((d.candidate, d.against) for d in c.differences))
    facing = [pair for pair in pairs if c.house and c.house in pair]
    whole = pairs if len(pairs) <= 3 else facing
    return {
        "title": display_name(c.title) or "Comparison of media",
        "question": display_name(c.question),
        "version": c.version,
        "invented": c.invented,
        "house": display_name(c.house),
        "condition": c.condition or "no stated condition",
        "confidence": percent(c.confidence),
        "comparisons": str(c.comparisons),
        "brief": _brief(c),
        "summary": [display_name(s) for s in c.summary] or ["Nothing can be said from these readings."],
        "media": [_medium(item) for item in c.candidates],
        "facts": [asdict(row) for row in fact_rows(c.candidates)],
        "judged": _finding_groups(c, judged=True),
        "others": _finding_groups(c, judged=False),
        "notes": notes(c.candidates),
        "facing": [_pair(c, pair) for pair in whole],
        "remaining": [_short_pair(c, pair) for pair in pairs if pair not in whole],
        "groups": _groups(c),
        "letters_of": [display_name(item.name) for item in c.candidates],
        "preferred": [f"{words}: {', '.join(labels)}." for words, labels in preferred(c.by_finding).items()],
        "margins": _margins(c),
        "gloss": _gloss(gloss),
        "overlaps": [
            {
                "condition": condition,
                "rows": [
                    {"name": row.name, "volume": row.volume, "coverage": list(row.coverage)}
                    for row in coverage_rows(
                        [o for o in c.overlaps if o.condition == condition], [m.name for m in c.candidates]
                    )
                ],
            }
            for condition in dict.fromkeys(o.condition for o in c.overlaps)
        ],
        "methods": _methods(c),
        "assumptions": assumption_sentences(c.by_finding),
        "cautions": _cautions(c),
        "problems": [
            {
                "severity": p.severity,
                "place": display_name(p.place()),
                "text": f"{display_name(p.what)} {display_name(p.todo)}".strip(),
            }
            for p in c.problems
        ],
    }


def _gloss(gloss: GlossComparison | None) -> View | None:
    told = None if gloss is None else gloss_results(gloss)
    return None if told is None else asdict(told)


def _cautions(comparison: Comparison) -> list[str]:
    """The cautions; that no life is claimed is always among them, and said once."""
    told = [display_name(text) for text in comparison.cautions if "how long a print lasts" not in text]
    return [*told, LIFE_CAUTION]


def _medium(item: Candidate) -> View:
    return {
        "name": display_name(item.name),
        "house": item.house,
        "sheets": sheets_words(len(item.sheets)),
        "patches": _span([sheet.patches for sheet in item.sheets]),
        "files": [display_name(name) for sheet in item.sheets for name in sheet.files],
        "swatches": [{"name": s.name, "hex": s.hex, "clipped": s.clipped} for s in item.swatches if s.hex],
    }


def _span(counts: list[int]) -> str:
    if not counts:
        return ""
    low, high = min(counts), max(counts)
    return str(low) if low == high else f"{low} to {high}"


def _finding_groups(comparison: Comparison, *, judged: bool) -> list[View]:
    """A family's findings, each under one condition with a row for every medium."""
    groups: dict[tuple[str, str], tuple[Finding, list[View]]] = {}
    for candidate in comparison.candidates:
        for item in candidate.findings:
            if item.judged is judged:
                rows = groups.setdefault((item.id, item.condition), (item, []))[1]
                rows.append(_row(candidate, item))
    families: dict[str, list[View]] = {}
    for first, rows in groups.values():
        families.setdefault(first.family, []).append(
            {"label": first.label, "unit": _unit(first), "condition": first.condition, "rows": rows}
        )

    return [{"title": FAMILY_TITLES.get(name, name), "findings": found} for name, found in families.items()]


def _unit(finding: Finding) -> str:
    unit = unit_words(finding.unit)
    return "" if unit in finding.label.split() else unit


def _row(candidate: Candidate, item: Finding) -> View:
    words = finding_row(item)
    return {
        "medium": display_name(candidate.name),
        "house": candidate.house,
        "value": words.value,
        "interval": words.interval if has_interval(item) else "–",
        "sd": number(item.sd, item.decimals + 1) or "–",
        "n": str(item.n),
        "detail": display_name(item.detail),
    }


def _brief(comparison: Comparison) -> View | None:
    told = brief_words(comparison)
    if told is None:
        return None
    return {
        "about": told.about,
        "criteria": [
            {
                "title": f"{one.name[:1].upper()}{one.name[1:]}" + (f" ({one.share})" if one.share else ""),
                "measured_by": one.measured_by,
                "sentences": list(one.sentences),
            }
            for one in told.criteria
        ],
        "silent": list(told.silent),
    }


def _pair(comparison: Comparison, pair: tuple[str, str]) -> View:
    """A pair with every difference, what is told apart first."""
    chosen = [d for d in comparison.differences if (d.candidate, d.against) == pair]
    return {
        "title": f"{display_name(pair[0])} against {display_name(pair[1])}",
        "rows": [_difference(d) for d in sorted(chosen, key=_rank)],
        "reasons": _reasons(chosen),
    }


def _reasons(differences: list[ComparedDifference]) -> list[str]:
    """Why something was refused, or cannot be told and no number of sheets says when; each once."""
    found: dict[str, list[str]] = {}
    for item in differences:
        if item.reason and (item.refused or (item.call == "cannot_tell" and not item.sheets_needed)):
            found.setdefault(display_name(item.reason), []).append(item.label)
    return [f"{', '.join(labels)}: {reason}" for reason, labels in found.items()]


def _rank(difference: ComparedDifference) -> int:
    return len(_ORDER) if difference.refused else _ORDER.index(difference.call)


def _difference(item: ComparedDifference) -> View:
    low, high = (number(v, item.decimals, signed=True) for v in (item.low, item.high))
    return {
        "mark": call_mark(item),
        "call": call_word(item, short=True),
        "label": item.label,
        "difference": number(item.difference, item.decimals, signed=True) or "–",
        "interval": f"{low} to {high}" if has_interval(item) else "–",
        "margin": "–" if item.margin is None else f"± {number(item.margin, item.decimals)}",
        "unit": unit_words(item.unit),
        "settle": _sheets(item),
    }


def _sheets(item: ComparedDifference) -> str:
    """How many sheets of each would settle it, for a narrow column."""
    if item.refused or item.call != "cannot_tell":
        return ""
    return "not known" if item.sheets_needed is None else f"about {item.sheets_needed}"


def _short_pair(comparison: Comparison, pair: tuple[str, str]) -> View:
    """A pair as a line for each call: the findings it holds in, with their differences."""
    lines: dict[str, list[str]] = {}
    chosen = [d for d in comparison.differences if (d.candidate, d.against) == pair]
    for item in sorted(chosen, key=_rank):
        words = "refused" if item.refused else SHORT_CALL_WORDS[item.call]
        lines.setdefault(f"{call_mark(item)} {words}", []).append(
            f"{item.label} {difference_text(item)}".strip()
        )
    return {
        "title": f"{display_name(pair[0])} against {display_name(pair[1])}",
        "lines": [{"call": call, "text": "; ".join(found)} for call, found in lines.items()],
    }


def _groups(comparison: Comparison) -> list[View]:
    return [
        {
            "label": calls.label,
            "letters": [calls.letters.get(item.name, "") or "–" for item in comparison.candidates],
        }
        for calls in comparison.by_finding
    ]


def _margins(comparison: Comparison) -> list[str]:
    decimals = {d.finding: d.decimals for d in comparison.differences}
    found = margins_by_source(comparison.by_finding, decimals)
    return [f"Margins that matter ({source}): {'; '.join(texts)}." for source, texts in found.items()]


def _methods(comparison: Comparison) -> list[View]:
    """How each kind of finding was worked out, once."""
    found: dict[str, Finding] = {}
    for candidate in comparison.candidates:
        for item in candidate.findings:
            found.setdefault(item.id, item)
    return [
        {
            "label": item.label,
            "method": symbols(item.method),
            "source": symbols(item.source),
            "unit": unit_words(item.unit),
        }
        for item in found.values()
    ]
